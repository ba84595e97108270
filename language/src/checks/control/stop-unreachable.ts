import { derive, deriveQuantity, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Control, Instance, Rule, Threshold } from '../../model/types.js';
import { formatNumber, inUnit } from '../../quantity/index.js';
import { reachedVoltage } from '../../control/index.js';
import { type CellsOutside, cellsOutside } from '../../quantities/plant/cell-limits.js';
import { groupOf } from '../../quantities/storage/bank-group.js';
import { deliveredIn, loadIn } from '../../quantities/demand/steady-load.js';
import { collect, sumOf } from '../../quantities/worst.js';
import { defineCheck, type Verdict } from '../define.js';
import { propose } from '../fixes.js';
import { notChecked, pairText, passed } from '../verdicts.js';
import { type FoundFault, faultsOf, shownBy, shownText, unsettled } from './faults.js';
import { isBelow, type RuleSet, ruleSets, switchesOn } from './rules.js';
import { flagIn } from '../../model/stated-facts.js';
import { isAcCharger, isBank, isStarted } from '../../model/roles.js';
import { chargersOf, isCharging } from '../../quantities/supply/joined.js';

/** A stop voltage must lie this far below the charge voltage, so that tolerances do not keep it out of reach: 0.01 V a cell (common practice, no source). */
const CLEARANCE_PER_CELL = 0.01;

function* judgeVoltage(set: RuleSet, stop: Threshold, context: DesignContext): Generator<Verdict> {
  const bank = stop.of;
  const chargers = chargersOf(bank, context).filter(isAcCharger);
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

/** The bank of a bus whose cells reach temperatures at which they take no charge. */
function outsideOf(bank: Instance, context: DesignContext): OutsideBank | undefined {
  for (const each of groupOf(bank, context)) {
    const cells = cellsOutside(each, 'charge', context);
    if (cells) return { bank: each, cells };
  }
  return undefined;
}

interface OutsideBank {
  readonly bank: Instance;
  readonly cells: CellsOutside;
}

/** A set that runs for a charge that the cells do not take. */
function neverCharged(set: RuleSet, stop: Threshold, { bank, cells }: OutsideBank): Verdict {
  const { end, limit, reaches } = cells;
  const threshold = deriveQuantity('stop threshold', stop.limit, { origin: 'stated', place: stop.limitPlace });
  const isCold = end === 'cold';
  return {
    verdict: 'failed',
    subject: set.control.path,
    place: stop.limitPlace,
    severity: 'warning',
    message: `${set.title} stops ${set.control.target.name} above ${displayValue(threshold)} of soc(${stop.of.name}), and ${bank.name} takes no charge ${isCold ? 'below' : 'above'} ${formatNumber(limit)} °C, while its cells get as ${end} as ${formatNumber(reaches)} °C: the state of charge does not rise then, and the set runs on. ${isCold ? `Warm ${bank.name} before charging (\`heater: yes\`), or write` : 'Write'} \`maximumRun\`, which ends such a run.`,
    numbers: { stop: threshold },
    related: [{ place: bank.place, text: `${bank.name} takes no charge then` }],
  };
}

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
    const all = collect(working.map((charger) => deliveredIn(charger, bank, circuit, context)));
    const load = loadIn(bank, circuit, context);
    if (!all.ok) return yield notChecked(set.control, all.result);
    if (load.kind !== 'known') return yield notChecked(set.control, load);
    const outside = outsideOf(bank, context);
    if (outside && !context.maybe(set.control, 'maximumRun')) return yield neverCharged(set, stop, outside);
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

/** What the search of all states shows, whatever the form of the rules. */
function neverStops(found: FoundFault<'endless'>): Verdict {
  const { fault, control, set } = found;
  const stop = set.rules.find((rule) => !switchesOn(rule));
  return {
    verdict: 'failed',
    subject: control.path,
    place: stop?.place ?? control.place,
    message: `${set.title} can start ${control.target.name} and never stop it: ${fault.isEaten ? `the loads take as much as its chargers give, so ${fault.bank} never fills` : `with ${fault.bank} full and its chargers at their voltage no rule stops it`}. ${shownText(fault)} Write a rule that stops it then, or \`maximumRun\`.`,
    ...shownBy(found),
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
    how: 'A stop on voltage is held against the absorption set point of the chargers less the cable drop at a tenth of their current (no drop with `remoteSense`), less 0.01 V a cell. A stop on state of charge needs a current left for the bank when the set’s chargers work and the loads take their mean; above 98 % it is a warning, and so it is where `cellTemperature` goes beyond what the cells may be charged at and no `maximumRun` ends a run. A set that is started by rule needs a rule that stops it, or a `maximumRun`. Rules of any other form (`or`, `not`, hours) are searched as language/CONTROL.md says: with the bank full, or wherever it stands if the loads take all, the set must stop within two days and all of its timers.',
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
    const endless = [...faultsOf(context, ['endless'])];
    const asked = new Set<string>();
    for (const control of context.system.controls) {
      if (!isStarted(control.target)) continue;
      const noStop = [...judgeAnyStop(control, context)];
      yield* noStop;
      for (const [index, set] of ruleSets(control).entries()) {
        const shown = endless.find(({ control: of, fault }) => of === control && fault.set === index);
        let isTold = noStop.length > 0;
        for (const rule of set.rules.filter(({ verb }: Rule) => verb === 'stop')) {
          // With `or`, one condition that can be met is enough; such rules are left to the search.
          if (rule.joined === 'or' || rule.joined === 'other') continue;
          for (const threshold of rule.thresholds.filter((each) => !isBelow(each) && isBank(each.of))) {
            const verdicts = [
              ...(threshold.signal === 'voltage' ? judgeVoltage(set, threshold, context) : []),
              ...(threshold.signal === 'soc' ? judgeCharge(set, threshold, context) : []),
            ];
            for (const verdict of verdicts) {
              if (verdict.verdict === 'failed') isTold = true;
              if (verdict.verdict === 'not-checked') for (const fact of verdict.missing) asked.add(fact);
              yield verdict.verdict === 'failed' && shown ? { ...verdict, ...shownBy(shown) } : verdict;
            }
          }
        }
        // A fallback without a rule that stops is told by `no-fallback`.
        if (shown && !isTold && set.rules.some((rule) => !switchesOn(rule))) yield neverStops(shown);
      }
    }
    for (const open of unsettled(context, ['endless'])) if (!open.missing.every((fact) => asked.has(fact))) yield open;
  },
});
