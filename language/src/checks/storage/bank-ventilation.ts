import { callFunction, findFunction } from '../../calculate/index.js';
import { type Derivation, type Result, derive, deriveFact, known, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { formatNumber } from '../../quantity/index.js';
import { collect, whenKnown } from '../../quantities/worst.js';
import { type ChargeMode, gassingCurrentOf, ventilationOf } from '../../reference/energy/index.js';
import { defineCheck, type Fix, type Verdict, atLeast, NO_LIMIT, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf } from '../verdicts.js';
import { banksOf, chemistryOf } from './shared.js';
import { isArray } from '../../model/roles.js';
import { chargersOf } from '../../quantities/supply/joined.js';
import { setPointsOf } from '../../quantities/plant/chargers.js';

/** The kind of cell in the table of IEC 62485-2. */
const cellOf = (bank: Instance, context: DesignContext): 'vented' | 'valveRegulated' =>
  chemistryOf(bank, context)?.name === 'flooded' ? 'vented' : 'valveRegulated';

/** Current that makes gas in the bank: as its maker states it, else by the table. */
interface Gassing {
  readonly current: Derivation;
  /** Set when a charger works, or may work, above the cell voltage the table holds for: what would settle it, and why. */
  readonly open?: { readonly missing: string; readonly why: string };
}

function ventilationFor(bank: Instance, current: Derivation, context: DesignContext): Result {
  return whenKnown(context.quantity(bank, 'cellCount'), (cells) =>
    callFunction(findFunction('ventilation')!, { cells, current }),
  );
}

function gassingOf(bank: Instance, context: DesignContext): { ok: true; of: Gassing } | { ok: false; result: Result } {
  const strings = context.fact(bank, 'parallel');
  const own = context.maybe(bank, 'gassingCurrent');
  if (own && strings.kind === 'known') {
    const current = derive('gassing current', numberIn(own, 'A') * numberIn(strings.derivation, ''), 'A', {
      symbol: 'I_gas',
      formula: 'I_unit·n_p',
      inputs: [own, strings.derivation],
    });
    return { ok: true, of: { current } };
  }
  const facts = collect([context.quantity(bank, 'bankCapacity'), context.quantity(bank, 'cellCount')]);
  if (!facts.ok) return { ok: false, result: facts.result };
  const [capacity, cells] = facts.derivations as [Derivation, Derivation];
  const points = chargersOf(bank, context).map((charger) => ({ charger, points: setPointsOf(charger, context) }));
  const unsaid = points.find((each) => each.points.length === 0)?.charger;
  const top = Math.max(0, ...points.flatMap((each) => each.points.map(({ point }) => numberIn(point, 'V'))));
  const volts = top / numberIn(cells, '');
  const cell = cellOf(bank, context);
  const isWithin = (mode: ChargeMode): boolean => volts <= gassingCurrentOf(cell, mode).voltage * (1 + 1e-9);
  const mode: ChargeMode = !unsaid && isWithin('float') ? 'float' : 'boost';
  const byTable = callFunction(findFunction('gassingCurrent')!, {
    capacity,
    cell: deriveFact('cell', cell),
    charge: deriveFact('charge', mode),
  });
  if (byTable.kind !== 'known') return { ok: false, result: byTable };
  // A charger that gives less than the table's current makes no more gas than it gives.
  const most = context.quantity(bank, 'chargeCurrent');
  const isLess = most.kind === 'known' && numberIn(most.derivation, 'A') < numberIn(byTable.derivation, 'A');
  const current = isLess ? most.derivation : byTable.derivation;
  const end = formatNumber(gassingCurrentOf(cell, 'boost').voltage, 3);
  if (!isWithin('boost'))
    return {
      ok: true,
      of: {
        current,
        open: {
          missing: `gassingCurrent of ${bank.name} at ${formatNumber(volts, 3)} V a cell (the table ends at ${end} V)`,
          why: `charged above ${end} V a cell, up to which this current holds: it may need more`,
        },
      },
    };
  if (!unsaid) return { ok: true, of: { current } };
  const missing = isArray(unsaid) ? `gassingCurrent of ${bank.name}` : `set points of ${unsaid.name}`;
  return {
    ok: true,
    of: { current, open: { missing, why: `how high ${unsaid.name} charges is not stated: it may need more` } },
  };
}

/** Air that reaches the bank: as led there, and what natural draught through its openings brings, in m³/h. */
function airAt(bank: Instance, context: DesignContext): Derivation | undefined {
  const flow = context.maybe(bank, 'airFlow');
  const opening = context.maybe(bank, 'opening');
  const { openingPerAir, source } = ventilationOf('iec');
  if (!opening || openingPerAir === null) return flow;
  const natural = derive('air by natural draught', numberIn(opening, 'cm2') / openingPerAir, 'm3/h', {
    formula: `A/${openingPerAir} cm2 for each m³/h`,
    inputs: [opening],
    source,
  });
  return flow && numberIn(flow, 'm3/h') > numberIn(natural, 'm3/h') ? flow : natural;
}

const cubic = (air: Derivation): string => `${formatNumber(numberIn(air, 'm3/h'), 3)} m³/h`;

/** Rounded up to a figure one can build to: two digits. */
function roundedUp(value: number): number {
  const step = 10 ** Math.max(-1, Math.floor(Math.log10(value)) - 1);
  return Number((Math.ceil(value / step - 1e-9) * step).toFixed(1));
}

function fixesFor(bank: Instance, needed: Derivation): Fix[] {
  const flow = `${roundedUp(numberIn(needed, 'm3/h'))} m3/h`;
  const opening = `${roundedUp(numberIn(needed.parts['opening']!, 'cm2'))} cm2`;
  return [
    propose(`Give ${bank.name} two openings of ${opening} each`, [setProperty(bank, 'opening', opening)], true),
    propose(`Lead ${flow} of air past ${bank.name}`, [setProperty(bank, 'airFlow', flow)]),
  ];
}

function* judgeBank(bank: Instance, context: DesignContext): Generator<Verdict> {
  if (chargersOf(bank, context).length === 0) return;
  const row = chemistryOf(bank, context);
  if (!row) {
    if (!context.maybe(bank, 'chemistry'))
      yield notChecked(bank, { kind: 'missing', missing: [`chemistry of ${bank.name}`] });
    return;
  }
  if (!row.gases) return yield passed(bank, NO_LIMIT);
  const gassing = gassingOf(bank, context);
  if (!gassing.ok) return yield notChecked(bank, gassing.result);
  const { current, open } = gassing.of;
  const needed = ventilationFor(bank, current, context);
  if (needed.kind !== 'known') return yield notChecked(bank, needed);
  const air = airAt(bank, context);
  if (!air) return yield notChecked(bank, { kind: 'missing', missing: [`opening or airFlow of ${bank.name}`] });
  const given = numberIn(air, 'm3/h');
  const numbers = { needed: needed.derivation, air };
  const boost = gassingCurrentOf(cellOf(bank, context), 'boost');
  if (given < numberIn(needed.derivation, 'm3/h') * (1 - 1e-9)) {
    const worst = open ? fullCurrentAir(bank, context) : needed;
    const asked = worst.kind === 'known' ? worst.derivation : needed.derivation;
    const opening = formatNumber(numberIn(needed.derivation.parts['opening']!, 'cm2'), 3);
    const hydrogen = formatNumber(numberIn(needed.derivation.parts['hydrogen']!, 'L/h'), 3);
    yield {
      verdict: 'failed',
      subject: bank.path,
      place: placeOf(bank, context.maybe(bank, 'opening') ? 'opening' : 'airFlow'),
      headline: `${bank.name} needs ${cubic(needed.derivation)} of air; ${cubic(air)} reaches it`,
      why: [
        `${hydrogen} L/h of hydrogen at ${formatNumber(numberIn(current, 'A'), 3)} A of gassing current; two openings of ${opening} cm² each`,
        open?.why,
      ]
        .filter(Boolean)
        .join('; '),
      use: atLeast(air, needed.derivation),
      numbers,
      fixes: fixesFor(bank, asked),
      sources: [boost.source],
    };
    return;
  }
  if (!open) return yield passed(bank, atLeast(air, needed.derivation), numbers);
  const full = fullCurrentAir(bank, context);
  if (full.kind === 'known' && given >= numberIn(full.derivation, 'm3/h') * (1 - 1e-9))
    return yield passed(bank, atLeast(air, full.derivation), { needed: full.derivation, air });
  yield notChecked(bank, { kind: 'missing', missing: [open.missing] });
}

/** Air for all the current its chargers can give: no bank makes more gas. */
const fullCurrentAir = (bank: Instance, context: DesignContext): Result =>
  whenKnown(context.quantity(bank, 'chargeCurrent'), (current) =>
    whenKnown(ventilationFor(bank, current, context), (air) => known(air)),
  );

export const bankVentilation = defineCheck({
  id: 'bank-ventilation',
  group: 'storage',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A bank that gives off hydrogen gets less air than IEC 62485-2 demands.',
    guards: 'An explosive mixture of hydrogen and air above the bank at the end of charge.',
    how: points(
      '0.05 m³/h of air for each cell and each ampere that makes gas (IEC 62485-2).',
      'Lead cells make gas with 20 mA (vented) or 8 mA (valve-regulated) for each Ah on boost charge; with 5 and 1 mA where no set point lies above float (2.23 and 2.27 V a cell); or with the `gassingCurrent` their maker states. Never with more than all chargers give.',
      'The table holds up to 2.40 V a cell. Above that, air for the full charge current passes, and anything between is not checked until the maker’s `gassingCurrent` is stated.',
      '`airFlow` counts as stated; an `opening` of 28 cm² (each of two) brings 1 m³/h by natural draught.',
      'Lithium gives off no hydrogen in normal use.',
    ),
    fix: 'Enlarge the openings or the fan, lower the charge current, or choose sealed units.',
    sources: [
      { standard: 'IEC 62485-2', edition: 'EN 50272-2:2001 values', table: 'Table 1', provenance: 'published' },
    ],
    failing: `design Cabin {
  solar Array { power: 400 W }
  chargeController Sun { currentLimit: 40 A   maximumCurrent: 40 A   absorb: 28.8 V   float: 26.8 V }
  battery Bank : Flooded6V400Ah { series: 4   opening: 20 cm2 }
  run Line: Array -> Sun.solar { size: 6 mm2   length: 10 m }
  run Feed: Bank -> Sun.dc { size: 16 mm2   length: 1 m }
}
`,
    passing: `design Cabin {
  solar Array { power: 400 W }
  chargeController Sun { currentLimit: 40 A   maximumCurrent: 40 A   absorb: 28.8 V   float: 26.8 V }
  battery Bank : Flooded6V400Ah { series: 4   opening: 140 cm2 }
  run Line: Array -> Sun.solar { size: 6 mm2   length: 10 m }
  run Feed: Bank -> Sun.dc { size: 16 mm2   length: 1 m }
}
`,
  },
  judge: function* (context) {
    for (const bank of banksOf(context)) yield* judgeBank(bank, context);
  },
});
