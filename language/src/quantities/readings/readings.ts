import { isPropertyName } from '../../equipment/index.js';
import type { QuantityName } from '../../model/quantity-names.js';
import { type Derivation, type Result, derive, deriveQuantity, numberIn, reasonOf } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { Instance, Reading, Run, Thing } from '../../model/types.js';
import { DIMENSIONS, type Dimension, dimensionName, isRange, siQuantity } from '../../quantity/index.js';
import { highEnd, lowEnd } from '../ends.js';
import { resistanceAt } from '../conductors/conductor.js';
import { findQuantity } from '../index.js';
import { systemOf } from '../supply/supply.js';
import { terminalQuantity } from './terminals.js';
import {
  chargingOf,
  drawsOf,
  invertingOf,
  isAcCharger,
  isArray,
  isBank,
  isInverter,
  isLoad,
  isSet,
  sourceOf,
} from '../../model/roles.js';

/** A measurement on site beside what the design predicts for it. */
export interface ReadingResult {
  readonly design: string;
  readonly reading: Reading;
  readonly measured: Derivation;
  /** The band in which the value lies by the design, whatever state the system is in; one end is open where only a most or a least is known. */
  readonly low?: Derivation;
  readonly high?: Derivation;
  /** How far an instrument may be off; zero where the reading states its own spread. */
  readonly tolerance?: Derivation;
  /** Undefined when the design does not predict it. */
  readonly holds?: boolean;
  readonly undecided?: Open;
}

/** Why nothing is predicted: facts that lack, or a calculation that does not hold. */
type Open = Exclude<Result, { kind: 'known' }>;

type Band = {
  readonly low?: Derivation;
  readonly high?: Derivation;
  /** What the meter shows across other conductors of the same terminals: between lines besides to neutral. */
  readonly others?: readonly Band[];
};
type Predicted = Band | Open;

const lacking = (fact: string): Open => ({ kind: 'missing', missing: [fact] });

const firstOpen = (results: readonly Result[]): Open | undefined =>
  results.find((each): each is Open => each.kind !== 'known');

const isBand = (predicted: Predicted): predicted is Band => !('kind' in predicted);

/** Usual error of hand-held instruments in the field; common practice, no source. Temperatures in K, shares of charge as a share of full. */
const USUAL_ERROR: readonly (readonly [dimension: Dimension, share: number, floor: number])[] = [
  [DIMENSIONS.voltage, 0.01, 0],
  [DIMENSIONS.current, 0.03, 0],
  [DIMENSIONS.temperature, 0, 3],
  [DIMENSIONS.ratio, 0, 0.05],
];
const OTHER_ERROR = 0.05;

/** Fluctuation of a supply around its nominal voltage, all from memory: EN 50160 ±10 %, ANSI C84.1 range A ±5 %. */
const SUPPLY_SPREAD: Readonly<Record<string, readonly [share: number, standard: string]>> = {
  nec: [0.05, 'ANSI C84.1'],
  iec: [0.1, 'EN 50160'],
  craft: [0.1, 'EN 50160'],
};

const known = (result: Result, then: (derivation: Derivation) => Band): Predicted =>
  result.kind === 'known' ? then(result.derivation) : result;

const atMost = (result: Result): Predicted => known(result, (derivation) => ({ high: highEnd(derivation) }));

/** Every reading of a design against what is predicted for it. What was measured is the design as built, not what a variant supposes. */
export const readingResults = (context: DesignContext): ReadingResult[] =>
  context.system.variant === undefined
    ? context.system.readings.flatMap((reading) => readingResult(reading, context) ?? [])
    : [];

/** What a meter should show, with how far it may be off; or why nothing is predicted. */
export type Expected = (Band & { readonly tolerance: Derivation; readonly kind?: undefined }) | Open;

/** What is expected at a thing before anything is measured, as a reading of it would be judged. */
export function expectedReading(thing: Thing, what: string, context: DesignContext, terminal?: string): Expected {
  const asked = { what, ...(terminal === undefined ? {} : { terminal }) };
  const predicted = predictedBand(thing, asked, context);
  if (!isBand(predicted)) return predicted;
  const end = predicted.low ?? predicted.high;
  if (!end || typeof end.value !== 'object') return lacking(`what the design predicts for ${thing.name}`);
  const { low: _low, high: _high, ...rest } = end.value;
  const value = { ...rest, low: end.value.value, high: end.value.value };
  return { ...predicted, tolerance: toleranceOf({ value }, predicted, context) };
}

