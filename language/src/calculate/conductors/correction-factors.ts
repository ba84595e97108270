import { type Derivation, type Result, derive, fromTable, numberIn } from '../../derivation/index.js';
import { formatNumber } from '../../quantity/index.js';
import {
  type AmbientTable,
  type Basis,
  type CountTable,
  IEC_METHODS,
  type IecMethod,
  bandAt,
  columnAtOrBelow,
  craftBundling,
  craftEngineSpace,
  iecAmbientAir,
  iecAmbientGround,
  iecGrouping,
  isInGround,
  necAdjustment,
  necAmbient,
  sourceOf,
  tableName,
} from '../../reference/index.js';
import { defineFunction, may, mayWord, needs } from '../registry.js';
import { type Found, GROUP, asResult, basisParameter, found, notFound, wholeNumber } from './common.js';

export const LAYOUTS = ['bunched', 'wall', 'ceiling', 'tray', 'ladder'] as const;
export type Layout = (typeof LAYOUTS)[number];

export const ambientBounds = { minimum: -60, maximum: 200 } as const;
export const insulationBounds = { minimum: 40, maximum: 250 } as const;
export const methodParameter = mayWord(IEC_METHODS, 'reference method of installation of IEC 60364-5-52 (iec)');
export const layoutParameter = mayWord(
  LAYOUTS,
  'how grouped circuits lie (iec): bunched, or one layer on a wall, under a ceiling, on a perforated tray, on a ladder; bunched when not said',
);
export const systemVoltageParameter = may(
  'voltage',
  'V',
  'voltage of the circuit; below 50 V craft practice sets no limit on bundling',
  { minimum: 0 },
);

/** The ambient table of a practice; that of gauge sizes for craft. */
export function ambientTable(basis: Basis, method?: IecMethod): AmbientTable {
  if (basis === 'nec') return necAmbient;
  if (basis === 'craft') return craftEngineSpace;
  return method !== undefined && isInGround(method) ? iecAmbientGround : iecAmbientAir;
}

/** √((Tc − Ta)/(Tc − T0)), the equation that codes allow in place of the bands; undefined where nothing is left. */
export function ambientEquation(insulation: number, ambient: number, base: number): number | undefined {
  return ambient < insulation ? Math.sqrt((insulation - ambient) / (insulation - base)) : undefined;
}

/** Correction for the ambient temperature: the factor of the table's band, the equation beside it as a note. */
export function ambientFactorOf(ambient: Derivation, insulation: Derivation, table: AmbientTable): Found<Derivation> {
  const rated = numberIn(insulation, 'degC');
  const around = numberIn(ambient, 'degC');
  const column = columnAtOrBelow(table.columns, rated);
  if (column === undefined)
    return notFound(`${tableName(table)} has no column for insulation below ${table.columns[0]} degC`, 'insulation');
  const row = bandAt(table.rows, around);
  const factor = row?.[String(column)];
  if (row === undefined || typeof factor !== 'number')
    return notFound(
      `${tableName(table)} leaves no ampacity to ${column} degC insulation at an ambient of ${formatNumber(around)} degC`,
      'ambient',
    );
  // At the temperature a table is made for the factor is 1 by definition, however well the other rows are known.
  const provenance =
    row.upTo === table.base && factor === 1
      ? 'own derivation'
      : (row.provenance ?? table.columnProvenance?.[String(column)]);
  const equation = ambientEquation(column, around, table.base);
  const isBetween = table.isTwoPlaces && around > table.base + 1e-6 && around < row.upTo - 1e-6;
  if (isBetween && equation !== undefined)
    return found(
      derive('ambient correction', Math.max(factor, equation), '', {
        symbol: 'ka',
        formula: `√((Tc − Ta)/(Tc − ${table.base} degC))`,
        inputs: [ambient, insulation],
        source: { standard: 'equation of the ambient tables', provenance: 'own derivation' },
        notes: [
          `${tableName(table)} knows two places, ${table.base} degC outside and ${row.upTo} degC inside engine spaces; between them the equation is taken`,
        ],
      }),
    );
  const notes = [
    `${column} degC column, band up to ${row.upTo} degC`,
    ...(equation === undefined
      ? []
      : [
          `the equation √((Tc − Ta)/(Tc − ${table.base} degC)) that codes allow instead gives ${formatNumber(equation)}`,
        ]),
    ...(column < rated - 1e-6
      ? [`the table has no column for ${formatNumber(rated)} degC; the next lower one is read`]
      : []),
  ];
  return found(
    fromTable(
      'ambient correction',
      factor,
      '',
      { ...sourceOf(table), ...(provenance ? { provenance } : {}) },
      {
        symbol: 'ka',
        inputs: [ambient, insulation],
        notes,
      },
    ),
  );
}

