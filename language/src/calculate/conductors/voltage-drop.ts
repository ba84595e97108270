import { type Derivation, type Result, derive, deriveFact, fromTable, numberIn } from '../../derivation/index.js';
import { sameSize, sizeText } from '../../quantity/index.js';
import {
  type Basis,
  CONDUITS,
  type Conduit,
  type Metal,
  areaOfSize,
  iecVoltageDrop,
  necImpedance,
  sourceOf,
  tableName,
} from '../../reference/index.js';
import { type PartArgument, defaults, defineFunction, may, mayWord } from '../registry.js';
import {
  type Chosen,
  type Found,
  GROUP,
  type Strand,
  type SystemWord,
  areaIn,
  asResult,
  basisParameter,
  currentParameter,
  found,
  lengthParameter,
  maybeMetalParameter,
  maybeStrandParameter,
  notFound,
  rowForSize,
  sizeParameter,
  settleConductor,
  systemParameter,
  temperatureParameter,
  typeParameter,
  wordInput,
  named,
} from './common.js';
import { resistancePerLength } from './resistance.js';

const METRES_PER_THOUSAND_FEET = 304.8;
/**
 * Above this size NEC Chapter 9 Table 9 exceeds Table 8 by more than rounding: skin effect, and what the conduit takes. Own comparison of
 * the two tables.
 */
const LARGEST_WITHOUT_SKIN_EFFECT: Readonly<Record<Conduit, string>> = {
  pvc: '4/0 AWG',
  aluminium: '1 AWG',
  steel: '1 AWG',
};

/** What conductors lie in, as far as their impedance depends on it; a cable or cord is read as PVC conduit. */
export const RACEWAYS = ['none', ...CONDUITS] as const;
export type Raceway = (typeof RACEWAYS)[number];

export const powerFactorParameter = defaults('ratio', '', 1, 'power factor of the load, lagging (single, three)', {
  minimum: 0,
  maximum: 1,
  aboveMinimum: true,
});
export const reactanceParameter = may(
  'resistancePerLength',
  'mohm/m',
  'reactance of one conductor per length (single, three)',
  { minimum: 0 },
);

export const racewayParameter = mayWord(
  RACEWAYS,
  'what the conductors lie in: conduit of pvc, aluminium or steel, or none (a cable or cord); pvc when not said (nec; single, three)',
);

export interface DropQuestion {
  readonly current: Derivation;
  readonly length: Derivation;
  readonly size: Derivation;
  readonly system: SystemWord;
  readonly powerFactor: Derivation;
  readonly metal: Chosen<Metal>;
  readonly strand: Chosen<Strand>;
  readonly temperature: Derivation;
  readonly reactance: Derivation | undefined;
  readonly raceway?: Raceway | undefined;
  readonly basis: Basis;
  /** The conductor or cord type, which may state resistances of its own. */
  readonly part?: PartArgument | undefined;
}

/** Conductors in the loop: out and back, or √3 between the lines of three phases. */
const LOOP: Readonly<Record<SystemWord, { factor: number; text: string }>> = {
  dc: { factor: 2, text: '2' },
  single: { factor: 2, text: '2' },
  three: { factor: Math.sqrt(3), text: '√3' },
};

function impedanceRow(size: Derivation) {
  const lookup = rowForSize(necImpedance, areaIn(size));
  return lookup.ok ? found(lookup.value.row) : lookup;
}

/** Whose column is read: conductors in no raceway have no column of their own. */
const conduitOf = ({ raceway = 'pvc' }: DropQuestion): Conduit => (raceway === 'none' ? 'pvc' : raceway);

const CONDUIT_TEXT: Readonly<Record<Conduit, string>> = {
  pvc: 'PVC conduit',
  aluminium: 'aluminium conduit',
  steel: 'steel conduit',
};

const racewayInput = ({ raceway }: DropQuestion): Derivation =>
  raceway
    ? wordInput('raceway', raceway)
    : deriveFact('raceway', 'pvc', { fact: 'raceway', origin: 'default', notes: ['PVC conduit taken; not stated'] });

