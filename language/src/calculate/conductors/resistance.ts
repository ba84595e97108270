import {
  type Derivation,
  type Result,
  derive,
  deriveQuantity,
  fromTable,
  numberIn,
  withFacts,
} from '../../derivation/index.js';
import { quantity, sizeText } from '../../quantity/index.js';
import {
  type Basis,
  type Metal,
  type StrandResistance,
  conductorMetals,
  iecResistance,
  necProperties,
  rowAtSize,
  sourceOf,
  tableName,
} from '../../reference/index.js';
import { type PartArgument, defaults, defineFunction } from '../registry.js';
import {
  type Chosen,
  type Found,
  GROUP,
  type Strand,
  areaIn,
  asResult,
  basisParameter,
  found,
  maybeMetalParameter,
  maybeStrandParameter,
  metalRow,
  notFound,
  ownTable,
  ownValue,
  sizeParameter,
  settleConductor,
  temperatureParameter,
  typeParameter,
  named,
} from './common.js';

const METRES_PER_THOUSAND_FEET = 304.8;

export interface ResistanceQuestion {
  readonly size: Derivation;
  readonly metal: Chosen<Metal>;
  readonly temperature: Derivation;
  readonly strand: Chosen<Strand>;
  readonly basis: Basis;
  /** The conductor or cord type, which may state resistances of its own. */
  readonly part?: PartArgument | undefined;
}

interface Reference {
  /** Resistance per length at the reference temperature. */
  readonly perLength: Derivation;
  readonly referenceTemperature: Derivation;
  readonly coefficient: Derivation;
}

/**
 * The cell of a metal and stranding. A type that is solid in its small sizes is made stranded in the sizes the table lists no
 * solid conductor for; a stranding that was asked for is not replaced.
 */
function cellOf(
  row: Partial<Record<Strand, StrandResistance>> & { readonly size: string },
  table: string,
  metal: Metal,
  strand: Strand,
  asked: boolean,
): Found<{ value: number; form: Strand }> {
  const form = !row[strand] && strand === 'solid' && !asked ? 'stranded' : strand;
  const forms = row[form];
  if (!forms) return notFound(`${table} lists no ${form} conductor of ${row.size}`, 'strand');
  const value = forms[metal];
  return value === undefined
    ? notFound(`${table} lists no ${form} ${metal} conductor of ${row.size}`, 'metal')
    : found({ value, form });
}

function necReference(question: ResistanceQuestion): Found<Reference> {
  const { size, metal, strand } = question;
  const lookup = rowAtSize(necProperties, areaIn(size));
  if (!lookup.ok)
    return rowAtSize(iecResistance, areaIn(size)).ok ? iecReference(question) : notFound(lookup.reason, 'size');
  const source = sourceOf(necProperties, lookup.row);
  const listedStrand = strand.word === 'flexible' ? 'stranded' : strand.word;
  const cell = cellOf(lookup.row, tableName(necProperties), metal.word, listedStrand, strand.given);
  if (!cell.ok) return cell;
  const listed = fromTable(
    'resistance per length',
    (1000 * cell.value.value) / METRES_PER_THOUSAND_FEET,
    'mohm/m',
    source,
    {
      symbol: 'r1',
      inputs: [size, metal.derivation, strand.derivation],
      notes: [`${lookup.row.size} ${cell.value.form}: ${cell.value.value} ohm per 1000 ft, uncoated`],
    },
  );
  const { temperature, temperatureCoefficient, fineStrandedFactor } = necProperties;
  const referenceTemperature = derive('temperature of the table', temperature, 'degC', { origin: 'table', source });
  const coefficient = derive('temperature coefficient', 100 * temperatureCoefficient[metal.word], '%/K', {
    symbol: 'α',
    origin: 'table',
    source: { ...source, table: `${necProperties.table} note 2`, provenance: 'from memory' },
  });
  if (strand.word !== 'flexible') return found({ perLength: listed, referenceTemperature, coefficient });
  const factor = derive('fine-stranded factor', fineStrandedFactor, '', {
    symbol: 'kf',
    origin: 'table',
    source: { standard: 'common practice', provenance: 'from memory' },
    notes: ['fine-stranded copper is 2 to 4 % above class B for the same area; the upper end is taken'],
  });
  const perLength = derive('resistance per length', numberIn(listed, 'mohm/m') * fineStrandedFactor, 'mohm/m', {
    symbol: 'r1',
    formula: 'r · kf',
    inputs: [{ ...listed, symbol: 'r' }, factor],
  });
  return found({ perLength, referenceTemperature, coefficient });
}

function metalCoefficient(metal: Metal): Pick<Reference, 'coefficient' | 'referenceTemperature'> {
  const row = metalRow(metal);
  const source = sourceOf(conductorMetals, row);
  return {
    referenceTemperature: derive('reference temperature', conductorMetals.temperature, 'degC', {
      origin: 'table',
      source,
    }),
    coefficient: derive('temperature coefficient', 100 * row.temperatureCoefficient, '%/K', {
      symbol: 'α',
      origin: 'table',
      source: sourceOf(conductorMetals),
    }),
  };
}

/** A conductor has the resistance of the standard it is made to, whatever the practice: metric sizes IEC 60228, gauges Table 8. */
function iecReference(question: ResistanceQuestion): Found<Reference> {
  const { size, metal, strand } = question;
  const lookup = rowAtSize(iecResistance, areaIn(size));
  if (!lookup.ok)
    return rowAtSize(necProperties, areaIn(size)).ok ? necReference(question) : notFound(lookup.reason, 'size');
  const cell = cellOf(lookup.row, tableName(iecResistance), metal.word, strand.word, strand.given);
  if (!cell.ok) return cell;
  const perLength = fromTable(
    'resistance per length',
    cell.value.value,
    'mohm/m',
    sourceOf(iecResistance, lookup.row),
    {
      symbol: 'r1',
      inputs: [size, metal.derivation, strand.derivation],
      notes: [`${lookup.row.size} ${cell.value.form}: at most ${cell.value.value} ohm per km, plain`],
    },
  );
  return found({ perLength, ...metalCoefficient(metal.word) });
}

