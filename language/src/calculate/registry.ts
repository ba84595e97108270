import {
  type RangeEnd,
  type Derivation,
  type Result,
  deriveFact,
  deriveQuantity,
  derive,
  refused,
} from '../derivation/index.js';
import {
  DIMENSIONS,
  DimensionMismatch,
  NotFinite,
  type DimensionName,
  type Quantity,
  atHigh,
  atLow,
  dimensionName,
  formatQuantity,
  isRange,
  quantity,
} from '../quantity/index.js';

/** A part given as an argument, such as the conductor type `THWN-2` or the plug `L14-30`: facts by property name. */
export interface PartArgument {
  readonly kind: 'part';
  readonly partKind: string;
  readonly name: string;
  readonly fact: (property: string) => Derivation | undefined;
  /** The rows of a table the part states, such as ampacities of its own by size. */
  readonly table?: (property: string) => readonly OwnRow[] | undefined;
}

/** One row of a table that a part of the design states. */
export interface OwnRow {
  readonly key: Quantity;
  readonly value: Quantity;
}

interface Common {
  readonly doc: string;
  readonly optional: boolean;
}

/** A parameter that must be a quantity. `minimum` and `maximum` are in `unit` and belong to the range of validity. */
export interface QuantityParameter extends Common {
  readonly type: 'quantity';
  readonly dimensions: readonly DimensionName[];
  readonly unit: string;
  readonly minimum?: number;
  readonly maximum?: number;
  /** The minimum itself is outside the range. */
  readonly aboveMinimum?: boolean;
  readonly default?: number;
  /** Where the default comes from, shown when it is used. */
  readonly defaultSource?: string;
}

/** A parameter that must be one of a few words. */
export interface WordParameter<W extends string = string> extends Common {
  readonly type: 'word';
  readonly words: readonly W[];
  readonly default?: W;
}

/** A parameter that takes `yes` or `no`. */
export interface FlagParameter extends Common {
  readonly type: 'flag';
  readonly default?: boolean;
}

/** A parameter that takes a part of one of the given kinds by name. */
export interface PartParameter extends Common {
  readonly type: 'part';
  readonly partKinds: readonly string[];
}

/**
 * A parameter that must be a text, such as an ISO 8601 date and time, or a quantity of `orDimension` in its place.
 * `compute` receives the derivation, so that it can be listed among the inputs.
 */
export interface TextParameter extends Common {
  readonly type: 'text';
  readonly orDimension?: DimensionName;
  readonly default?: string;
}

export type Parameter = QuantityParameter | WordParameter | FlagParameter | PartParameter | TextParameter;
export type Parameters = Readonly<Record<string, Parameter>>;

type Required<P> = P & { readonly optional: false };
type Given<P extends Parameter> = P extends QuantityParameter | TextParameter
  ? Derivation
  : P extends WordParameter<infer W>
    ? W
    : P extends FlagParameter
      ? boolean
      : PartArgument;

/** What `compute` receives: a derivation for each quantity or text, a word, a flag or a part; undefined only for optional parameters without a default. */
export type Arguments<P extends Parameters> = {
  readonly [K in keyof P]: P[K] extends { readonly optional: false } ? Given<P[K]> : Given<P[K]> | undefined;
};

type Bounds = Pick<QuantityParameter, 'minimum' | 'maximum' | 'aboveMinimum'>;
const dimensionList = (dimension: DimensionName | readonly DimensionName[]): readonly DimensionName[] =>
  typeof dimension === 'string' ? [dimension] : dimension;

/** A quantity that must be given. */
export const needs = (
  dimension: DimensionName | readonly DimensionName[],
  unit: string,
  doc: string,
  bounds: Bounds = {},
): Required<QuantityParameter> => ({
  type: 'quantity',
  dimensions: dimensionList(dimension),
  unit,
  doc,
  optional: false,
  ...bounds,
});

/** A quantity that may be left out and then has no value. */
export const may = (
  dimension: DimensionName | readonly DimensionName[],
  unit: string,
  doc: string,
  bounds: Bounds = {},
): QuantityParameter & { readonly optional: true } => ({
  ...needs(dimension, unit, doc, bounds),
  optional: true,
});

