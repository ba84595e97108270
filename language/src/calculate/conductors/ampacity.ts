import {
  type Reason,
  type TableCell,
  type Derivation,
  type Result,
  derive,
  deriveFact,
  deriveQuantity,
  fromTable,
  numberIn,
  withFacts,
} from '../../derivation/index.js';
import { formatNumber, sizeText } from '../../quantity/index.js';
import {
  type AmpacityTable,
  type Basis,
  type IecMethod,
  type Metal,
  areaOfSize,
  cellRow,
  columnAtOrBelow,
  type CraftTables,
  craftTables,
  iecAmbientAir,
  iecAmpacityColumn,
  iecRubberCables,
  iecSmallCords,
  necAmpacity,
  necCordAdjustment,
  necCords,
  necPowerCables,
  rowAtSize,
  sourceOf,
  tableName,
  ruleValue,
} from '../../reference/index.js';
import { type Arguments, type PartArgument, defaults, defineFunction, flag, may, mayPart } from '../registry.js';
import {
  type Found,
  GROUP,
  areaIn,
  asResult,
  basisParameter,
  found,
  maybeCount,
  maybeMetalParameter,
  named,
  notFound,
  ownTable,
  ownValue,
  partQuantity,
  partWord,
  rowForSize,
  settleQuantity,
  settleMetal,
  sizeParameter,
  wholeNumber,
  wordInput,
} from './common.js';
import {
  ambientBounds,
  ambientEquation,
  ambientFactorOf,
  ambientTable,
  bundleFactorOf,
  countFactor,
  insulationBounds,
  layoutParameter,
  methodParameter,
  systemVoltageParameter,
} from './correction-factors.js';
import { cellText } from './table-cell.js';

/** Insulation taken when neither it nor a type says. The documented default of the language; cords take the lowest rating made. */
const DEFAULT_INSULATION = 90;
const DEFAULT_CORD_INSULATION = 60;
/** Cords are taken with three current-carrying conductors, the lower column, when nothing says how many. */
const DEFAULT_CORD_CONDUCTORS = 3;
/** The lowest ampacities of the methods outside thermal insulation and the ground. */
const DEFAULT_METHOD: IecMethod = 'B2';
const DEFAULT_LOADED = 2;

/** The arguments of `ampacity` but for the size, shared with `conductorFor`. */
export const ampacityParameters = {
  metal: maybeMetalParameter,
  insulation: may(
    'temperature',
    'degC',
    'temperature rating of the insulation; 90 degC when neither it nor a type says (cords 60 degC)',
    insulationBounds,
  ),
  ambient: defaults('temperature', 'degC', 30, 'temperature around it (of the ground for methods D1, D2)', {
    ...ambientBounds,
    defaultSource: 'base temperature of the ampacity tables',
  }),
  conductors: maybeCount(
    'conductors that carry current together; nec up to 3 need no adjustment, craft 1 when not said, cords 3 or one less than their cores',
  ),
  circuits: defaults('ratio', '', 1, 'circuits grouped together (iec)', { minimum: 1, maximum: 1000 }),
  terminals: may(
    'temperature',
    'degC',
    'lowest temperature rating of the terminals; 75 degC when not said under nec, no limit when not said under iec and craft',
    insulationBounds,
  ),
  method: methodParameter,
  layout: layoutParameter,
  loaded: may('ratio', '', 'loaded conductors, 2 or 3 (iec)', { minimum: 2, maximum: 3 }),
  voltage: systemVoltageParameter,
  engineSpace: flag(false, 'whether it passes an engine space (craft)'),
  type: mayPart(['conductor', 'cord'], 'conductor or cord type, which states insulation and metal'),
  cord: mayPart(['cord'], 'flexible cord or portable cable type, read in the cord tables'),
  basis: basisParameter,
} as const;

export type AmpacityArguments = Arguments<typeof ampacityParameters>;

interface Settled {
  readonly basis: Basis;
  readonly metal: Metal;
  readonly metalInput: Derivation;
  readonly insulation: Derivation;
  readonly method: IecMethod;
  readonly methodInput: Derivation;
  readonly loaded: Derivation;
  readonly cord: PartArgument | undefined;
  /** The conductor or cord type, whichever was given. */
  readonly part: PartArgument | undefined;
  /** Whose cord tables are read. Craft has none of its own: gauge sizes are read under nec, metric ones under iec. */
  readonly cordTables: 'nec' | 'iec';
  readonly conductors: Derivation;
  readonly craft: CraftTables;
}

