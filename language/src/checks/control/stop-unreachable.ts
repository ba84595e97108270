import {
  type Derivation,
  type Result,
  derive,
  deriveQuantity,
  displayValue,
  known,
  numberIn,
} from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { flagIn } from '../../model/kinds/index.js';
import type { Control, Instance, Rule, Run, Threshold } from '../../model/types.js';
import { inUnit } from '../../quantity/index.js';
import { chargersOf, isCharging } from '../../quantities/bank.js';
import { resistanceAt } from '../../quantities/conductor.js';
import { loadIn } from '../../quantities/steady-load.js';
import { collect, sumOf, whenKnown } from '../../quantities/worst.js';
import { wayFrom } from '../conductors/faults.js';
import { defineCheck, type Verdict } from '../define.js';
import { propose } from '../fixes.js';
import { notChecked, pairText, passed } from '../verdicts.js';
import { isBelow, type RuleSet, ruleSets, switchesOn } from './rules.js';

/** A stop voltage must lie this far below the charge voltage, so that tolerances do not keep it out of reach: 0.01 V a cell (common practice, no source). */
const CLEARANCE_PER_CELL = 0.01;

/** Voltage the bank reaches under a charger: its absorption set point less the drop of the cable, unless it senses at the bank. */
function reachedVoltage(charger: Instance, bank: Instance, context: DesignContext): Result {
  const absorb = context.fact(charger, 'absorb');
  if (absorb.kind !== 'known' || flagIn(charger.properties, 'remoteSense')) return absorb;
  const current = context.quantity(charger, 'outputCurrent');
  const way = wayFrom(charger, context.graph.nodesOf(bank)[0]!, context);
  if (!way || current.kind !== 'known') return absorb;
  const drops = collect(way.runs.map((run) => dropIn(run, current.derivation, context)));
  if (!drops.ok) return drops.result;
  const lost = sumOf('voltage lost in the cable', 'ΔU', 'V', drops.derivations);
  return known(
    derive('voltage at the bank', numberIn(absorb.derivation, 'V') - numberIn(lost, 'V'), 'V', {
      symbol: 'U',
      formula: 'U_absorb − ΔU',
      inputs: [absorb.derivation, lost],
    }),
  );
}

/** Voltage a run loses at the tail of a charge. The current there is small; a tenth of the charger's current is taken. */
const TAIL_SHARE = 0.1;

function dropIn(run: Run, current: Derivation, context: DesignContext): Result {
  const facts = collect([context.fact(run, 'size'), context.fact(run, 'length')]);
  if (!facts.ok) return facts.result;
  const [size, length] = facts.derivations as [Derivation, Derivation];
  const tail = derive('current at the end of the charge', numberIn(current, 'A') * TAIL_SHARE, 'A', {
    formula: '0.1·I',
    inputs: [current],
    notes: ['a tenth of the charger’s current; common practice, no source'],
  });
  return whenKnown(resistanceAt(run, size, length, undefined, context), (resistance) =>
    known(
      derive(`drop of ${run.name}`, 2 * numberIn(resistance, 'ohm') * numberIn(tail, 'A'), 'V', {
        formula: '2·R·I',
        inputs: [resistance, tail],
      }),
    ),
  );
}

function* judgeVoltage(set: RuleSet, stop: Threshold, context: DesignContext): Generator<Verdict> {
  const bank = stop.of;
  const chargers = chargersOf(bank, context).filter(({ kind }) => kind === 'charger' || kind === 'inverter');
  if (chargers.length === 0) return;
  const reached = chargers.map((charger) => reachedVoltage(charger, bank, context));
  const all = collect(reached);
  if (!all.ok) return yield notChecked(set.control, all.result);
  const [voltage, charger] = all.derivations
    .map((each, index) => [each, chargers[index]!] as const)
    .reduce((so, next) => (numberIn(next[0], 'V') > numberIn(so[0], 'V') ? next : so));
  const count = context.quantity(bank, 'cellCount');
  const clearance = count.kind === 'known' ? CLEARANCE_PER_CELL * numberIn(count.derivation, '') : 0;
  const limit = deriveQuantity('stop threshold', stop.limit, { origin: 'stated', place: stop.limitPlace });
  const most = derive('highest stop threshold', numberIn(voltage, 'V') - clearance, 'V', {
    formula: 'U − 0.01 V·n_c',
    inputs: [voltage],
  });
  const numbers = { stop: limit, reached: voltage, most };
  if (inUnit(stop.limit, 'V') <= numberIn(most, 'V') * (1 + 1e-9)) return yield passed(set.control, numbers);
  const value = Math.floor(numberIn(most, 'V') * 10 + 1e-6) / 10;
  const [wanted, gets] = pairText(limit, voltage);
  yield {
    verdict: 'failed',
    subject: set.control.path,
    place: stop.limitPlace,
    message: `${set.title} stops ${set.control.target.name} above ${wanted}, and ${bank.name} reaches ${gets} under ${charger.name} (absorption ${displayValue(context.maybe(charger, 'absorb')!)}${flagIn(charger.properties, 'remoteSense') ? '' : ', less the drop of the cable'}): it would run for ever. Stop at ${value} V.`,
    numbers,
    fixes: [propose(`Stop at ${value} V`, [{ place: stop.limitPlace, text: `${value} V` }], true)],
  };
}