/** A quantity with a documented default, in `unit`. */
export const defaults = (
  dimension: DimensionName | readonly DimensionName[],
  unit: string,
  value: number,
  doc: string,
  bounds: Bounds & { defaultSource?: string } = {},
): Required<QuantityParameter> => ({
  ...needs(dimension, unit, doc, bounds),
  default: value,
  ...(bounds.defaultSource ? { defaultSource: bounds.defaultSource } : {}),
});

/** One of a few words that must be given. */
export const word = <W extends string>(words: readonly W[], doc: string): Required<WordParameter<W>> => ({
  type: 'word',
  words,
  doc,
  optional: false,
});
/** One of a few words, with a default. */
export const wordOr = <W extends string>(words: readonly W[], value: W, doc: string): Required<WordParameter<W>> => ({
  type: 'word',
  words,
  default: value,
  doc,
  optional: false,
});
/** One of a few words that may be left out. */
export const mayWord = <W extends string>(
  words: readonly W[],
  doc: string,
): WordParameter<W> & { readonly optional: true } => ({ type: 'word', words, doc, optional: true });
/** Yes or no, with a default. */
export const flag = (value: boolean, doc: string): Required<FlagParameter> => ({
  type: 'flag',
  default: value,
  doc,
  optional: false,
});
/** A part by name that may be left out. */
export const mayPart = (partKinds: readonly string[], doc: string): PartParameter & { readonly optional: true } => ({
  type: 'part',
  partKinds,
  doc,
  optional: true,
});
/** A part by name that must be given. */
export const needsPart = (partKinds: readonly string[], doc: string): Required<PartParameter> => ({
  type: 'part',
  partKinds,
  doc,
  optional: false,
});

/** A text that must be given; `orDimension` names a quantity that may stand in its place. */
export const needsText = (doc: string, orDimension?: DimensionName): Required<TextParameter> => ({
  type: 'text',
  doc,
  optional: false,
  ...(orDimension ? { orDimension } : {}),
});

/** A worked example: an expression of the language, what it must give, and where that answer stands. Every example is a test. */
export interface WorkedExample {
  readonly call: string;
  /** A quantity in the language, for example `0.616 V`. */
  readonly gives: string;
  /** Relative tolerance; 1e-3 unless said. */
  readonly tolerance?: number;
  readonly source: string;
}

/** One function of the language. */
export interface CalculationFunction<P extends Parameters = Parameters> {
  readonly name: string;
  readonly group: string;
  /** One sentence. */
  readonly summary: string;
  readonly parameters: P;
  /** What comes out, in words, with its unit. */
  readonly result: string;
  /** Which end of the result's range is the unfavourable one when arguments are ranges. */
  readonly worst: 'high' | 'low';
  readonly validity: string;
  readonly sources: readonly string[];
  readonly examples: readonly WorkedExample[];
  readonly compute: (given: Arguments<P>) => Result;
}

/** Declares a function. Keeps the parameter types for `compute`. */
export function defineFunction<const P extends Parameters>(definition: CalculationFunction<P>): CalculationFunction {
  return definition as unknown as CalculationFunction;
}

/** What a caller may hand over for one argument. */
export type GivenArgument = Derivation | PartArgument;

const isPart = (argument: GivenArgument): argument is PartArgument => 'kind' in argument && argument.kind === 'part';

/** More ranged arguments than this would need more than 1024 evaluations; the call is refused instead. */
const MOST_RANGED_ARGUMENTS = 10;

/**
 * Calls a function with named arguments: checks names, dimensions and ranges of validity, fills in defaults (each stated in the
 * derivation), evaluates at every corner of ranged arguments and reports the unfavourable one.
 */
export function callFunction(
  definition: CalculationFunction,
  given: Readonly<Record<string, GivenArgument | undefined>>,
): Result {
  for (const name of Object.keys(given)) {
    if (!Object.hasOwn(definition.parameters, name)) {
      return refused(
        `${definition.name} has no argument \`${name}\`; it has ${Object.keys(definition.parameters).join(', ')}`,
        name,
      );
    }
  }
  const prepared: Record<string, Derivation | PartArgument | string | boolean | undefined> = {};
  for (const [name, parameter] of Object.entries(definition.parameters)) {
    const result = prepare(definition.name, name, parameter, given[name]);
    if (result.kind === 'refused') return result;
    prepared[name] = result.value;
  }
  return atEveryCorner(definition, prepared);
}