/** The factor of a table by number of conductors. */
export function countFactor(table: CountTable, conductors: Derivation): Found<Derivation> {
  const count = wholeNumber(conductors);
  if (!count.ok) return count;
  const row = table.rows.find(
    (candidate) => count.value >= candidate.from && count.value <= (candidate.to ?? Infinity),
  );
  if (!row) return notFound(`${tableName(table)} has no row for ${count.value} conductors`, conductors.name);
  const span =
    row.to === undefined ? `${row.from} and more` : row.from === row.to ? `${row.from}` : `${row.from} to ${row.to}`;
  return found(
    fromTable('adjustment for bundling', row.factor, '', sourceOf(table, row), {
      symbol: 'kb',
      inputs: [conductors],
      notes: [`row for ${span} conductors`],
    }),
  );
}

function groupingFactor(circuits: Derivation, method: IecMethod | undefined, layout: Layout): Found<Derivation> {
  const count = wholeNumber(circuits);
  if (!count.ok) return count;
  const row = iecGrouping.rows.find((candidate) => candidate.layout === layout);
  if (!row) return notFound(`${tableName(iecGrouping)} has no layout ${layout}`, 'layout');
  if (method !== undefined && !row.methods.includes(method)) {
    if (count.value === 1)
      return found(
        derive('adjustment for grouping', 1, '', { symbol: 'kb', inputs: [circuits], notes: ['one circuit'] }),
      );
    return notFound(
      `${tableName(iecGrouping)} gives no factor for method ${method} ${layout}; it covers ${row.methods.join(', ')}`,
      'method',
    );
  }
  const index = iecGrouping.counts.findIndex((listed) => listed >= count.value);
  const factor = row.factors[index];
  if (factor === undefined)
    return notFound(`${tableName(iecGrouping)} ends at ${iecGrouping.counts.at(-1)} circuits`, circuits.name);
  const listed = iecGrouping.counts[index];
  return found(
    fromTable('adjustment for grouping', factor, '', sourceOf(iecGrouping, row), {
      symbol: 'kb',
      inputs: [circuits],
      notes: [`${row.title}, column for ${listed} ${listed === 1 ? 'circuit' : 'circuits'}`],
    }),
  );
}

/** Adjustment for conductors (nec, craft) or circuits (iec) that lie together. */
export function bundleFactorOf(question: {
  readonly count: Derivation;
  readonly basis: Basis;
  readonly method?: IecMethod | undefined;
  readonly layout?: Layout | undefined;
  readonly voltage?: Derivation | undefined;
  /** Whose bundles count for craft; those of gauge sizes when not said. */
  readonly craft?: CountTable;
}): Found<Derivation> {
  const { count, basis, method, layout = 'bunched', voltage, craft = craftBundling } = question;
  if (basis === 'nec') return countFactor(necAdjustment, count);
  if (basis === 'iec') return groupingFactor(count, method, layout);
  const limit = craft.fromVoltage ?? 0;
  if (voltage && numberIn(voltage, 'V') < limit) {
    return found(
      fromTable('adjustment for bundling', 1, '', sourceOf(craft), {
        symbol: 'kb',
        inputs: [count, voltage],
        notes: [`below ${limit} V the guideline sets no limit on bundling; the voltage drop governs`],
      }),
    );
  }
  return countFactor(craft, count);
}

