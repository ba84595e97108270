import { globSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { isReading, shareOf } from '../../language/src/checks/verdicts.js';
import { CHECKS, type Use, displayValue } from '../../language/src/index.js';
import { analyseText } from '../helpers/analyse.js';

/** Checks that compare no number with another, and what they ask instead. */
const YES_OR_NO: Readonly<Record<string, string>> = {
  'alternator-disconnect': 'whether the BMS can disconnect a running alternator',
  'assumed-fact': 'whether a value is assumed',
  'bank-mixed': 'whether units are alike',
  'charge-end': 'whether a full bank ends its charge',
  'charging-outlet': 'whether a control pilot is answered',
  'contradicting-facts': 'whether facts of one thing agree',
  'contradictory-ratings': 'whether ratings of a part agree',
  'dead-end': 'whether a source reaches a load',
  'duplicate-name': 'whether a name stands twice',
  'expired-accept': 'whether a day is past',
  'extends-loop': 'whether parts go in a circle',
  'ground-fault-trip': 'whether a neutral is bonded on both sides',
  'import-loop': 'whether files go in a circle',
  'import-outside': 'whether a file is within reach',
  'link-address': 'whether an address is free',
  'link-loss': 'what a lost link does',
  'link-protocol': 'whether both ends speak alike',
  'lost-end': 'whether both ends are still there',
  'missing-fact': 'whether a fact is stated',
  'missing-rating': 'whether a rating is stated',
  'neutral-bond': 'where a neutral is bonded; once is right, none and two are wrong',
  'no-fallback': 'whether a rule has a fallback',
  'not-connected': 'whether something is connected',
  'not-evaluated': 'whether a value is left open',
  'plug-neutral': 'whether a plug has a neutral',
  'renamed-check': 'whether an id is the present one',
  'rule-latched': 'whether a rule ends what it began',
  'rules-conflict': 'whether two rules hold at once',
  'rules-shadowed': 'whether a rule can act',
  'scenario-unfinished': 'whether a simulation comes to its end',
  'shunt-bypassed': 'whether a current goes past a shunt',
  'socket-residual-current': 'whether something opens on residual current',
  'strand-terminal': 'whether strands are held by what clamps them',
  'syntax-error': 'whether a text can be read',
  'torque-missing': 'whether a torque is stated',
  'two-sources-one-bus': 'whether sources can meet',
  'unknown-edition': 'whether tables are stored',
  'unknown-name': 'whether a name is known',
  'unlike-terminals': 'whether what is joined is alike',
  'unused-accept': 'whether a waiver silences something',
  'unused-part': 'whether a part is used',
  'value-out-of-range': 'whether a value is possible at all',
  'voltage-collapse': 'whether a network has a solution',
  'wrong-dimension': 'whether a value is of the right dimension',
  'wrong-type': 'whether a value is of the right sort',
};

/** Checks of which some verdicts have a limit, and when one has none. */
const SOMETIMES: Readonly<Record<string, string>> = {
  'bank-ventilation': 'a bank that does not gas',
  'bank-voltage': 'a bank with nothing on its bus that demands a voltage',
  'charge-cold': 'a bank that is heated',
  'charge-voltage': 'what is never done to a chemistry: equalising, compensation',
  'conductor-type': 'a type of another practice',
  'device-voltage': 'a device for alternating current on direct current',
  'diversion-load': 'a turbine that something else holds back',
  'earth-conductor': 'a metal raceway in place of the conductor',
  'generator-derating': 'a generator that states its own figures',
  'generator-distortion': 'no rectifier, or nothing that minds',
  'link-cable': 'a cable between things, not its length',
  'lug-stud': 'a hole that is not that of the stud',
  'requirement-failed': 'an equality',
  precharge: 'an inverter that precharges itself',
  'rule-livelock': 'rules that chase one another without any time passing',
  'run-unprotected': 'a run without a device, or one that needs none',
  'stop-unreachable': 'a start without any stop',
  'string-fuses': 'modules that state no fuse',
  'terminal-temperature': 'terminals that allow no less than the conductor',
  'voltage-on-flat-curve': 'a threshold within the flat part of a curve, which is wrong on both sides',
};

interface Seen {
  readonly check: string;
  readonly text: string;
  readonly holds: boolean;
  readonly use?: Use;
}

const root = path.resolve(import.meta.dirname, '../..');
const read = (file: string): string => readFileSync(path.join(root, file), 'utf8');

/** Both examples of every check, all published systems, and every file of every example with those beside it. */
const texts = (): (string | Record<string, string>)[] => [
  ...CHECKS.flatMap(({ docs }) => [docs.failing, docs.passing]),
  ...globSync('tests/systems/*.watt', { cwd: root }).map(read),
  ...globSync('examples/*/*.watt', { cwd: root }).map((file) => {
    const beside = globSync(`${path.dirname(file)}/*.watt`, { cwd: root }).filter((each) => each !== file);
    return Object.fromEntries([file, ...beside].map((each) => [path.basename(each), read(each)]));
  }),
];

const seen: Seen[] = [];

beforeAll(async () => {
  for (const text of texts()) {
    const analysis = await analyseText(text);
    for (const { context } of analysis.designs)
      for (const check of CHECKS) {
        const requirements = analysis.requirements.filter(({ design }) => design === context.system.name);
        for (const verdict of check.judge(context, requirements))
          if (verdict.verdict === 'passed')
            seen.push({
              check: check.id,
              text: verdict.subject,
              holds: true,
              ...(verdict.use === 'no-limit' ? {} : { use: verdict.use }),
            });
      }
    for (const { check, headline, use } of analysis.findings)
      seen.push({ check, text: headline, holds: false, ...(use ? { use } : {}) });
  }
});

describe('what a verdict uses of its limit', () => {
  it('is looked at in thousands of verdicts of every check', () => {
    expect(seen.filter(({ holds }) => holds).length).toBeGreaterThan(5000);
    const ids = new Set(seen.map(({ check }) => check));
    expect(CHECKS.filter(({ id }) => !ids.has(id)).map(({ id }) => id)).toEqual([]);
  });

  it('stands beside every verdict, passed or failed, but those that are a matter of yes or no', () => {
    const [having, lacking] = [
      new Set(seen.filter(({ use }) => use).map(({ check }) => check)),
      new Set(seen.filter(({ use }) => !use).map(({ check }) => check)),
    ];
    expect([...lacking].filter((id) => !having.has(id)).sort()).toEqual(Object.keys(YES_OR_NO).sort());
    expect([...lacking].filter((id) => having.has(id)).sort()).toEqual(Object.keys(SOMETIMES).sort());
  });

  it('is within the limit where a check passes', () => {
    const beyond = seen.filter(({ holds, use }) => holds && use && !(shareOf(use) <= 1 + 1e-6));
    expect(beyond.map(shown)).toEqual([]);
  });

  it('is beyond the limit where a check fails', () => {
    const within = seen.filter(({ holds, use }) => !holds && use && !(shareOf(use) >= 1 - 1e-6));
    expect(within.map(shown)).toEqual([]);
  });

  it('is of one dimension with its limit', () => {
    const unlike = seen.filter(
      ({ use }) =>
        use &&
        (typeof use.value.value !== 'object' ||
          typeof use.limit.value !== 'object' ||
          use.value.value.dimension !== use.limit.value.dimension ||
          isReading(use.value) !== isReading(use.limit)),
    );
    expect(unlike.map(shown)).toEqual([]);
  });
});

const shown = ({ check, text, use }: Seen): string =>
  `${check} ${text}: ${use ? `${displayValue(use.value)} ${use.sense} ${displayValue(use.limit)}` : ''}`;
