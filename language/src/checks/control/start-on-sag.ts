import { watchedBy } from '../../control/index.js';
import { type Derivation, type Result, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { Comparison } from '../../model/conditions.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Rule } from '../../model/types.js';
import { formatQuantity, inUnit, quantity } from '../../quantity/index.js';
import { highEnd } from '../../quantities/ends.js';
import { loadIn } from '../../quantities/demand/steady-load.js';
import { openCircuitCurve, stateOfChargeAt } from '../../reference/energy/chemistries.js';
import { leadVoltage } from '../../reference/energy/lead-voltage.js';
import { defineCheck, type Verdict, atMost, atLeast } from '../define.js';
import { propose } from '../fixes.js';
import { notChecked, passed } from '../verdicts.js';
import { type RuleSet, ruleSets, switchesOn } from './rules.js';
import { isBank, isLoad, isStarted } from '../../model/roles.js';
import { fullShare, type ShareOf } from '../../quantities/demand/steady-share.js';

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
    (motor: Instance): ShareOf =>
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
    const facts = [
      context.fact(bank, 'chemistry'),
      context.quantity(bank, 'cellCount'),
      context.quantity(bank, 'bankResistance'),
      ...(loads ? [loads.most, loads.mean] : []),
    ];
    const lacking = facts.find(({ kind }) => kind !== 'known');
    if (lacking) {
      yield notChecked(set.control, lacking);
      continue;
    }
    const [name, count, resistance, most, mean] = facts.map((fact) => (fact as { derivation: Derivation }).derivation);
    if (!most || !mean || !openCircuitCurve(String(name!.value))) continue;
    const ohms = highEnd(resistance!);
    const cells = numberIn(count!, '');
    const limit = inUnit(comparison.limit, 'V');
    const sagOf = (load: Derivation): number => numberIn(ohms, 'ohm') * numberIn(load, 'A');
    const sag = derive('sag', sagOf(most), 'V', { symbol: 'ΔU', formula: 'R·I', inputs: [ohms, most] });
    // A bank may lie as far off the curves as published curves differ among themselves; it does so under both loads alike.
    const band = leadVoltage(String(name!.value))?.band ?? 0;
    const { early, usual } = [0, -band, band]
      .map((off) => {
        const charge = (load: Derivation): number => chargeAt(String(name!.value), (limit + sagOf(load)) / cells + off);
        return { early: charge(most), usual: charge(mean) };
      })
      .reduce((so, next) => (next.early - next.usual > so.early - so.usual ? next : so));
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

/** The state of charge at which cells rest at a voltage; below and above the curve, empty and full. */
function chargeAt(chemistry: string, volts: number): number {
  const { points } = openCircuitCurve(chemistry)!;
  if (volts <= points[0]![1]) return 0;
  if (volts >= points.at(-1)![1]) return 1;
  return stateOfChargeAt(chemistry, volts) ?? 1;
}

export const startOnSag = defineCheck({
  id: 'start-on-sag',
  group: 'control',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A rule starts on voltage without a dwell, and a load’s sag crosses its limit long before the bank is low.',
    guards: 'A generator that starts whenever the pump does.',
    how: 'The sag is the highest resistance of the bank times the most current of all loads at once, the hardest motor starting. With the rest voltage of the chemistry it is turned into the state of charge at which the limit is crossed; for lead-acid wherever within 0.08 V a cell of the published curves that is worst. A tenth earlier than with the mean load is a finding (common practice, no source). What a lead-acid bank polarises builds up over minutes and is looked at where the rules are proven. A dwell of `sagDwell` (1 min unless set; common practice, no source) or more outlasts the sag.',
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