type Prepared =
  | { kind: 'ready'; value: Derivation | PartArgument | string | boolean | undefined }
  | Extract<Result, { kind: 'refused' }>;
const ready = (value: Derivation | PartArgument | string | boolean | undefined): Prepared => ({ kind: 'ready', value });
const refuse = (reason: string, argument: string): Prepared => ({ kind: 'refused', reason, argument });

function prepare(
  functionName: string,
  name: string,
  parameter: Parameter,
  argument: GivenArgument | undefined,
): Prepared {
  if (argument === undefined) {
    if (parameter.type !== 'part' && parameter.default !== undefined) {
      if (parameter.type === 'text')
        return ready(deriveFact(name, parameter.default, { fact: name, origin: 'default' }));
      if (parameter.type !== 'quantity') return ready(parameter.default);
      const notes = [`${parameter.defaultSource ? `${parameter.defaultSource}; ` : ''}not stated`];
      return ready(derive(name, parameter.default, parameter.unit, { fact: name, origin: 'default', notes }));
    }
    return parameter.optional ? ready(undefined) : refuse(`${functionName} needs \`${name}\`: ${parameter.doc}`, name);
  }
  if (parameter.type === 'part') {
    if (isPart(argument) && parameter.partKinds.includes(argument.partKind)) return ready(argument);
    return refuse(`\`${name}\` of ${functionName} must be a ${parameter.partKinds.join(' or ')} by name`, name);
  }
  if (isPart(argument))
    return refuse(
      `\`${name}\` of ${functionName} must be a ${parameter.type === 'quantity' ? parameter.dimensions.join(' or ') : parameter.type}, not a part`,
      name,
    );
  const { value } = argument;
  if (parameter.type === 'word') {
    if (typeof value === 'string' && parameter.words.includes(value)) return ready(value);
    return refuse(`\`${name}\` of ${functionName} must be one of ${parameter.words.join(', ')}`, name);
  }
  if (parameter.type === 'text') return prepareText(functionName, name, parameter, argument);
  if (parameter.type === 'flag')
    return typeof value === 'boolean' ? ready(value) : refuse(`\`${name}\` of ${functionName} must be yes or no`, name);
  if (typeof value !== 'object')
    return refuse(`\`${name}\` of ${functionName} must be a quantity (${parameter.dimensions.join(' or ')})`, name);
  const dimensions = parameter.dimensions.map((dimension) => DIMENSIONS[dimension]);
  if (!dimensions.includes(value.dimension)) {
    return refuse(
      `\`${name}\` of ${functionName} must be ${parameter.dimensions.join(' or ')} (as in ${parameter.unit || 'a plain number'}); ${formatQuantity(value)} is ${dimensionName(value.dimension)}`,
      name,
    );
  }
  const bound = checkBounds(functionName, name, parameter, value);
  return bound ? refuse(bound, name) : ready(argument);
}

function prepareText(
  functionName: string,
  name: string,
  { orDimension }: TextParameter,
  argument: Derivation,
): Prepared {
  const { value } = argument;
  if (typeof value === 'string') return ready(argument);
  if (typeof value === 'object' && orDimension && value.dimension === DIMENSIONS[orDimension]) return ready(argument);
  const instead = orDimension ? ` or ${dimensionName(DIMENSIONS[orDimension])}` : '';
  return refuse(`\`${name}\` of ${functionName} must be a text in quotes${instead}`, name);
}