/** The resistance that an alternating current meets: above the sizes without skin effect the larger one of Table 9 where it is read. */
function effectiveResistance(question: DropQuestion): Found<Derivation> {
  const direct = resistancePerLength(question);
  const area = areaIn(question.size);
  const conduit = conduitOf(question);
  const limit = areaOfSize(LARGEST_WITHOUT_SKIN_EFFECT[conduit]);
  if (!direct.ok || question.system === 'dc' || question.basis !== 'nec' || area < limit || sameSize(area, limit))
    return direct;
  const row = impedanceRow(question.size);
  if (!row.ok) return row;
  const listed = row.value[conduit][question.metal.word];
  if (listed === undefined)
    return notFound(`${tableName(necImpedance)} has no ${question.metal.word} of ${row.value.size}`, 'metal');
  const alternating = fromTable(
    'alternating-current resistance per length',
    (1000 * listed) / METRES_PER_THOUSAND_FEET,
    'mohm/m',
    sourceOf(necImpedance, row.value),
    {
      symbol: 'r~',
      inputs: [question.size, racewayInput(question)],
      notes: [`${row.value.size}, ${CONDUIT_TEXT[conduit]}: ${listed} ohm per 1000 ft`],
    },
  );
  return found(numberIn(alternating, 'mohm/m') > numberIn(direct.value, 'mohm/m') ? alternating : direct.value);
}

function reactanceOf(question: DropQuestion): Found<Derivation> {
  const { size, reactance, basis } = question;
  if (reactance) return found(named(reactance, 'x'));
  if (basis === 'nec') {
    const row = impedanceRow(size);
    if (!row.ok) return row;
    const conduit = conduitOf(question);
    const listed = row.value[conduit].reactance;
    return found(
      fromTable(
        'reactance per length',
        (1000 * listed) / METRES_PER_THOUSAND_FEET,
        'mohm/m',
        sourceOf(necImpedance, row.value),
        {
          symbol: 'x',
          inputs: [size, racewayInput(question)],
          notes: [`${row.value.size}, ${CONDUIT_TEXT[conduit]}: ${listed} ohm per 1000 ft at 60 Hz`],
        },
      ),
    );
  }
  return found(
    fromTable('reactance per length', iecVoltageDrop.reactance, 'mohm/m', sourceOf(iecVoltageDrop), {
      symbol: 'x',
      notes: ['where nothing better is known'],
    }),
  );
}

/** ΔU = b · I · L · (r · cos φ + x · sin φ), b = 2 for two conductors and √3 between lines of three phases. */
export function dropOf(question: DropQuestion): Found<Derivation> {
  const { current, length, system, powerFactor } = question;
  const cosine = numberIn(powerFactor, '');
  if (system === 'dc' && (cosine < 1 || question.reactance))
    return notFound('power factor and reactance belong to system single or three', 'system');
  const resistance = effectiveResistance(question);
  if (!resistance.ok) return resistance;
  const loop = LOOP[system];
  const sine = Math.sqrt(Math.max(0, 1 - cosine ** 2));
  const reactance = sine > 0 ? reactanceOf(question) : undefined;
  if (reactance && !reactance.ok) return reactance;
  const perLength =
    numberIn(resistance.value, 'ohm/m') * cosine + (reactance ? numberIn(reactance.value, 'ohm/m') * sine : 0);
  const value = loop.factor * numberIn(current, 'A') * numberIn(length, 'm') * perLength;
  const term = system === 'dc' ? 'r(T)' : reactance ? '(r(T) · cos φ + x · sin φ)' : 'r(T) · cos φ';
  return found(
    derive('voltage drop', value, 'V', {
      symbol: 'ΔU',
      formula: `${loop.text} · I · L · ${term}`,
      inputs: [
        named(current, 'I'),
        named(length, 'L'),
        resistance.value,
        ...(system === 'dc' ? [] : [named(powerFactor, 'cos φ')]),
        ...(reactance ? [reactance.value] : []),
        wordInput('system', system),
      ],
      notes: [
        system === 'three'
          ? `between lines, ${sizeText(areaIn(question.size))}`
          : `out and back in ${sizeText(areaIn(question.size))}`,
      ],
    }),
  );
}