function readingResult(reading: Reading, context: DesignContext): ReadingResult | undefined {
  const { system } = context;
  const thing = [...system.instances, ...system.runs, ...system.links, ...system.controls].find(
    ({ name }) => name === reading.of,
  );
  // A name that does not exist was reported when the text was read.
  if (!thing) return undefined;
  const measured = deriveQuantity(`measured ${reading.subject}`, reading.value, {
    origin: 'stated',
    place: reading.place,
  });
  const common = { design: system.name, reading, measured };
  const replaced = replacedOn(thing);
  if (replaced !== undefined && reading.date !== undefined && reading.date < replaced)
    return {
      ...common,
      undecided: {
        kind: 'refused',
        reason: `it was taken before ${thing.name} was replaced on ${replaced}; measure again`,
      },
    };
  const outer = predictedBand(thing, reading, context);
  if (!isBand(outer)) return { ...common, undecided: outer };
  const predicted = nearestBand(outer, reading.value);
  const [end] = [predicted.low, predicted.high].filter((each) => each !== undefined);
  if (!end || typeof end.value !== 'object' || end.value.dimension !== reading.value.dimension) {
    const is = end && typeof end.value === 'object' ? dimensionName(end.value.dimension) : 'no quantity';
    return {
      ...common,
      undecided: {
        kind: 'refused',
        reason: `${reading.subject} is ${is}, and ${dimensionName(reading.value.dimension)} was measured`,
      },
    };
  }
  const tolerance = toleranceOf(reading, predicted, context);
  const spread = typeof tolerance.value === 'object' ? tolerance.value.value : 0;
  const { low, high } = reading.value;
  const slack = 1e-9 * Math.max(Math.abs(low), Math.abs(high));
  // Where only a most is known the direction does not count: the meter of a bank shows discharge as less than nothing.
  const least = predicted.low ? low : Math.min(Math.abs(low), Math.abs(high));
  const holds =
    high >= siOf(predicted.low, -Infinity) - spread - slack && least <= siOf(predicted.high, Infinity) + spread + slack;
  return { ...common, ...predicted, tolerance, holds };
}

const siOf = (derivation: Derivation | undefined, otherwise: number): number =>
  derivation && typeof derivation.value === 'object' ? derivation.value.value : otherwise;

/** Of several bands the one that a measured value lies in, or is nearest to. */
function nearestBand({ others = [], ...first }: Band, { low, high }: Reading['value']): Band {
  const away = (band: Band): number => Math.max(siOf(band.low, -Infinity) - high, low - siOf(band.high, Infinity), 0);
  return others.reduce((so, next) => (away(next) < away(so) ? next : so), first);
}

/** Day on which a thing took the place of another, where the design says so. */
export function replacedOn({ properties }: Thing): string | undefined {
  const value = properties.get('replaced')?.value;
  return value?.type === 'date' ? value.date : undefined;
}

/** How far the instrument may be off, by the design's `readingTolerance`, or by what is usual for what is measured. */
function toleranceOf({ value }: Pick<Reading, 'value'>, band: Band, context: DesignContext): Derivation {
  const { dimension } = value;
  const span = dimension === DIMENSIONS.temperature ? DIMENSIONS.temperatureDifference : dimension;
  const named = (size: number, note: string): Derivation =>
    deriveQuantity('error of the instrument', siQuantity(size, span, span === dimension ? value.unit : undefined), {
      notes: [note],
    });
  if (isRange(value)) return named(0, 'the reading states its own spread');
  const ends = [band.low, band.high].flatMap((each) =>
    each && typeof each.value === 'object' ? [each.value.value] : [],
  );
  const size = Math.max(Math.abs(value.value), ...ends.map(Math.abs));
  const stated = context.setting('readingTolerance');
  if (stated) return named(numberIn(stated, '') * size, '`readingTolerance` of the design');
  const [, share, floor] = USUAL_ERROR.find(([of]) => of === dimension) ?? [dimension, OTHER_ERROR, 0];
  return named(Math.max(share * size, floor), 'usual of hand-held instruments; common practice, no source');
}

function predictedBand(
  thing: Thing,
  { terminal, what }: Pick<Reading, 'terminal' | 'what'>,
  context: DesignContext,
): Predicted {
  const signal = isInstance(thing) ? signalBand(thing, terminal, what, context) : undefined;
  if (signal) return signal;
  if (isRun(thing) && what === 'resistance') return coolResistance(thing, context);
  const written = terminal ? `${terminal}.${what}` : what;
  const stated = terminal || !isPropertyName(thing.kind, what) ? undefined : context.maybe(thing, what);
  if (stated && typeof stated.value === 'object') return { low: lowEnd(stated), high: highEnd(stated) };
  const name = terminalQuantity(thing.kind, written) ?? (terminal ? undefined : what);
  const definition = name === undefined ? undefined : findQuantity(thing.kind, name);
  if (!definition) return lacking(`what the design predicts for ${thing.name}.${written}`);
  const result = context.quantity(thing, definition.name);
  return known(result, (derivation) => ({
    ...(definition.bound === 'most' || isMostBeside(derivation, thing, context) ? {} : { low: lowEnd(derivation) }),
    ...(definition.bound === 'least' ? {} : { high: highEnd(derivation) }),
  }));
}