function settle(size: Derivation, given: AmpacityArguments): Found<Settled> {
  const cord = given.cord ?? (given.type?.partKind === 'cord' ? given.type : undefined);
  const part = cord ?? given.type;
  const metal = settleMetal(given.metal, part);
  if (!metal.ok) return metal;
  const insulation = settleQuantity({
    name: 'insulation',
    given: given.insulation,
    part,
    dimension: 'temperature',
    unit: 'degC',
    fallback: cord ? DEFAULT_CORD_INSULATION : DEFAULT_INSULATION,
    why: cord ? 'lowest rating of cords' : 'building wire in use; common practice, no source',
  });
  const loaded = settleQuantity({
    name: 'loaded',
    given: given.loaded,
    dimension: 'ratio',
    unit: '',
    fallback: DEFAULT_LOADED,
    why: 'two loaded conductors',
  });
  return found({
    basis: given.basis,
    metal: metal.value.word,
    metalInput: metal.value.derivation,
    insulation,
    method: given.method ?? DEFAULT_METHOD,
    methodInput: given.method
      ? wordInput('method', given.method)
      : deriveFact('method', DEFAULT_METHOD, {
          fact: 'method',
          origin: 'default',
          notes: ['cable in conduit on a wall, the least of the methods outside insulation and ground; not stated'],
        }),
    loaded,
    cord,
    part,
    cordTables: given.basis === 'craft' ? (isGauge(size) ? 'nec' : 'iec') : given.basis,
    craft: craftTables(areaIn(size)),
    conductors: given.conductors ?? defaultConductors(cord, given.basis),
  });
}

const isGauge = (size: Derivation): boolean =>
  rowAtSize(necCords, areaIn(size)).ok || rowAtSize(necPowerCables, areaIn(size)).ok;

function defaultConductors(cord: PartArgument | undefined, basis: Basis): Derivation {
  const cores = partQuantity(cord, 'cores', 'ratio');
  if (cores && numberIn(cores, '') > 1) {
    return derive('conductors', numberIn(cores, '') - 1, '', {
      formula: 'cores − 1',
      inputs: [cores],
      notes: ['all but the earth conductor are taken to carry current'],
    });
  }
  const three = basis === 'nec' || cord !== undefined;
  const why = three
    ? 'up to three need no adjustment; cords are read in the column for three'
    : 'one conductor by itself';
  return derive('conductors', three ? DEFAULT_CORD_CONDUCTORS : 1, '', {
    fact: 'conductors',
    origin: 'default',
    notes: [`${why}; not stated`],
  });
}

/** An ampacity read in a table, and where. */
interface InTable {
  readonly read: Derivation;
  readonly cell: TableCell;
}

/** Ampacity in the column of a temperature, or the next lower column. */
function inColumn(
  table: AmpacityTable,
  size: Derivation,
  metal: Metal,
  temperature: Derivation,
  inputs: readonly Derivation[],
): Found<InTable> {
  const lookup = rowForSize(table, areaIn(size));
  if (!lookup.ok) return lookup;
  const { row } = lookup.value;
  const asked = numberIn(temperature, 'degC');
  const column = columnAtOrBelow(table.columns, asked);
  if (column === undefined)
    return notFound(`${tableName(table)} has no column below ${table.columns[0]} degC`, temperature.name);
  const value = row[metal]?.[String(column)];
  if (value === undefined)
    return notFound(`${tableName(table)} has no ${column} degC ampacity for ${row.size} ${metal}`, 'size');
  const cell = { size: row.size, metal, celsius: column };
  return found({
    cell,
    read: fromTable('ampacity in the table', value, 'A', sourceOf(table, row), {
      symbol: 'I0',
      inputs,
      notes: [
        cellText(cell),
        ...lookup.value.notes,
        ...(column < asked - 1e-6
          ? [`the table has no column for ${formatNumber(asked)} degC; the next lower one is read`]
          : []),
      ],
    }),
  });
}