export const voltageDrop = defineFunction({
  name: 'voltageDrop',
  group: GROUP,
  summary: 'Voltage lost in the conductors of a run, out and back, at the temperature of the conductor.',
  parameters: {
    current: currentParameter,
    length: lengthParameter,
    size: sizeParameter,
    voltage: may('voltage', 'V', 'nominal voltage, for the ratio', { minimum: 0, aboveMinimum: true }),
    system: systemParameter,
    powerFactor: powerFactorParameter,
    metal: maybeMetalParameter,
    strand: maybeStrandParameter,
    type: typeParameter,
    temperature: temperatureParameter,
    reactance: reactanceParameter,
    raceway: racewayParameter,
    basis: basisParameter,
  },
  result: 'voltage drop, V; .ratio of the nominal voltage where that is given',
  worst: 'high',
  validity:
    'Two conductors of one size (dc, single) or three lines (three, drop between lines), lagging power factor. Resistance as in `resistance`; under nec an alternating current above 4/0 AWG (in metal conduit above 1 AWG) reads the larger resistance of Chapter 9 Table 9. Reactance from Table 9 by `raceway` (nec) or 0.08 mohm/m (iec, craft) where none is given. Not for unlike or parallel conductors.',
  sources: ['NEC Chapter 9 Tables 8 and 9', 'IEC 60228:2004', 'IEC 60364-5-52 Annex G'],
  examples: [
    {
      call: 'voltageDrop(current: 50 A, length: 20 ft, size: 4 AWG, voltage: 24 V)',
      gives: '0.616 V',
      source: 'hand calculation: 2 · 50 A · 20 ft · 0.308 ohm per 1000 ft (NEC Chapter 9 Table 8)',
    },
    {
      call: 'voltageDrop(current: 4 A, length: 100 ft, size: 16 AWG, voltage: 24 V)',
      gives: '4.0 V',
      tolerance: 0.0125,
      source: 'electrician’s course lesson on voltage drop, two-wire 16 AWG; printed to 0.1 V (3.992 V)',
    },
    {
      call: 'voltageDrop(current: 20 A, length: 100 ft, size: 12 AWG, voltage: 120 V, system: single)',
      gives: '7.9 V',
      tolerance: 0.0064,
      source: 'licence-preparation lesson on voltage drop, 12 AWG copper; printed to 0.1 V',
    },
    {
      call: 'voltageDrop(current: 300 A, length: 250 ft, size: 500 kcmil, system: three, powerFactor: 0.85, raceway: steel)',
      gives: '6.48 V',
      tolerance: 0.0012,
      source:
        'NEC Chapter 9 Table 9, steel conduit: √3 · 300 A · 250 ft · (0.029 · 0.85 + 0.048 · 0.527) ohm per 1000 ft by hand; the table prints 0.050 for the impedance',
    },
  ],
  compute: ({ voltage, metal, strand, type, ...question }): Result => {
    const conductor = settleConductor({ metal, strand, type });
    if (!conductor.ok) return conductor.result;
    const drop = dropOf({ ...question, part: type, ...conductor.value });
    return asResult(drop.ok && voltage ? found(withRatio(drop.value, voltage)) : drop);
  },
});

/** The drop with its ratio of the nominal voltage as a part. */
export function withRatio(drop: Derivation, voltage: Derivation): Derivation {
  const ratio = derive('voltage drop of nominal', numberIn(drop, 'V') / numberIn(voltage, 'V'), '', {
    formula: 'ΔU / U',
    inputs: [drop, named(voltage, 'U')],
  });
  return { ...drop, parts: { ...drop.parts, ratio } };
}