/** Whether a value holds with no other source, where the design has one: a set then runs that long at most. */
const isMostBeside = (value: Derivation, thing: Thing, { system }: DesignContext): boolean =>
  reasonOf(value, 'withoutOtherSources') !== undefined &&
  system.instances.some((each) => each !== thing && sourceOf(each) !== undefined);

const isRun = (thing: Thing): thing is Run => 'through' in thing;

/** Temperature of conductors that are tested dead where no ambient is stated; that of the tables of IEC 60228. */
const TEST_TEMPERATURE = 20;

/** A conductor is measured dead and has the temperature of its surroundings, not the one at which it carries its load. */
function coolResistance(run: Run, context: DesignContext): Predicted {
  const [size, length] = [context.fact(run, 'size'), context.fact(run, 'length')];
  if (size.kind !== 'known') return size;
  if (length.kind !== 'known') return length;
  const ambient = context.siteFact('ambient') ?? derive('temperature of a dead conductor', TEST_TEMPERATURE, 'degC');
  const at = (temperature: Derivation): Result =>
    resistanceAt(run, size.derivation, length.derivation, temperature, context);
  const [low, high] = [at(lowEnd(ambient)), at(highEnd(ambient))];
  if (low.kind !== 'known') return low;
  if (high.kind !== 'known') return high;
  return { low: lowEnd(low.derivation), high: highEnd(high.derivation) };
}

const isInstance = (thing: Thing): thing is Instance => 'terminals' in thing;

/** What is measured while the system runs: the band of all states, undefined for anything else. */
function signalBand(
  thing: Instance,
  terminal: string | undefined,
  what: string,
  context: DesignContext,
): Predicted | undefined {
  switch (what) {
    case 'voltage':
      return voltageBand(thing, terminal, context);
    case 'soc':
      return { low: derive('empty', 0, ''), high: derive('full', 1, '') };
    case 'temperature':
      return temperatureBand(thing, context);
    case 'current':
      if (isBank(thing)) return bankCurrent(thing, context);
      return terminal !== undefined && !terminalQuantity(thing.kind, `${terminal}.current`)
        ? currentAt(thing, terminal, context)
        : undefined;
    case 'power':
      return powerBand(thing, terminal, context);
    default:
      return undefined;
  }
}

function temperatureBand(thing: Instance, context: DesignContext): Predicted {
  const own = context.maybe(thing, 'cellTemperature') ?? context.siteFact('ambient');
  return own ? { low: lowEnd(own), high: highEnd(own) } : lacking('ambient of the site');
}

/** The larger of what charges a bank and what is drawn from it, which the meter of a bank shows in either direction. */
function bankCurrent(bank: Instance, context: DesignContext): Predicted {
  const both = [context.quantity(bank, 'chargeCurrent'), context.quantity(bank, 'dischargeCurrent')];
  const open = firstOpen(both);
  if (open) return open;
  const [larger] = both
    .flatMap((each) => (each.kind === 'known' ? [each.derivation] : []))
    .sort((a, b) => numberIn(b, 'A') - numberIn(a, 'A'));
  return { high: highEnd(larger!) };
}

/** The design currents of the runs that meet at a terminal. */
function currentAt(thing: Instance, terminal: string, context: DesignContext): Predicted {
  const node = context.graph.nodes.get(`${thing.name}.${terminal}`);
  const runs = node ? [...new Set(context.graph.segmentsAt(node).map(({ run }) => run))] : [];
  const [only, ...others] = runs;
  if (!only || others.length > 0) return lacking(`one run at ${thing.name}.${terminal}`);
  return atMost(context.quantity(only satisfies Run, 'current'));
}

/** What a thing draws or gives at most, by what it does at a terminal, or as a whole. */
function powerAt(thing: Instance, terminal: string | undefined): QuantityName | undefined {
  const isAt = (at: string | undefined): boolean => terminal === undefined || terminal === at;
  if (isInverter(thing)) return isAt(invertingOf(thing)!.to) ? 'loadDemand' : undefined;
  if (isAcCharger(thing))
    return terminal !== undefined && terminal === chargingOf(thing)?.at
      ? 'outputPower'
      : drawsOf(thing).some(({ at }) => isAt(at))
        ? 'inputPower'
        : undefined;
  if (isSet(thing)) return isAt(sourceOf(thing)!.at) ? 'powerDemand' : undefined;
  return isArray(thing) && terminal === undefined ? 'arrayPower' : undefined;
}