function iecInColumn(size: Derivation, settled: Settled, temperature: Derivation): Found<InTable> {
  const { metal, method, loaded } = settled;
  const count = wholeNumber(loaded);
  if (!count.ok) return count;
  const asked = numberIn(temperature, 'degC');
  const column = columnAtOrBelow(iecAmbientAir.columns, asked);
  if (column === undefined)
    return notFound(
      `IEC 60364-5-52 has no column below ${iecAmbientAir.columns[0]} degC; ${temperature.name} is ${formatNumber(asked)} degC`,
      temperature.name,
    );
  const place = iecAmpacityColumn(method, column, count.value);
  if (!place) return notFound(`no table of IEC 60364-5-52 here for method ${method}`, 'method');
  const lookup = rowForSize(place.table, areaIn(size));
  if (!lookup.ok) return lookup;
  const { row } = lookup.value;
  const value = row[metal]?.[place.column];
  if (value === undefined)
    return notFound(
      `${tableName(place.table)} as stored has no ampacity for ${row.size} ${metal}, method ${method}`,
      row[metal] ? 'size' : 'metal',
    );
  const cell = { size: row.size, metal, celsius: column, installed: { method, loaded: count.value } };
  return found({
    cell,
    read: fromTable(
      'ampacity in the table',
      value,
      'A',
      sourceOf(place.table, cellRow(place.table, row.size, metal, place.column)),
      {
        symbol: 'I0',
        inputs: [size, settled.metalInput, temperature, settled.methodInput, loaded],
        notes: [
          cellText(cell),
          ...lookup.value.notes,
          ...(method === 'F' && count.value === 3 ? ['in trefoil'] : []),
          ...(method === 'G' ? ['three conductors spaced, in a horizontal row'] : []),
        ],
      },
    ),
  });
}

/** Portable power cables (SC, W, G …) have a table of their own; a cord says so under `ampacityTable`. */
const isPowerCable = (cord: PartArgument): boolean => partWord(cord, 'ampacityTable')?.value === 'power-cable';

function cordInTable(size: Derivation, settled: Settled, cord: PartArgument): Found<Derivation> {
  const count = wholeNumber(settled.conductors);
  if (!count.ok) return count;
  if (settled.metal !== 'copper') return notFound('the cord tables are for copper', 'metal');
  const inputs = [size, settled.insulation, settled.conductors];
  if (settled.cordTables === 'iec') return rubberCable(size, settled, inputs);
  if (!isPowerCable(cord)) {
    const lookup = rowForSize(necCords, areaIn(size));
    if (!lookup.ok) return lookup;
    const { row } = lookup.value;
    const column = count.value <= 2 ? 'B' : 'A';
    return found(
      fromTable('ampacity in the table', row[column], 'A', sourceOf(necCords, row), {
        symbol: 'I0',
        inputs,
        notes: [
          `${row.size} cord, column ${column} (${column === 'B' ? 'two' : 'three'} current-carrying)`,
          ...lookup.value.notes,
        ],
      }),
    );
  }
  const lookup = rowForSize(necPowerCables, areaIn(size));
  if (!lookup.ok) return lookup;
  const { row } = lookup.value;
  const column = count.value === 1 ? 'D' : count.value === 2 ? 'E' : 'F';
  const rated = columnAtOrBelow(necPowerCables.columns, numberIn(settled.insulation, 'degC'));
  const value = rated === undefined ? undefined : row[column][String(rated)];
  if (value === undefined)
    return notFound(`${tableName(necPowerCables)} has no ampacity for ${row.size} in column ${column}`, 'size');
  return found(
    fromTable('ampacity in the table', value, 'A', sourceOf(necPowerCables, row), {
      symbol: 'I0',
      inputs,
      notes: [`${row.size} portable cable, column ${column}, ${rated} degC`, ...lookup.value.notes],
    }),
  );
}

function rubberCable(size: Derivation, settled: Settled, inputs: readonly Derivation[]): Found<Derivation> {
  const rated = numberIn(settled.insulation, 'degC');
  const rubber = iecRubberCables.filter((candidate) => candidate.insulation <= rated + 1e-6).at(-1);
  if (!rubber) return notFound('the rubber-cable tables begin at 60 degC', 'insulation');
  const isSmall = areaIn(size) < areaOfSize(rubber.rows[0]!.size) * 0.999;
  const table = isSmall ? iecSmallCords : rubber;
  const lookup = rowForSize(table, areaIn(size));
  if (!lookup.ok) return lookup;
  const { row } = lookup.value;
  const loaded = numberIn(settled.loaded, '') >= 3 ? 3 : 2;
  const value = row[loaded];
  if (value === undefined)
    return notFound(`${tableName(table)} as stored has no ampacity for ${row.size} with three cores`, 'loaded');
  return found(
    fromTable('ampacity in the table', value, 'A', sourceOf(table, row), {
      symbol: 'I0',
      inputs: [...inputs, settled.loaded],
      notes: [`${row.size}, ${table.insulation} degC rubber, ${loaded} loaded`, ...lookup.value.notes],
    }),
  );
}

