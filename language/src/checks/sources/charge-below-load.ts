import { type Derivation, derive, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { chargersOf, isCharging } from '../../quantities/bank.js';
import { loadIn } from '../../quantities/steady-load.js';
import { collect, sumOf } from '../../quantities/worst.js';
import { defineCheck, type Fix, type Verdict } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf } from '../verdicts.js';
import { pairText, PRACTICE, roundUp } from './shared.js';

/** Share of capacity per hour that must be left, so that a charge ends within 20 hours (common practice, no source). */
const LEAST_RATE = 0.05;

function fixesFor(working: readonly Instance[], shortBy: number, context: DesignContext): Fix[] {
  return working.flatMap((charger) => {
    const now = context.quantity(charger, 'outputCurrent');
    const most = context.maybe(charger, 'maximumCurrent');
    if (now.kind !== 'known') return [];
    const amperes = roundUp(numberIn(now.derivation, 'A') + shortBy, 5);
    if (most && amperes > numberIn(most, 'A')) return [];
    return [
      propose(
        `Raise the limit of ${charger.name} to ${amperes} A`,
        [setProperty(charger, 'currentLimit', `${amperes} A`)],
        true,
      ),
    ];
  });
}

function* judgeBank(bank: Instance, context: DesignContext): Generator<Verdict> {
  for (const { state, circuit } of context.circuitStates) {
    // The sun is meant to give less than the loads at times; an AC charger that is run on purpose is not.
    if (state.acSources.length !== 1 || state.dcSources.length > 0) continue;
    const working = chargersOf(bank, context).filter((charger) =>
      isCharging(charger, context, state.dcSources, circuit.supply),
    );
    if (working.length === 0) continue;
    const all = collect(working.map((charger) => context.quantity(charger, 'outputCurrent')));
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
    const left = numberIn(net, 'A');
    if (left > 0 && (!least || left >= numberIn(least, 'A'))) {
      yield passed(bank, numbers);
      continue;
    }
    const [given, taken] = pairText(charge, load.derivation);
    const names = working.map(({ name }) => name).join(' and ');
    const wanted = (least ? numberIn(least, 'A') : 0) - left;
    const fixes = fixesFor(working, wanted, context);
    const terms = load.derivation.inputs
      .filter((input) => numberIn(input, 'A') > 0)
      .map((input) => input.name.replace(/^(mean|idle) current of /, ''))
      .join(', ');
    const verdictText =
      left > 0
        ? `only ${pairText(net, net)[0]} are left for the bank, less than ${least ? pairText(least, least)[0] : ''} (5 % of its capacity an hour): it takes more than 20 hours to fill`
        : left === 0
          ? 'nothing is left for the bank: it never fills'
          : `the bank loses ${pairText(derive('loss', -left, 'A'), net)[0]}: it never fills and no stop threshold is reached`;
    yield {
      verdict: 'failed',
      subject: bank.path,
      place: working[0] ? placeOf(working[0], 'currentLimit') : bank.place,
      ...(left > 0 ? { severity: 'warning' as const } : {}),
      message: `With ${state.title}, ${names} ${working.length === 1 ? 'gives' : 'give'} ${given} and the loads take ${taken} on average (${terms}); ${verdictText}.${fixes[0] ? ` ${fixes[0].title}.` : ' Add a charger, shed loads while charging, or let the source carry the loads itself.'}`,
      numbers: { ...numbers, ...(least ? { least } : {}) },
      fixes,
      related: [{ place: bank.place, text: `${bank.name} is charged here` }],
    };
    return;
  }
}

/** Current that must be left for the bank: 5 % of its capacity an hour. */
function leastCurrent(bank: Instance, context: DesignContext): Derivation | undefined {
  const capacity = context.quantity(bank, 'bankCapacity');
  if (capacity.kind !== 'known') return undefined;
  const share = derive('least charge rate', LEAST_RATE, 'C', {
    symbol: 'r',
    notes: ['a full charge within 20 hours; common practice, no source'],
  });
  return derive('least current for the bank', numberIn(capacity.derivation, 'Ah') * LEAST_RATE, 'A', {
    symbol: 'I_least',
    formula: 'C·r',
    inputs: [capacity.derivation, share],
  });
}

export const chargeBelowLoad = defineCheck({
  id: 'charge-below-load',
  group: 'sources',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'The loads eat the chargers’ output: too little or nothing is left for the bank.',
    guards: 'The generator runs for ever, because the bank never reaches the threshold that stops it.',
    how: 'For each AC source by itself the output of the chargers it feeds is compared with the mean current the loads take from the bus meanwhile (power by profile and duty at nominal voltage, inverter efficiency and idle draw counted). Nothing left is an error; less than 5 % of capacity an hour is a warning (a rule of thumb).',
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
    for (const instance of context.system.instances)
      if (instance.kind === 'battery') yield* judgeBank(instance, context);
  },
});