function powerBand(thing: Instance, terminal: string | undefined, context: DesignContext): Predicted | undefined {
  if (isLoad(thing)) return atMost(context.fact(thing, 'power'));
  const name = powerAt(thing, terminal);
  return name === undefined ? undefined : atMost(context.quantity(thing, name));
}

function voltageBand(thing: Instance, terminal: string | undefined, context: DesignContext): Predicted {
  const nodes = terminal
    ? [context.graph.nodes.get(`${thing.name}.${terminal}`)].filter((node) => node !== undefined)
    : context.graph.nodesOf(thing);
  const [node, ...others] = nodes;
  if (!node) return lacking(`a terminal ${terminal} of ${thing.name}`);
  if (others.length > 0)
    return lacking(
      `the terminal at which ${thing.name} was measured, such as \`${thing.name}.${node.terminal.name}.voltage\``,
    );
  return directVoltage(node, context) ?? alternatingVoltage(node, context);
}

/** Between the lowest and the highest voltage of the banks on this wiring, less what its runs lose; up to the cold open circuit at modules. */
function directVoltage(node: Node, context: DesignContext): Predicted | undefined {
  const joined = context.graph.joinedTo(node);
  const banks = joined.filter(isBank);
  const array = joined.find(isArray);
  if (banks.length === 0) return array && atMost(context.quantity(array, 'arrayVoltage'));
  const lows = banks.map((bank) => context.quantity(bank, 'lowestVoltage'));
  const highs = banks.map((bank) => context.quantity(bank, 'highestVoltage'));
  const open = firstOpen([...lows, ...highs]);
  if (open) return open;
  const values = (results: readonly Result[]): Derivation[] =>
    results.flatMap((each) => (each.kind === 'known' ? [each.derivation] : []));
  const least = values(lows).reduce((so, next) => (numberIn(next, 'V') < numberIn(so, 'V') ? next : so));
  const most = values(highs).reduce((so, next) => (numberIn(next, 'V') > numberIn(so, 'V') ? next : so));
  return { low: lessTheDrop(lowEnd(least), node, context), high: highEnd(most) };
}

/** The lowest voltage of a bank less what is lost on the way to a node. */
function lessTheDrop(least: Derivation, { instance }: Node, context: DesignContext): Derivation {
  if (isBank(instance)) return least;
  const end = context.quantity(instance, 'terminalVoltage');
  const drop = end.kind === 'known' ? end.derivation.parts['drop'] : undefined;
  if (!drop || numberIn(drop, 'V') <= 0) return least;
  return derive(`lowest voltage at ${instance.name}`, numberIn(least, 'V') - numberIn(drop, 'V'), 'V', {
    formula: 'U_min − ΔU',
    inputs: [least, drop],
  });
}

/** The nominal voltage of what can feed a node, between lines and to neutral, as far as supplies fluctuate. */
function alternatingVoltage(node: Node, context: DesignContext): Predicted {
  const feeders = new Set(context.circuitStates.flatMap(({ circuit }) => [...(circuit.supply.get(node.key) ?? [])]));
  const systems = [...feeders].map((feeder) => ({ feeder, system: systemOf(feeder) }));
  const unknown = systems.find(({ system }) => !system);
  if (systems.length === 0) return lacking(`a supply of ${node.instance.name}`);
  if (unknown) return lacking(`voltage of ${unknown.feeder.name}`);
  const [share, standard] = SUPPLY_SPREAD[context.system.basis.practice]!;
  const source = { standard, table: `±${share * 100} %`, provenance: 'from memory' } as const;
  const around = (nominals: readonly number[]): Band => ({
    low: derive('lowest supply voltage', Math.min(...nominals) * (1 - share), 'V', { source, formula: 'U_n·(1 − s)' }),
    high: derive('highest supply voltage', Math.max(...nominals) * (1 + share), 'V', {
      source,
      formula: 'U_n·(1 + s)',
    }),
  });
  const toNeutral = around(systems.map(({ system }) => system!.lineToNeutral));
  const betweenLines = around(systems.map(({ system }) => system!.lineToLine));
  return systems.some(({ system }) => system!.lineToLine !== system!.lineToNeutral)
    ? { ...toNeutral, others: [betweenLines] }
    : toNeutral;
}
