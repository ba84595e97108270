import { type Derivation, type Result, derive, deriveQuantity, known, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { Instance, Part } from '../../model/types.js';
import { systemOf } from '../../quantities/supply/supply.js';
import { classFact, classOf, classTable, deviceFact, rowValue } from '../../quantities/conductors/device-class.js';
import { restsOnMemory } from './memory.js';
import { flagIn } from '../../model/stated-facts.js';
import { arraysJoinedTo, banksJoinedTo } from '../../quantities/supply/joined.js';
import { chargesAt, isBank, isBusCharger, isDevice, isFuse, isVehicle } from '../../model/roles.js';
import { highEnd } from '../../quantities/ends.js';
import { siQuantity } from '../../quantity/index.js';

export { classOf };

/** A rating of a device: its own, else that of its class. */
export const ratingOf = (
  device: Instance,
  property: 'dcVoltage' | 'acVoltage',
  context: DesignContext,
): Derivation | undefined => context.maybe(device, property) ?? deviceFact(device, property);

/**
 * Interrupt rating of a class: on direct current the table row of the next higher voltage, on alternating current what it states for that, else its
 * single rating.
 */
export function interruptOfClass(part: Part, volts: number, isDc: boolean): Derivation | undefined {
  const alternating = isDc ? undefined : classFact(part, 'acInterruptRating');
  if (alternating) return alternating;
  const table = isDc ? classTable(part, 'dcInterrupt') : undefined;
  if (!table) return classFact(part, 'interruptRating');
  const index = table.rows.findIndex(({ key }) => key.value >= volts * (1 - 1e-9));
  return index >= 0
    ? rowValue(`interrupt rating of class ${part.name} up to ${table.rows[index]!.key.value} V DC`, table, index)
    : table.sourced(
        derive(`interrupt rating of class ${part.name} at ${volts} V DC`, 0, 'A', {
          notes: ['above its highest direct voltage'],
        }),
      );
}

/** Interrupt rating of a device: its own, else that of its class. */
export function interruptRating(
  device: Instance,
  volts: number,
  isDc: boolean,
  context: DesignContext,
): Derivation | undefined {
  const own = context.maybe(device, 'interruptRating');
  if (own) return own;
  const part = classOf(device);
  return part && interruptOfClass(part, volts, isDc);
}

const quantityIn = (part: Part, property: string): { low: number; high: number; value: number } | undefined => {
  const value = part.properties.get(property)?.value;
  return value?.type === 'quantity' ? value.quantity : undefined;
};

/** What a class must be good for. */
export interface ClassNeed {
  readonly device: 'fuse' | 'breaker';
  /** Rating of the device, A; any when it is not known. */
  readonly rating: number | undefined;
  /** Highest direct voltage, V. */
  readonly volts: number;
  /** Prospective fault current, A. */
  readonly amperes: number;
  /** Whether it stands where the circuit leaves a battery. */
  readonly isAtBank: boolean;
  /** Whether modules drive the voltage: elsewhere no class that is made for their strings is proposed, and for strings no other. */
  readonly ofStrings?: 'alone' | 'too';
}

/** Whether what a class stands and interrupts on direct current is from memory. */
const isRemembered = (part: Part, volts: number): boolean =>
  [classFact(part, 'dcVoltage'), interruptOfClass(part, volts, true)].some((each) => each && restsOnMemory(each));

/** Whether fuses of a class sit on the post of a battery: they suit no circuit that starts elsewhere. */
const isOnPost = (part: Part): boolean => {
  const mounting = part.properties.get('mounting')?.value;
  return mounting?.type === 'word' && mounting.word === 'battery-post';
};

/**
 * Classes used under the practice of the design that stand a direct voltage and interrupt a current: those with published ratings first,
 * then the weakest sufficient.
 */
export function classesFor(
  { device, rating, volts, amperes, isAtBank, ofStrings }: ClassNeed,
  context: DesignContext,
): Part[] {
  return context
    .parts('deviceClass')
    .filter((part) => {
      const sort = part.properties.get('device')?.value;
      if (sort?.type !== 'word' || sort.word !== device) return false;
      if (['supplementary', 'partialRange'].some((kind) => flagIn(part.properties, kind) === true)) return false;
      const practices = part.properties.get('basis')?.value;
      if (practices?.type === 'words' && !practices.words.includes(context.system.basis.practice)) return false;
      const isForStrings = flagIn(part.properties, 'photovoltaic') === true;
      if (isForStrings ? ofStrings === undefined : ofStrings === 'alone') return false;
      const voltage = quantityIn(part, 'dcVoltage');
      const interrupt = interruptOfClass(part, volts, true);
      const made = quantityIn(part, 'ratings');
      const fits = rating === undefined || !made || (rating >= made.low && rating <= made.high);
      return (
        fits &&
        (isAtBank || !isOnPost(part)) &&
        voltage !== undefined &&
        voltage.value >= volts * (1 - 1e-9) &&
        interrupt !== undefined &&
        numberIn(interrupt, 'A') >= amperes
      );
    })
    .sort(
      (a, b) =>
        Number(isRemembered(a, volts)) - Number(isRemembered(b, volts)) ||
        numberIn(interruptOfClass(a, volts, true)!, 'A') - numberIn(interruptOfClass(b, volts, true)!, 'A') ||
        quantityIn(a, 'dcVoltage')!.value - quantityIn(b, 'dcVoltage')!.value ||
        (a.name < b.name ? -1 : 1),
    );
}

/** The word by which tables and classes call a device. */
export const sortOf = (device: Instance): 'fuse' | 'breaker' => (isFuse(device) ? 'fuse' : 'breaker');

/** Classes of the same sort of device that would do in its place, with its rating or with another one (A). */
export function sufficientClasses(
  device: Instance,
  volts: number,
  amperes: number,
  context: DesignContext,
  otherRating?: number,
): Part[] {
  if (!isDevice(device)) return [];
  const own = context.maybe(device, 'rating');
  const rating = otherRating ?? (own && numberIn(own, 'A'));
  const isAtBank = context.system.runs.some(
    ({ from, through, to }) =>
      [from, ...through, ...to].some(({ instance }) => instance === device) &&
      [from, ...to].some(({ instance }) => isBank(instance)),
  );
  const [node] = context.graph.nodesOf(device);
  const isAtArray = node !== undefined && arraysJoinedTo(node, context).length > 0;
  const need = {
    device: sortOf(device),
    rating,
    volts,
    amperes,
    isAtBank,
    ...(isAtArray ? { ofStrings: 'too' as const } : {}),
  };
  return classesFor(need, context);
}

/** The smallest and the largest rating a class is made in. */
export function madeIn(part: Part): { least: Derivation; most: Derivation } | undefined {
  const made = classFact(part, 'ratings');
  if (typeof made?.value !== 'object') return undefined;
  const { low, high, dimension, unit } = made.value;
  const end = (value: number): Derivation =>
    deriveQuantity(`ratings of class ${part.name}`, siQuantity(value, dimension, unit), { origin: made.origin });
  return { least: end(low), most: end(high) };
}

/** Whether a class is made in a rating; true where it does not say. */
export function isMadeIn(device: Instance, amperes: number): boolean {
  const part = classOf(device);
  const made = part && quantityIn(part, 'ratings');
  return !made || (amperes >= made.low * (1 - 1e-9) && amperes <= made.high * (1 + 1e-9));
}

/** Highest over nominal voltage of the network of a vehicle while its engine charges: common practice, no source. */
const ENGINE_RUNNING = 1.25;

/** The highest direct voltage somewhere, as far as it is known. */
export interface HighestVoltage {
  readonly voltage: Derivation;
  /** What it is, as a clause of its own: `the charge voltage, not the nominal one`. */
  readonly what: string;
  /** Facts that may raise it. */
  readonly lacking: readonly string[];
}

export type Highest = HighestVoltage | { readonly missing: readonly string[] };

/** Highest direct voltage a device sees: that of the banks on its wiring, else of the array in the cold, else of a vehicle. */
export const highestDirectVoltage = (device: Instance, context: DesignContext): Highest =>
  highestVoltageAt(context.graph.nodesOf(device)[0], device.name, context);

/** The same at a node; `name` says for what, where nothing is known. */
export function highestVoltageAt(node: Node | undefined, name: string, context: DesignContext): Highest {
  const banks = node ? banksJoinedTo(node, context) : [];
  if (banks.length > 0)
    return highestAmong(
      banks.map((bank) =>
        asHighest(context.quantity(bank, 'highestVoltage'), 'the charge voltage, not the nominal one'),
      ),
    );
  const arrays = node ? arraysJoinedTo(node, context) : [];
  if (arrays.length > 0) return highestAmong(arrays.map((array) => highestOfArray(array, context)));
  const vehicle = node && context.graph.joinedTo(node).find(isVehicle);
  if (vehicle) {
    const system = systemOf(vehicle);
    return system
      ? asHighest(
          known(
            derive(`highest voltage of ${vehicle.name}`, ENGINE_RUNNING * system.lineToNeutral, 'V', {
              formula: '1.25·U_nom',
              notes: ['its engine running: 15 V in a network of 12 V; common practice, no source'],
            }),
          ),
          'while the engine runs',
        )
      : { missing: [`voltage of ${vehicle.name}`] };
  }
  return (node && highestOfConverter(node, context)) ?? { missing: [`a bank or array for ${name}`] };
}

/** Behind a converter that feeds loads alone: what it is set to. */
function highestOfConverter(node: Node, context: DesignContext): Highest | undefined {
  const converter = [...context.graph.reach(node).values()].find(
    (each) => isBusCharger(each.instance) && chargesAt(each),
  );
  if (!converter) return undefined;
  const output = context.fact(converter.instance, 'output');
  return output.kind === 'known'
    ? { voltage: highEnd(output.derivation), what: 'what the converter gives', lacking: [] }
    : asHighest(output, '');
}

function asHighest(result: Result, what: string): Highest {
  switch (result.kind) {
    case 'known':
      return { voltage: result.derivation, what, lacking: [] };
    case 'missing':
      return { missing: result.missing };
    case 'refused':
      return { missing: [result.reason] };
  }
}

/** The highest of what several things bring; what lacks of any of them may raise it. */
function highestAmong(outcomes: readonly Highest[]): Highest {
  const known = outcomes.filter((outcome) => 'voltage' in outcome);
  const open = [...new Set(outcomes.flatMap((outcome) => (isMissing(outcome) ? outcome.missing : outcome.lacking)))];
  const [first, ...others] = known;
  if (!first) return { missing: open };
  const volts = ({ voltage }: HighestVoltage): number => numberIn(voltage, 'V');
  return { ...others.reduce((so, next) => (volts(next) > volts(so) ? next : so), first), lacking: open };
}

/** That of an array: in the cold; at 25 °C, with what lacks, where the lowest temperature is not known. */
export function highestOfArray(array: Instance, context: DesignContext): Highest {
  const cold = context.quantity(array, 'coldVoltage');
  if (cold.kind !== 'missing') return asHighest(cold, 'open-circuit on a cold morning');
  const open = context.fact(array, 'openCircuitVoltage');
  const series = context.fact(array, 'series');
  if (open.kind !== 'known' || series.kind !== 'known') return { missing: cold.missing };
  const voltage = derive(
    'open-circuit voltage of the array',
    numberIn(open.derivation, 'V') * numberIn(series.derivation, ''),
    'V',
    { formula: 'U_oc·n_s', inputs: [open.derivation, series.derivation], notes: ['at 25 °C; higher in the cold'] },
  );
  return { voltage, what: 'open-circuit, at 25 °C already', lacking: cold.missing };
}

export const isMissing = (outcome: Highest): outcome is { readonly missing: readonly string[] } => 'missing' in outcome;