function checkBounds(
  functionName: string,
  name: string,
  parameter: QuantityParameter,
  value: Quantity,
): string | undefined {
  const first = DIMENSIONS[parameter.dimensions[0]!];
  if (value.dimension !== first) return undefined;
  const bound = (number: number): Quantity => quantity(number, parameter.unit);
  const { minimum, maximum } = parameter;
  const slack = 1e-9;
  const tooLow =
    minimum !== undefined &&
    (parameter.aboveMinimum
      ? value.low <= bound(minimum).value
      : value.low < bound(minimum).value - slack * Math.abs(bound(minimum).value));
  const tooHigh = maximum !== undefined && value.high > bound(maximum).value + slack * Math.abs(bound(maximum).value);
  if (!tooLow && !tooHigh) return undefined;
  const span = [
    minimum === undefined ? '' : `${parameter.aboveMinimum ? 'above' : 'at least'} ${formatQuantity(bound(minimum))}`,
    maximum === undefined ? '' : `at most ${formatQuantity(bound(maximum))}`,
  ].filter(Boolean);
  return `\`${name}\` of ${functionName} must be ${span.join(' and ')}; it is ${formatQuantity(value)}`;
}

function atEveryCorner(definition: CalculationFunction, prepared: Record<string, unknown>): Result {
  const ranged = Object.entries(prepared).filter((entry): entry is [string, Derivation] =>
    isRangedDerivation(entry[1]),
  );
  if (ranged.length === 0) return guarded(definition, prepared);
  if (ranged.length > MOST_RANGED_ARGUMENTS)
    return refused(
      `${definition.name} was given ${ranged.length} ranges at once; at most ${MOST_RANGED_ARGUMENTS} can be searched for the worst corner`,
    );
  let worst: { derivation: Derivation; value: Quantity; ends: readonly RangeEnd[] } | undefined;
  let low = Infinity;
  let high = -Infinity;
  for (let corner = 0; corner < 2 ** ranged.length; corner += 1) {
    const chosen = ranged.map(([name, derivation], index) => {
      const full = derivation.value as Quantity;
      const end = (corner >> index) & 1 ? atHigh(full) : atLow(full);
      return [name, { ...derivation, value: end }] as const;
    });
    const result = guarded(definition, { ...prepared, ...Object.fromEntries(chosen) });
    if (result.kind !== 'known' || typeof result.derivation.value !== 'object') return result;
    const { value } = result.derivation;
    low = Math.min(low, value.value);
    high = Math.max(high, value.value);
    if (!worst || (definition.worst === 'high' ? value.value > worst.value.value : value.value < worst.value.value)) {
      worst = {
        derivation: result.derivation,
        value,
        ends: chosen.map(([name, { name: subject, value: end }], index) => ({
          fact: name,
          subject,
          end: (corner >> index) & 1 ? 'high' : 'low',
          value: end,
        })),
      };
    }
  }
  if (!worst) return refused(`${definition.name} has no corner to evaluate`);
  const governing = [...(worst.derivation.governing ?? []), { kind: 'corner', ends: worst.ends } as const];
  return { kind: 'known', derivation: { ...worst.derivation, value: { ...worst.value, low, high }, governing } };
}

function isRangedDerivation(value: unknown): value is Derivation {
  if (typeof value !== 'object' || value === null || !('value' in value)) return false;
  const inner = (value as { value: unknown }).value;
  return typeof inner === 'object' && inner !== null && 'dimension' in inner && isRange(inner as Quantity);
}

/** `compute` with overflow and dimension errors turned into refusals, so that no call throws or yields NaN. */
function guarded(definition: CalculationFunction, prepared: Record<string, unknown>): Result {
  try {
    return definition.compute(prepared as Arguments<Parameters>);
  } catch (error) {
    if (error instanceof NotFinite) return refused(`${definition.name} has no finite result for these arguments`);
    if (error instanceof DimensionMismatch) return refused(`${definition.name}: ${error.message}`);
    throw error;
  }
}

/** A literal argument, for calls from code: a quantity by number and unit. */
export const amount = (name: string, value: number, unit: string): Derivation =>
  derive(name, value, unit, { origin: 'stated' });
/** A literal word or flag argument, for calls from code. */
export const fact = (name: string, value: string | boolean): Derivation =>
  deriveFact(name, value, { origin: 'stated' });
/** A literal quantity argument, for calls from code. */
export const stated = (name: string, value: Quantity): Derivation => deriveQuantity(name, value, { origin: 'stated' });
