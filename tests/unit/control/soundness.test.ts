import { describe, expect, test } from 'vitest';
import { analyseControls, DAY, isWithin, PHASE, type TargetAnalysis } from '../../../language/src/control/index.js';
import { analyseText } from '../../helpers/analyse.js';
import { random } from '../../helpers/random.js';
import { randomControl, randomCourse, RandomRun, siteOf } from './random-runs.js';

/*
 * What the search calls free of a fault must be free of it in every run. The runs know nothing of the search: charge and voltage are worked
 * out from the rest curve, the resistance and the chargers, second by second where something happens.
 */
const SETS = 250;
const RUNS = 40;
const LEAST_RUN = 20 * 60;

interface Tally {
  sets: number;
  runs: number;
}

interface Case {
  readonly controls: string;
  readonly analysis: TargetAnalysis;
  readonly run: RandomRun;
  readonly next: () => number;
}

async function cases(): Promise<Case[]> {
  const found: Case[] = [];
  for (let seed = 1; seed <= SETS; seed += 1) {
    const next = random(seed);
    const controls = randomControl(next);
    const { designs } = await analyseText(siteOf(controls));
    const { system, context } = designs[0]!;
    const analysis = analyseControls(context)[0]!;
    found.push({ controls, analysis, run: new RandomRun(system), next });
  }
  return found;
}

describe('rule sets without a fault', () => {
  test('survive ten thousand random runs', async () => {
    const tally: Record<string, Tally> = {};
    const failures: string[] = [];
    const count = (kind: string): void => {
      (tally[kind] ??= { sets: 0, runs: 0 }).runs += 1;
    };
    let runs = 0;
    for (const { controls, analysis, run, next } of await cases()) {
      expect(analysis.refused, controls).toBeUndefined();
      expect(analysis.open, controls).toEqual([]);
      const kinds = new Set<string>(analysis.faults.map(({ kind }) => kind));
      const needless = new Map(
        analysis.faults.flatMap((fault) => (fault.kind === 'needless' ? [[fault.rule, fault] as const] : [])),
      );
      const set = analysis.target.controls[0]!.sets[0]!;
      const { machine } = run;
      const [compiled] = machine.compiled.controls[0]!.sets;
      const isPair = set.on.some((on) =>
        set.off.some((off) => on.rule.thresholds.some((a) => off.rule.thresholds.some((b) => a.signal === b.signal))),
      );
      // Starving is asked only of rules that start by the bank at all.
      if (!watchesBank(analysis)) for (const kind of ['starved', 'quiet']) kinds.add(kind);
      const fail = (kind: string, what: string): false => {
        failures.push(`${kind}: ${what}\n${controls}`);
        return false;
      };
      for (let index = 0; index < RUNS; index += 1) {
        runs += 1;
        for (const kind of ['clash', 'starved', 'endless', 'latched', 'quiet', 'chatter'])
          if (!kinds.has(kind)) count(kind);
        if (needless.size > 0) count('needless');
        const start = next() * DAY;
        let startedAt = -Infinity;
        let emptySince = Infinity;
        let quietEmpty = false;
        let [shortRuns, socLow, socHigh] = [0, 1, 0];
        const tailFrom = start + 1.5 * DAY;
        const longest = Math.max(0, ...set.rules.map((rule) => rule.dwell));
        run.play(start, next(), 0.016 + next() * 0.016, randomCourse(next, start, 5), ({ time, soc, state, was }) => {
          const on = compiled!.on.filter((rule) => machine.holds(state, rule));
          const off = compiled!.off.filter((rule) => machine.holds(state, rule));
          if (!kinds.has('clash') && on.length > 0 && off.length > 0) return fail('clash', 'both hold');
          const is = machine.phase(state, 0);
          const isRunning = is === PHASE.on || is === PHASE.starting;
          const goesOn = was === PHASE.off && is !== PHASE.off;
          const goesOff = was === PHASE.on && is !== PHASE.on;
          for (const [rules, acts] of [
            [on, goesOn],
            [off, goesOff],
          ] as const)
            if (acts && rules.length > 0 && rules.every((rule) => needless.has(rule.index)))
              return fail('needless', rules.map((rule) => rule.rule.text).join(' / '));
          if (goesOn) {
            startedAt = time;
            [socLow, socHigh] = [Math.min(socLow, soc), Math.max(socHigh, soc)];
          }
          if (goesOff && time > tailFrom) {
            const isStill = socHigh - socLow < 0.01 && soc - socLow < 0.01;
            shortRuns = time - startedAt < LEAST_RUN && isStill ? shortRuns + 1 : 0;
            [socLow, socHigh] = [soc, soc];
            if (!kinds.has('chatter') && !isPair && shortRuns >= 6)
              return fail('chatter', `${shortRuns} short runs at ${soc}`);
          }
          // Nothing charges but the set from here on, and the load is steady.
          if (time < tailFrom) return true;
          emptySince = soc <= 0 && !isRunning ? Math.min(emptySince, time) : Infinity;
          if (!kinds.has('starved') && time - emptySince > 2 * DAY + 3 * longest)
            return fail('starved', `empty and off since ${(time - emptySince) / DAY} d`);
          if (is === PHASE.off && soc <= 0 && set.quiet && isWithin(set.quiet, time % DAY)) quietEmpty = true;
          if (!kinds.has('quiet') && !kinds.has('starved') && quietEmpty) return fail('quiet', `empty in quiet hours`);
          if (!kinds.has('endless') && isRunning && time - Math.max(startedAt, tailFrom) > 3 * DAY + 3 * longest)
            return fail('endless', 'runs for days');
          return true;
        });
      }
    }
    expect(failures.slice(0, 5)).toEqual([]);
    expect(runs).toBe(SETS * RUNS);
    // Every kind was put to the test often enough to mean something.
    for (const kind of ['clash', 'starved', 'endless', 'quiet', 'chatter', 'needless'])
      expect(tally[kind]?.runs ?? 0, kind).toBeGreaterThan(1000);
  });
});

/** Whether some rule that starts looks at the charge or voltage of the bank. */
const watchesBank = ({ target }: TargetAnalysis): boolean =>
  target.controls[0]!.sets[0]!.on.some(({ rule }) => /soc\(Bank\)|voltage\(Bank\)/.test(rule.text));