/** The ampacity that the type states in a table of its own, as for 30 °C; it goes before the tables of the practice. */
function ownAmpacity(size: Derivation, { part }: Settled): Derivation | undefined {
  const value = ownValue(part, 'ampacities', areaIn(size));
  return (
    value &&
    part &&
    deriveQuantity('ampacity in the table', value, {
      symbol: 'I0',
      origin: 'table',
      source: ownTable(part, 'ampacities'),
      inputs: [size],
      notes: [`own table of the design, ${sizeText(areaIn(size))}, taken as for 30 degC around it`],
    })
  );
}

function uncorrectedOf(size: Derivation, settled: Settled): Found<Derivation> {
  const { basis, metal, insulation, metalInput, cord } = settled;
  const own = ownAmpacity(size, settled);
  if (own) return found(own);
  if (cord) return cordInTable(size, settled, cord);
  const inTable =
    basis === 'iec'
      ? iecInColumn(size, settled, insulation)
      : inColumn(basis === 'nec' ? necAmpacity : settled.craft.ampacity, size, metal, insulation, [
          size,
          metalInput,
          insulation,
        ]);
  return inTable.ok ? found(inTable.value.read) : inTable;
}

function defaultTerminals(): Derivation {
  const rule = ruleValue('nec', 'terminalDefault');
  return withFacts(rule, {
    name: 'terminals',
    fact: 'terminals',
    origin: 'default',
    notes: ['NEC 110.14(C) reads 60 degC up to 100 A unless the gear is marked 75 degC; not stated'],
  });
}

/** What the terminals allow: the ampacity of the same conductor in the column of their temperature. */
function terminalLimitOf(
  size: Derivation,
  settled: Settled,
  given: Derivation | undefined,
): Found<{ limit?: InTable; notes: readonly string[] }> {
  const { basis, metal, cord } = settled;
  if (basis !== 'nec' && (!given || cord))
    return found({ notes: ['no terminal limit: the temperature of the terminals is not stated'] });
  const terminals = given ?? defaultTerminals();
  const limit =
    basis === 'iec'
      ? iecInColumn(size, settled, terminals)
      : inColumn(basis === 'nec' ? necAmpacity : settled.craft.ampacity, size, metal, terminals, [size, terminals]);
  if (!limit.ok) {
    if (!cord) return limit;
    return found({ notes: [`no terminal limit: ${tableName(necAmpacity)} has none for ${sizeText(areaIn(size))}`] });
  }
  const { read, cell } = limit.value;
  return found({ limit: { read: { ...read, name: 'terminal limit', symbol: 'It' }, cell }, notes: [] });
}

/**
 * The ampacity in the column that a type may not be taken above at the end, though its insulation is rated higher: NM-B is corrected and
 * adjusted from 90 °C and used at 60 °C (NEC 334.80).
 */
function columnLimitOf(size: Derivation, settled: Settled): Found<InTable | undefined> {
  const { basis, metal, part, cord } = settled;
  const column = cord ? undefined : partQuantity(part, 'ampacityColumn', 'temperature');
  if (!column || numberIn(column, 'degC') >= numberIn(settled.insulation, 'degC')) return found(undefined);
  return basis === 'iec'
    ? iecInColumn(size, settled, column)
    : inColumn(basis === 'nec' ? necAmpacity : settled.craft.ampacity, size, metal, column, [size, column]);
}

/** The smaller of a current and the limit of the column of a type. */
function withinColumn(current: Derivation, column: Derivation | undefined): Derivation {
  if (!column || numberIn(column, 'A') >= numberIn(current, 'A')) return current;
  return derive(current.name, numberIn(column, 'A'), 'A', {
    formula: 'min(I, I_column)',
    inputs: [named(current, 'I'), named(column, 'I_column')],
    ...(column.source ? { source: column.source } : {}),
    notes: ['the column that its type may not be taken above'],
  });
}