export const ambientFactor = defineFunction({
  name: 'ambientFactor',
  group: GROUP,
  summary: 'Correction of ampacity for the temperature around a conductor, from the table’s bands.',
  parameters: {
    ambient: needs(
      'temperature',
      'degC',
      'temperature around the conductor (of the ground for methods D1, D2)',
      ambientBounds,
    ),
    insulation: needs('temperature', 'degC', 'temperature rating of the insulation', insulationBounds),
    method: methodParameter,
    basis: basisParameter,
  },
  result: 'factor',
  worst: 'low',
  validity:
    'Bands of the table: nec 60, 75, 90 °C insulation from 30 °C ambient; iec 70, 90 °C from 30 °C air or 20 °C ground; craft 30 °C outside and 50 °C inside engine spaces. An insulation between two columns reads the lower one. Refused where the table leaves no ampacity.',
  sources: [
    'NEC Table 310.15(B)(1)',
    'IEC 60364-5-52 Tables B.52.14, B.52.15 (from memory)',
    '33 CFR 183.425 Table 5 note (105 °C read in a public chart, others from memory)',
  ],
  examples: [
    {
      call: 'ambientFactor(ambient: 120 degF, insulation: 90 degC)',
      gives: '0.82',
      source: 'NEC Table 310.15(B)(1), 114 to 122 °F',
    },
    {
      call: 'ambientFactor(ambient: 40 degC, insulation: 70 degC, basis: iec)',
      gives: '0.87',
      source: 'IEC 60364-5-52 Table B.52.14, PVC at 40 °C',
    },
    {
      call: 'ambientFactor(ambient: 50 degC, insulation: 105 degC, basis: craft)',
      gives: '0.85',
      source: '33 CFR 183.425 Table 5 note, engine space, 105 °C',
    },
  ],
  compute: ({ ambient, insulation, method, basis }): Result =>
    asResult(ambientFactorOf(ambient, insulation, ambientTable(basis, method))),
});

export const bundleFactor = defineFunction({
  name: 'bundleFactor',
  group: GROUP,
  summary: 'Adjustment of ampacity for conductors (nec, craft) or circuits (iec) that carry current together.',
  parameters: {
    conductors: needs('ratio', '', 'conductors that carry current together; circuits grouped together for iec', {
      minimum: 1,
      maximum: 1000,
    }),
    method: methodParameter,
    layout: layoutParameter,
    voltage: systemVoltageParameter,
    basis: basisParameter,
  },
  result: 'factor',
  worst: 'low',
  validity:
    'nec: from 1 conductor, up to 3 need no adjustment; iec: up to 20 circuits, methods A1 to F, a count between two columns reads the higher one; craft: from 50 V, below it no limit on bundling (give the voltage).',
  sources: [
    'NEC Table 310.15(C)(1)',
    'IEC 60364-5-52 Table B.52.17 (as BS 7671 Table 4C1)',
    'ABYC E-11 and the US Coast Guard guideline, from quotations',
  ],
  examples: [
    { call: 'bundleFactor(conductors: 9)', gives: '0.7', source: 'NEC Table 310.15(C)(1), 7 to 9 conductors' },
    {
      call: 'bundleFactor(conductors: 4, basis: iec)',
      gives: '0.65',
      source: 'IEC 60364-5-52 Table B.52.17, bunched, 4 circuits',
    },
    {
      call: 'bundleFactor(conductors: 6, voltage: 120 V, basis: craft)',
      gives: '0.6',
      source: 'US Coast Guard guideline as quoted in a marine catalogue, 4 to 6 conductors',
    },
  ],
  compute: ({ conductors, method, layout, voltage, basis }): Result =>
    asResult(bundleFactorOf({ count: conductors, basis, method, layout, voltage })),
});