/** State of charge above which only a charge held at absorption brings a bank (common practice, no source). */
const HIGHEST_STOP = 0.98;

function* judgeCharge(set: RuleSet, stop: Threshold, context: DesignContext): Generator<Verdict> {
  const bank = stop.of;
  const limit = deriveQuantity('stop threshold', stop.limit, { origin: 'stated', place: stop.limitPlace });
  if (stop.limit.value > HIGHEST_STOP) {
    yield {
      verdict: 'failed',
      subject: set.control.path,
      place: stop.limitPlace,
      severity: 'warning',
      message: `${set.title} stops ${set.control.target.name} above ${displayValue(limit)} of soc(${bank.name}); the last percent are only counted after a long absorption, so the set may run for hours at little load. Stop at 95 %.`,
      numbers: { stop: limit },
      fixes: [propose('Stop at 95 %', [{ place: stop.limitPlace, text: '95 %' }], true)],
    };
    return;
  }
  for (const { state, circuit } of context.circuitStates) {
    if (!state.acSources.includes(set.control.target) || state.acSources.length !== 1 || state.dcSources.length > 0)
      continue;
    const working = chargersOf(bank, context).filter((charger) =>
      isCharging(charger, context, state.dcSources, circuit.supply),
    );
    if (working.length === 0) continue;
    const all = collect(working.map((charger) => context.quantity(charger, 'outputCurrent')));
    const load = loadIn(bank, circuit, context);
    if (!all.ok) return yield notChecked(set.control, all.result);
    if (load.kind !== 'known') return yield notChecked(set.control, load);
    const charge = sumOf('charger output', 'I_chg', 'A', all.derivations);
    const numbers = { stop: limit, charger: charge, load: load.derivation };
    if (numberIn(charge, 'A') > numberIn(load.derivation, 'A')) return yield passed(set.control, numbers);
    const [gives, take] = pairText(charge, load.derivation);
    yield {
      verdict: 'failed',
      subject: set.control.path,
      place: stop.limitPlace,
      message: `${set.title} stops ${set.control.target.name} above ${displayValue(limit)} of soc(${bank.name}), and with ${state.title} the chargers give ${gives} while the loads take ${take} on average: the state of charge never rises and the set never stops. Raise the charger limits or shed loads while it runs.`,
      numbers,
    };
    return;
  }
}

/** A generator that is started by rule must be stopped by one, or by its longest run. */
function* judgeAnyStop(control: Control, context: DesignContext): Generator<Verdict> {
  const start = control.rules.find(switchesOn);
  const others = context.system.controls.filter(({ target }) => target === control.target);
  const isStopped = others.some(({ rules }) => rules.some((rule) => !switchesOn(rule)));
  if (!start || isStopped || context.maybe(control, 'maximumRun')) return;
  yield {
    verdict: 'failed',
    subject: control.path,
    place: start.place,
    message: `${control.name} starts ${control.target.name}, and no rule stops it: it runs until the tank is empty. Write a rule \`stop when …\`, or \`maximumRun\`.`,
  };
}

export const stopUnreachable = defineCheck({
  id: 'stop-unreachable',
  group: 'control',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'The condition that stops a generator cannot be reached, or there is none.',
    guards: 'The set runs until the tank is empty.',
    how: 'A stop on voltage is held against the absorption set point of the chargers less the cable drop at a tenth of their current (no drop with `remoteSense`), less 0.01 V a cell. A stop on state of charge needs a current left for the bank when the set’s chargers work and the loads take their mean; above 98 % it is a warning. A set that is started by rule needs a rule that stops it, or a `maximumRun`.',
    sources: [{ standard: 'common practice, no source', provenance: 'common practice, no source' }],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  control Autostart of Genset {
    start when voltage(Bank) < 50 V for 2 min
    stop when voltage(Bank) > 56.4 V for 20 min
  }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  control Autostart of Genset {
    start when voltage(Bank) < 50 V for 2 min
    stop when voltage(Bank) > 55.6 V for 20 min
  }
}
`,
  },
  judge: function* (context) {
    for (const control of context.system.controls) {
      if (control.target.kind !== 'generator') continue;
      yield* judgeAnyStop(control, context);
      for (const set of ruleSets(control)) {
        for (const rule of set.rules.filter(({ verb }: Rule) => verb === 'stop')) {
          // With `or`, one condition that can be met is enough; each is judged only where it stands alone or all must hold.
          if (rule.joined === 'or' || rule.joined === 'other') continue;
          for (const threshold of rule.thresholds.filter((each) => !isBelow(each) && each.of.kind === 'battery')) {
            if (threshold.signal === 'voltage') yield* judgeVoltage(set, threshold, context);
            if (threshold.signal === 'soc') yield* judgeCharge(set, threshold, context);
          }
        }
      }
    }
  },
});