/** The ambient, raised to that of engine spaces where the conductor passes one (craft). */
function ambientHere(given: AmpacityArguments, { basis, craft }: Settled): Derivation {
  const engine = craft.ambient.rows.at(-1)?.upTo;
  if (basis !== 'craft' || !given.engineSpace || engine === undefined || numberIn(given.ambient, 'degC') >= engine)
    return given.ambient;
  return derive('ambient', engine, 'degC', {
    origin: 'table',
    source: sourceOf(craft.ambient),
    inputs: [given.ambient],
    notes: ['it passes an engine space'],
  });
}

function correctionsOf(given: AmpacityArguments, settled: Settled): Found<{ ambient: Derivation; bundle: Derivation }> {
  const { basis, cord, cordTables, method, insulation, conductors } = settled;
  const around = ambientHere(given, settled);
  const ambients = basis === 'craft' && !cord ? settled.craft.ambient : ambientTable(cord ? 'nec' : basis, method);
  const ambient =
    cord && cordTables === 'iec' ? rubberAmbient(around, insulation) : ambientFactorOf(around, insulation, ambients);
  if (!ambient.ok) return ambient;
  const bundle =
    cord && cordTables === 'nec'
      ? countFactor(necCordAdjustment, conductors)
      : bundleFactorOf({
          count: cord || basis === 'iec' ? given.circuits : conductors,
          basis: cord ? cordTables : basis,
          ...(cord ? {} : { method }),
          layout: given.layout,
          voltage: given.voltage,
          craft: settled.craft.bundling,
        });
  return bundle.ok ? found({ ambient: ambient.value, bundle: bundle.value }) : bundle;
}

/** Rubber cables have no column in Table B.52.14, so the equation stands in; it gives no credit below the base temperature. */
function rubberAmbient(ambient: Derivation, insulation: Derivation): Found<Derivation> {
  const table = iecRubberCables
    .filter((candidate) => candidate.insulation <= numberIn(insulation, 'degC') + 1e-6)
    .at(-1);
  const factor =
    table && ambientEquation(table.insulation, Math.max(table.base, numberIn(ambient, 'degC')), table.base);
  if (factor === undefined) return notFound('no ampacity is left at this ambient', 'ambient');
  return found(
    derive('ambient correction', factor, '', {
      symbol: 'ka',
      formula: '√((Tc − Ta)/(Tc − T0))',
      inputs: [ambient, insulation],
      source: { standard: 'equation of the ambient tables', provenance: 'own derivation' },
    }),
  );
}

/** Ampacity of one size with everything that led to it. */
export function ampacityOf(size: Derivation, given: AmpacityArguments): Found<Derivation> {
  const settled = settle(size, given);
  if (!settled.ok) return settled;
  const uncorrected = uncorrectedOf(size, settled.value);
  if (!uncorrected.ok) return uncorrected;
  const corrections = correctionsOf(given, settled.value);
  if (!corrections.ok) return corrections;
  const terminal = terminalLimitOf(size, settled.value, given.terminals);
  if (!terminal.ok) return terminal;
  const columnLimit = columnLimitOf(size, settled.value);
  if (!columnLimit.ok) return columnLimit;
  const column = columnLimit.value && { ...columnLimit.value.read, name: 'limit of its type', symbol: 'Ic' };
  const { ambient, bundle } = corrections.value;
  const { notes } = terminal.value;
  const limit = terminal.value.limit?.read;
  const factors = numberIn(ambient, '') * numberIn(bundle, '');
  const afterFactors = derive(
    'ampacity after correction and adjustment',
    numberIn(uncorrected.value, 'A') * factors,
    'A',
    { formula: 'I0 · ka · kb', inputs: [uncorrected.value, ambient, bundle] },
  );
  const corrected = withinColumn(afterFactors, column);
  const correctedValue = numberIn(corrected, 'A');
  const limited = limit !== undefined && numberIn(limit, 'A') < correctedValue;
  const governing: Reason =
    limited && terminal.value.limit
      ? { kind: 'terminalLimit', cell: terminal.value.limit.cell, conductor: correctedValue }
      : columnLimit.value && corrected !== afterFactors
        ? { kind: 'columnLimit', cell: columnLimit.value.cell }
        : { kind: 'ampacity', by: factors === 1 ? 'table' : 'corrections' };
  const bounds = [...(column ? ['Ic'] : []), ...(limit ? ['It'] : [])];
  return found(
    derive('ampacity', limited && limit ? numberIn(limit, 'A') : correctedValue, 'A', {
      symbol: 'Iz',
      formula: bounds.length > 0 ? `min(I0 · ka · kb, ${bounds.join(', ')})` : 'I0 · ka · kb',
      inputs: [uncorrected.value, ambient, bundle, ...(column ? [column] : []), ...(limit ? [limit] : [])],
      ...(uncorrected.value.source ? { source: uncorrected.value.source } : {}),
      governing: [governing],
      notes: [...notes, ...practiceNotes(settled.value)],
      parts: {
        // What a load is held against before correction is the ampacity that the type has at the end.
        uncorrected: withinColumn(uncorrected.value, column),
        ambientFactor: ambient,
        bundleFactor: bundle,
        corrected,
        ...(limit ? { terminalLimit: limit } : {}),
      },
    }),
  );
}

