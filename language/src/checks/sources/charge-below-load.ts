import { firstFew } from '../text/wording.js';
import { governingText } from '../../glossary/reason-text.js';
import { type BoundKind, type Derivation, derive, displayValue, numberIn, boundOf } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { deliveredIn, loadIn, loadsIn } from '../../quantities/demand/steady-load.js';
import { collect, sumOf } from '../../quantities/worst.js';
import { defineCheck, type Verdict, atLeast } from '../define.js';
import { notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { leastCurrent, PRACTICE, turnUp } from './shared.js';
import { isBank } from '../../model/roles.js';
import { chargersOf, isCharging } from '../../quantities/supply/joined.js';

/** Bounds that hold a charger below its output limit. */
const HELD_BACK: ReadonlySet<BoundKind> = new Set(['power', 'inputSetting', 'inputRating', 'supply', 'nothingLeft']);

/** Why chargers give less than their output limit. */
function limitedBy(currents: readonly Derivation[]): string {
  const reasons = [
    ...new Set(
      currents.flatMap((current) => {
        const bound = boundOf(current);
        return bound && HELD_BACK.has(bound) ? (governingText(current) ?? []) : [];
      }),
    ),
  ];
  return reasons.length > 0 ? `limited by ${firstFew(reasons)}` : '';
}

/** Loads of which neither profile nor duty is stated, and that therefore count as running all the time. */
function alwaysOn(loads: readonly Instance[]): string {
  const names = loads.filter(({ properties }) => !properties.has('profile') && !properties.has('duty'));
  return names.length === 0 ? '' : `no profile or duty of ${firstFew(names.map(({ name }) => name))}: always on`;
}

function* judgeBank(bank: Instance, context: DesignContext): Generator<Verdict> {
  for (const { state, circuit } of context.circuitStates) {
    // The sun is meant to give less than the loads at times; an AC charger that is run on purpose is not.
    if (state.acSources.length !== 1 || state.dcSources.length > 0) continue;
    const working = chargersOf(bank, context).filter((charger) =>
      isCharging(charger, context, state.dcSources, circuit.supply),
    );
    if (working.length === 0) continue;
    const all = collect(working.map((charger) => deliveredIn(charger, bank, circuit, context)));
    const load = loadIn(bank, circuit, context);
    if (!all.ok) {
      yield notChecked(bank, all.result);
      continue;
    }
    if (load.kind !== 'known') {
      yield notChecked(bank, load);
      continue;
    }
    const charge = sumOf('charger output', 'I_chg', 'A', all.derivations);
    const net = derive('current left for the bank', numberIn(charge, 'A') - numberIn(load.derivation, 'A'), 'A', {
      symbol: 'I_net',
      formula: 'I_chg − I_load',
      inputs: [charge, load.derivation],
    });
    const least = leastCurrent(bank, context);
    const numbers = { charger: charge, load: load.derivation, net };
    // What rounding leaves of equal currents is nothing.
    const rest = numberIn(net, 'A');
    const left = Math.abs(rest) <= 1e-9 * numberIn(charge, 'A') ? 0 : rest;
    if (left > 0 && (!least || left >= numberIn(least, 'A') * (1 - 1e-9))) {
      yield passed(bank, least ? atLeast(net, least) : atLeast(charge, load.derivation), numbers);
      continue;
    }
    const [given, taken] = pairText(charge, load.derivation);
    const names = firstFew(working.map(({ name }) => name));
    const lowest = least ?? derive('least current for the bank', 0, 'A');
    const wanted = (least ? numberIn(least, 'A') : 0) - left;
    const fixes = turnUp(bank, working, wanted, context);
    const loads = loadsIn(bank, circuit, context);
    const isOne = working.length === 1;
    const told =
      left > 0
        ? {
            headline: `${names} ${isOne ? 'leaves' : 'leave'} ${pairText(net, lowest)[0]} for ${bank.name}; at least ${pairText(net, lowest)[1]} needed`,
            rule: '5 % of its capacity an hour, a rule of thumb',
            consequence: 'it needs more than 20 hours to fill',
          }
        : {
            headline: `${names} ${isOne ? 'gives' : 'give'} ${given} to ${bank.name}; the loads draw ${taken}`,
            consequence:
              left === 0
                ? 'nothing is left for the bank and it never fills'
                : `the bank loses ${displayValue(derive('loss', -left, 'A'), 3)}, never fills, and reaches no stop threshold`,
          };
    const always = alwaysOn(loads);
    yield {
      verdict: 'failed',
      subject: bank.path,
      place: working[0] ? placeOf(working[0], 'currentLimit') : bank.place,
      ...(left > 0 ? { severity: 'warning' as const } : {}),
      ...told,
      ...whyOf(
        `with ${state.title}, loads ${firstFew(loads.map(({ name }) => name)) || 'none'}`,
        limitedBy(all.derivations),
      ),
      ...(always ? { assumes: [always] } : {}),
      advice: 'Charge with more, shed loads while charging, or let the source carry the loads itself.',
      use: atLeast(net, lowest),
      numbers: { ...numbers, ...(least ? { least } : {}) },
      fixes,
      related: [{ place: bank.place, text: `${bank.name} is charged here` }],
    };
    return;
  }
}

export const chargeBelowLoad = defineCheck({
  id: 'charge-below-load',
  group: 'sources',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'The loads use up the chargers’ output: too little or nothing is left for the bank.',
    guards: 'The generator runs for ever, because the bank never reaches the threshold that stops it.',
    how: 'For each AC source by itself the output of the chargers it feeds is compared with the mean current the loads draw from the bus meanwhile (power by profile and duty at nominal voltage, losses of inverters and converters and their idle draw counted). A charger gives no more than its limits of output and input, and what its supply has left beside the loads, let through. Nothing left is an error; less than 5 % of capacity an hour is a warning (a rule of thumb).',
    fix: 'Charge with more current, or run fewer loads while charging.',
    sources: [{ standard: 'charger sizing formula A = k·C/H + L', provenance: 'published' }, PRACTICE],
    failing: `design Workshop {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 30 A   maximumCurrent: 100 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 5 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V }
  load Tools { power: 2 kW }
  bus Dc {}
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Out: Rect.dc -> Dc { size: 25 mm2   length: 1 m }
  run Feed: Bank -> Dc { size: 70 mm2   length: 1 m }
  run InvFeed: Dc -> Inv.dc { size: 70 mm2   length: 1 m }
  run Line: Inv.ac -> Tools { size: 4 mm2   length: 10 m }
}
`,
    passing: `design Workshop {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 80 A   maximumCurrent: 100 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 5 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V }
  load Tools { power: 2 kW   duty: 20 % }
  bus Dc {}
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Out: Rect.dc -> Dc { size: 25 mm2   length: 1 m }
  run Feed: Bank -> Dc { size: 70 mm2   length: 1 m }
  run InvFeed: Dc -> Inv.dc { size: 70 mm2   length: 1 m }
  run Line: Inv.ac -> Tools { size: 4 mm2   length: 10 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances) if (isBank(instance)) yield* judgeBank(instance, context);
  },
});