/** Small-craft practice has no resistance table: the resistivity of the metal and the area of the size stand in its place. */
function craftReference({ size, metal }: ResistanceQuestion): Found<Reference> {
  const row = metalRow(metal.word);
  const resistivity = withFacts(
    deriveQuantity('resistivity of the metal', quantity(row.resistivity, 'ohm·mm2/m'), {
      symbol: 'ρ20',
      origin: 'table',
      source: sourceOf(conductorMetals, row),
    }),
    { unit: 'ohm·m' },
  );
  const perLength = derive('resistance per length', (1000 * row.resistivity) / areaIn(size), 'mohm/m', {
    symbol: 'r1',
    formula: 'ρ20 / A',
    inputs: [resistivity, metal.derivation, named(size, 'A')],
    notes: ['cable made to a vehicle gauge has 6 to 12 % less metal than the wire gauge of the same number'],
  });
  return found({ perLength, ...metalCoefficient(metal.word) });
}

/** The resistance at 20 °C that the type states in a table of its own; it goes before the tables stored here. */
function ownReference({ size, metal, part }: ResistanceQuestion): Found<Reference> | undefined {
  const value = ownValue(part, 'resistances', areaIn(size));
  if (!value || !part) return undefined;
  const perLength = deriveQuantity('resistance per length', value, {
    symbol: 'r1',
    origin: 'table',
    source: ownTable(part, 'resistances'),
    inputs: [size],
    notes: [`own table of the design, ${sizeText(areaIn(size))}, taken as for 20 degC`],
  });
  return found({ perLength, ...metalCoefficient(metal.word) });
}

const REFERENCES = { nec: necReference, iec: iecReference, craft: craftReference } as const;

/** Resistance of one conductor per length at its temperature: r(T) = r1 · (1 + α · (T − T1)). */
export function resistancePerLength(question: ResistanceQuestion): Found<Derivation> {
  const reference = ownReference(question) ?? REFERENCES[question.basis](question);
  if (!reference.ok) return reference;
  const { perLength, referenceTemperature, coefficient } = reference.value;
  const rise = numberIn(question.temperature, 'degC') - numberIn(referenceTemperature, 'degC');
  const value = numberIn(perLength, 'mohm/m') * (1 + (numberIn(coefficient, '%/K') / 100) * rise);
  return found(
    derive('resistance per length at temperature', value, 'mohm/m', {
      symbol: 'r(T)',
      formula: 'r1 · (1 + α · (T − T1))',
      inputs: [perLength, coefficient, named(question.temperature, 'T'), named(referenceTemperature, 'T1')],
    }),
  );
}

export const resistance = defineFunction({
  name: 'resistance',
  group: GROUP,
  summary: 'Direct-current resistance of one conductor, one way, at its temperature.',
  parameters: {
    size: sizeParameter,
    metal: maybeMetalParameter,
    length: defaults('length', 'm', 1, 'length one way', { minimum: 0, defaultSource: 'per metre' }),
    temperature: temperatureParameter,
    strand: maybeStrandParameter,
    type: typeParameter,
    basis: basisParameter,
  },
  result: 'resistance, ohm',
  worst: 'high',
  validity:
    'Sizes of NEC Chapter 9 Table 8 or IEC 60228 (nec, iec: gauges in the first, metric sizes in the second, whatever the practice), any size from the resistivity of the metal (craft); conductor at −60 to 250 °C, linear in temperature; uncoated copper. A type that states `resistances` of its own is read there first. Not for alternating current above 4/0 AWG, where skin effect adds.',
  sources: [
    'NEC Chapter 9 Table 8',
    'IEC 60228:2004 Tables 1 to 4',
    'IEC 60028 (resistivity of copper)',
    'fine-stranded conductors under nec: 4 % above class B, from memory',
  ],
  examples: [
    {
      call: 'resistance(size: 4 AWG, length: 1000 ft)',
      gives: '0.308 ohm',
      source: 'NEC Chapter 9 Table 8, 4 AWG, uncoated copper',
    },
    {
      call: 'resistance(size: 16 mm2, length: 1 km, temperature: 20 degC, strand: flexible, basis: iec)',
      gives: '1.21 ohm',
      source: 'IEC 60228, class 5, 16 mm², plain copper',
    },
    {
      call: 'resistance(size: 12 AWG, length: 1000 ft, strand: solid)',
      gives: '1.93 ohm',
      source: 'NEC Chapter 9 Table 8, 12 AWG solid, uncoated copper',
    },
  ],
  compute: ({ size, length, temperature, basis, ...given }): Result => {
    const conductor = settleConductor(given);
    if (!conductor.ok) return conductor.result;
    const perLength = resistancePerLength({ size, temperature, basis, part: given.type, ...conductor.value });
    if (!perLength.ok) return perLength.result;
    const value = numberIn(perLength.value, 'ohm/m') * numberIn(length, 'm');
    return asResult(
      found(
        derive('resistance of one conductor one way', value, 'ohm', {
          symbol: 'R',
          formula: 'r(T) · L',
          inputs: [perLength.value, named(length, 'L')],
        }),
      ),
    );
  },
});
