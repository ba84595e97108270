import { watchedBy } from '../../control/index.js';
import { type Derivation, type Result, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { Comparison } from '../../model/conditions.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Rule } from '../../model/types.js';
import { formatQuantity, inUnit, quantity } from '../../quantity/index.js';
import { loadIn } from '../../quantities/demand/steady-load.js';
import { VoltageMoves, voltageMoves } from '../../quantities/storage/voltage-moves.js';
import { defineCheck, type Verdict, atMost, atLeast } from '../define.js';
import { propose } from '../fixes.js';
import { notChecked, passed } from '../verdicts.js';
import { type RuleSet, ruleSets, switchesOn } from './rules.js';
import { isBank, isLoad, isStarted } from '../../model/roles.js';
import { fullShare, type meanShare } from '../../quantities/demand/steady-share.js';

/** A start this much earlier than the mean load would give counts as one on sag: a tenth of the charge (common practice, no source). */
const EARLIER = 0.1;

/** The dwell that is proposed, min: common practice, no source. */
const PROPOSED_DWELL = 3;

const startsOnVoltage = ({ terms, comparison }: Comparison): Instance | undefined => {
  const [term] = terms;
  const signal = terms.length === 1 ? term!.signal : undefined;
  const isBelow = comparison === '<' || comparison === '<=';
  return isBelow && signal?.kind === 'of' && signal.signal === 'voltage' && isBank(signal.of) ? signal.of : undefined;
};

/** The most current the loads draw for a moment: all at once, and the one that starts hardest starting. */
function startingLoad(bank: Instance, context: DesignContext): { most: Result; mean: Result } | undefined {
  const alone = context.circuitStates.find(
    ({ state }) => state.acSources.length === 0 && state.dcSources.length === 0,
  )?.circuit;
  if (!alone) return undefined;
  const factorOf = (load: Instance): number => {
    const factor = context.maybe(load, 'startFactor');
    return factor ? numberIn(factor, '') : 1;
  };
  const starting =
    (motor: Instance): typeof meanShare =>
    (load) =>
      derive(`share of ${load.name}`, load === motor ? factorOf(load) : 1, '', {
        symbol: 's',
        notes: [load === motor ? 'starting' : 'running at full power'],
      });
  const motors = context.system.instances.filter((load) => isLoad(load) && factorOf(load) > 1);
  const cases = [
    loadIn(bank, alone, context, fullShare),
    ...motors.map((motor) => loadIn(bank, alone, context, starting(motor))),
  ];
  const lacking = cases.find(({ kind }) => kind !== 'known');
  const most = lacking ?? cases.reduce((so, next) => (amperes(next) > amperes(so) ? next : so));
  return { most, mean: loadIn(bank, alone, context) };
}

const amperes = (result: Result): number => (result.kind === 'known' ? numberIn(result.derivation, 'A') : 0);

function* judgeRule(set: RuleSet, rule: Rule, context: DesignContext): Generator<Verdict> {
  if (rule.missing) yield notChecked(set.control, { kind: 'missing', missing: rule.missing });
  for (const comparison of watchedBy(rule)) {
    const bank = startsOnVoltage(comparison);
    if (!bank) continue;
    const dwell = context.setting('sagDwell');
    if (dwell && rule.dwell >= numberIn(dwell, 's') * (1 - 1e-9)) {
      yield passed(set.control, atLeast(derive('dwell of the rule', rule.dwell, 's'), dwell));
      continue;
    }
    const loads = startingLoad(bank, context);
    const moves = voltageMoves(bank, context);
    const lacking = [moves, ...(loads ? [loads.most, loads.mean] : [])].find(
      (each): each is Open => !(each instanceof VoltageMoves) && each.kind !== 'known',
    );
    if (lacking) {
      yield notChecked(set.control, lacking);
      continue;
    }
    if (!loads || !(moves instanceof VoltageMoves) || loads.most.kind !== 'known' || loads.mean.kind !== 'known')
      continue;
    const [most, mean] = [loads.most.derivation, loads.mean.derivation];
    const starts = startsAt(moves, inUnit(comparison.limit, 'V'), most, mean);
    if (!starts) continue;
    const { early, usual } = starts;
    const sag = moves.sag(most, early);
    const numbers = { sag, current: most };
    const use = atMost(
      derive('charge by which the rule starts early', Math.max(0, early - usual), ''),
      derive('share of charge that counts as early', EARLIER, ''),
    );
    if (early - usual < EARLIER - 1e-9) {
      yield passed(set.control, use, numbers);
      continue;
    }
    const percent = (share: number): string => `${Math.round(share * 100)} %`;
    const text = formatQuantity(quantity(PROPOSED_DWELL, 'min'));
    yield {
      verdict: 'failed',
      subject: set.control.path,
      place: rule.place,
      headline: `${set.title} starts ${set.control.target.name} on a sag of ${bank.name}, at ${percent(early)} of charge`,
      why: `${displayValue(most, 3)} of load sags it by ${displayValue(sag, 3)}; with the mean load it starts at ${percent(usual)}; dwell ${rule.dwell > 0 ? formatQuantity(quantity(rule.dwell, 's')) : 'none'}`,
      advice: `Write \`for ${text}\`.`,
      use,
      numbers,
      fixes:
        rule.dwell > 0
          ? []
          : [propose(`Wait for ${text}`, [{ place: rule.afterCondition, text: ` for ${text}` }], true)],
    };
  }
}

/**
 * The states of charge at which the voltage falls to a limit under the most and under the mean of the loads: of what the model of a lead-acid
 * bank may be off, where they lie furthest apart.
 */
function startsAt(
  moves: VoltageMoves,
  volts: number,
  most: Derivation,
  mean: Derivation,
): { readonly early: number; readonly usual: number } | undefined {
  const { band } = moves;
  const cases = (band > 0 ? [-band, 0, band] : [0]).flatMap((off) => {
    const [early, usual] = [moves.chargeAt(volts, most, off), moves.chargeAt(volts, mean, off)];
    return early === undefined || usual === undefined ? [] : [{ early, usual }];
  });
  return cases.length > 0
    ? cases.reduce((so, next) => (next.early - next.usual > so.early - so.usual ? next : so))
    : undefined;
}

type Open = Exclude<Result, { kind: 'known' }>;

export const startOnSag = defineCheck({
  id: 'start-on-sag',
  group: 'control',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A rule starts on voltage without a dwell, and a load’s sag crosses its limit long before the bank is low.',
    guards: 'A generator that starts whenever the pump does.',
    how: 'The sag is the highest resistance of the banks of the bus, for lead-acid with what they polarise (`leadVoltage`), times the most current of all loads at once, the hardest motor starting. With the rest voltage of the chemistry it is turned into the state of charge at which the limit is crossed, for lead-acid wherever within 0.08 V a cell of its model that is worst; a tenth earlier than with the mean load is a finding (common practice, no source). A dwell of `sagDwell` (1 min unless set; common practice, no source) or more outlasts the sag.',
    fix: 'Give the rule a dwell longer than the start, or watch the state of charge.',
    sources: [{ standard: 'common practice, no source', provenance: 'common practice, no source' }],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 100 Ah   resistance: 16..30 mohm }
  load Pump { power: 1.5 kW   supply: dc   startFactor: 2   duty: 5 % }
  run Line: Bank -> Pump { size: 16 mm2   length: 2 m }
  control Autostart of Genset {
    start when voltage(Bank) < 51 V
    stop when soc(Bank) > 90 %
  }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 100 Ah   resistance: 16..30 mohm }
  load Pump { power: 1.5 kW   supply: dc   startFactor: 2   duty: 5 % }
  run Line: Bank -> Pump { size: 16 mm2   length: 2 m }
  control Autostart of Genset {
    start when voltage(Bank) < 51 V for 3 min
    stop when soc(Bank) > 90 %
  }
}
`,
  },
  judge: function* (context) {
    for (const control of context.system.controls)
      if (isStarted(control.target))
        for (const set of ruleSets(control))
          for (const rule of set.rules.filter(switchesOn)) yield* judgeRule(set, rule, context);
  },
});