function practiceNotes({ basis, cord, cordTables }: Settled): readonly string[] {
  if (basis === 'craft' && cord)
    return [
      `craft practice has no cord table of its own; cords ashore are read (${cordTables === 'nec' ? 'NEC 400.5, as ABYC E-11 does, from memory' : 'BS 7671 4F, common practice, no source'})`,
    ];
  if (basis === 'craft') return ['table for circuits of boats and vehicles, single conductors in free air'];
  if (basis === 'nec' && cord) return ['cords do not replace fixed wiring (NEC 400.12)'];
  return [];
}

export const ampacity = defineFunction({
  name: 'ampacity',
  group: GROUP,
  summary: 'Current a conductor may carry continuously after correction, adjustment and the limit of its terminals.',
  parameters: { size: sizeParameter, ...ampacityParameters },
  result: 'ampacity, A; .uncorrected .ambientFactor .bundleFactor .corrected .terminalLimit',
  worst: 'low',
  validity:
    'Sizes of the table read: nec Table 310.16 (18 AWG to 2000 kcmil, to 2000 V) and Tables 400.5(A)(1), (2) for cords; iec Tables B.52.2 to B.52.5, B.52.10 to B.52.13 (aluminium from memory) and BS 7671 4F for rubber cables; craft 33 CFR 183.425 Table 5 (18 to 4/0 AWG copper, below 50 V), ISO 13297 for metric sizes (0.75 to 150 mm², from memory), cords as ashore. An insulation or terminal temperature between two columns reads the lower one. A metric size under nec, and a gauge size under iec, is read in the row of the next smaller listed size. A type that states `ampacities` of its own is read there first; one that states `ampacityColumn` is held to that column at the end. Craft between 30 and 50 °C outside engine spaces: by the equation. Not for parallel conductors: multiply, and mind NEC 310.10(G).',
  sources: [
    'NEC Tables 310.16, 310.15(B)(1), 310.15(C)(1), 400.5(A)(1) to (3), 110.14(C)',
    'IEC 60364-5-52:2009 Annex B (mostly from memory, see the row read)',
    'BS 7671:2008 Tables 4F1A, 4F2A',
    '33 CFR 183.425 Table 5',
    'ISO 13297:2020 Annex A (from memory)',
  ],
  examples: [
    {
      call: 'ampacity(size: 4 AWG, insulation: 75 degC)',
      gives: '85 A',
      source: 'NEC Table 310.16, 4 AWG copper, 75 °C',
    },
    {
      call: 'ampacity(size: 12 AWG, conductors: 9)',
      gives: '21 A',
      source: 'nine 12 AWG THHN in one raceway, trade magazine quiz on NEC article 310',
    },
    {
      call: 'ampacity(size: 12 AWG, type: NM-B, conductors: 8)',
      gives: '20 A',
      source: 'four 12/2 NM-B bundled: 30 A · 0.7 = 21 A, held to the 60 °C column; home-repair forum, NEC 334.80',
    },
    {
      call: 'ampacity(size: 12 AWG, type: NM-B, conductors: 10)',
      gives: '15 A',
      source: 'five 12/2 NM-B bundled: 30 A · 0.5; home-repair forum, NEC 334.80',
    },
    {
      call: 'ampacity(size: 10 mm2, insulation: 90 degC, ambient: 45 degC, method: C, basis: iec)',
      gives: '69.6 A',
      source: 'IEC 60364-5-52 Tables B.52.3 and B.52.14, 80 A · 0.87 by hand',
    },
    {
      call: 'ampacity(size: 2/0 AWG, insulation: 105 degC, basis: craft)',
      gives: '330 A',
      source: '33 CFR 183.425 Table 5, 2/0 AWG, 105 °C',
    },
  ],
  compute: ({ size, ...given }): Result => asResult(ampacityOf(size, given)),
});
