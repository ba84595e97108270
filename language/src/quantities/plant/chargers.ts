/** The output of a charger with the facts of a design filled in: the one formula of `equipment/charging.ts`, read at a point. */
import { CHARGER_AROUND, CHARGER_FACTS, HELD_VOLTAGE, OUTPUT_CURRENT } from '../../equipment/charging.js';
import {
  type FactOf,
  type Leaf,
  Least,
  type Named,
  evaluate,
  leavesOf,
  worked,
} from '../../equipment/formula/index.js';
import type { ChargerBounds, PropertyName } from '../../equipment/index.js';
import {
  type Derivation,
  type Result,
  derive,
  fromTable,
  known,
  missing,
  numberIn,
  boundOf,
} from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { chargingOf } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { CHARGER_CLASS_SOURCE, chargerClass } from '../../reference/energy/sources.js';
import { highEnd, lowEnd } from '../ends.js';
import { atEnd, drivePower } from './drive.js';

/** What stands around a charger, as far as it is known. What is not given bounds nothing. */
export type Around = Partial<Readonly<Record<keyof typeof CHARGER_AROUND | 'inputSetting', Derivation>>>;

type Role = keyof typeof CHARGER_FACTS;
const ROLES = Object.keys(CHARGER_FACTS) as Role[];

const propertyOf = (charger: Instance, role: Role): PropertyName | undefined =>
  (chargingOf(charger)?.bounds as ChargerBounds<PropertyName> | undefined)?.[role];

/** Efficiency of a charger, a range with both ends. A controller that only switches its modules through loses next to nothing. */
function efficiencyOf(charger: Instance, context: DesignContext): Result {
  const property = propertyOf(charger, 'efficiency');
  const stated = property && context.maybe(charger, property);
  if (stated) return known(stated);
  if (context.maybe(charger, 'tracking')?.value === 'pwm' || !property)
    return known(derive('efficiency', 1, '', { symbol: 'η', origin: 'default', notes: ['no conversion: no loss'] }));
  return missing(`${property} of ${charger.name}`);
}

/** Efficiency of a charger at the unfavourable end. */
export function chargeEfficiency(charger: Instance, context: DesignContext): Result {
  const found = efficiencyOf(charger, context);
  return found.kind === 'known' ? known(lowEnd(found.derivation)) : found;
}

/** Input power factor as stated, else that of its class where it says whether it corrects its power factor. */
export function inputPowerFactor(charger: Instance, context: DesignContext): Result {
  const stated = context.maybe(charger, 'powerFactor');
  if (stated) return known(lowEnd(stated));
  const corrected = context.maybe(charger, 'powerFactorCorrection')?.value;
  const row = typeof corrected === 'boolean' ? chargerClass(corrected ? 'corrected' : 'uncorrected') : undefined;
  if (!row) return missing(`powerFactor of ${charger.name}`);
  return known(
    fromTable('power factor', row.powerFactor, '', CHARGER_CLASS_SOURCE, {
      symbol: 'pf',
      notes: [`not stated: usual for a charger ${row.title}`],
    }),
  );
}

const NO_LOADS_PASSED = derive('loads passed on', 0, 'VA', { symbol: 'S_passed', origin: 'default', notes: ['none'] });

/** The facts of a charger and of what stands around it, what drives it at the end wanted. */
export function chargerFacts(charger: Instance, context: DesignContext, around: Around, wanted: Wanted): FactOf {
  const facts = new Map<Leaf, Derivation>();
  for (const role of ROLES) {
    const found =
      role === 'efficiency'
        ? efficiencyOf(charger, context)
        : role === 'powerFactor'
          ? inputPowerFactor(charger, context)
          : undefined;
    const property = propertyOf(charger, role);
    const stated = found
      ? found.kind === 'known'
        ? found.derivation
        : undefined
      : property && context.maybe(charger, property);
    if (stated) facts.set(CHARGER_FACTS[role], stated);
  }
  // The input limit may be another for each supply.
  const { inputSetting, ...moment } = around;
  if (inputSetting) facts.set(CHARGER_FACTS.inputSetting, inputSetting);
  for (const [name, derivation] of Object.entries(moment))
    facts.set(CHARGER_AROUND[name as keyof typeof moment], derivation);
  const drive = around.drive ? undefined : drivePower(charger, wanted, context);
  if (drive?.kind === 'known') facts.set(CHARGER_AROUND.drive, drive.derivation);
  if (!around.passed) facts.set(CHARGER_AROUND.passed, NO_LOADS_PASSED);
  // A supply bounds a charger by its input limits only where it is known.
  if (!around.supplyVolts) {
    facts.delete(CHARGER_FACTS.inputSetting);
    facts.delete(CHARGER_FACTS.inputRating);
  }
  return (leaf) => facts.get(leaf);
}

/** How a designer knows a fact that lacks. */
export const lackingFact =
  (charger: Instance) =>
  (leaf: Leaf): string => {
    const role = ROLES.find((each) => CHARGER_FACTS[each] === leaf);
    if (role) return `${propertyOf(charger, role) ?? role} of ${charger.name}`;
    if (leaf === CHARGER_AROUND.volts) return `absorb of ${charger.name}`;
    return `${leaf.key} of ${charger.name}`;
  };

/** Which end of the ranges is wanted: the least that a charger may give, or the most. */
export type Wanted = 'least' | 'most';

/** Ratios that cannot be more than 1: for the most that a charger gives they count as that where they are not stated. */
const AT_MOST_ONE: ReadonlyMap<Leaf, Derivation> = new Map(
  [CHARGER_FACTS.efficiency, CHARGER_FACTS.powerFactor].map((leaf) => [
    leaf,
    derive(leaf.key, 1, '', { symbol: leaf.symbol, origin: 'default', notes: ['not stated: 1 at most'] }),
  ]),
);

/**
 * Reads a formula of a charger at the corner of its ranges where it is least or most. For the most, a bound whose facts lack is left out: it
 * could only lower the value. For the least it is missing.
 */
export function readCharger(
  term: Least | Named,
  charger: Instance,
  context: DesignContext,
  around: Around,
  wanted: Wanted,
): Result {
  const lacking = wanted === 'least' ? lackingDrive(term, charger, context, around) : undefined;
  if (lacking) return lacking;
  const stated = chargerFacts(charger, context, around, wanted);
  const of: FactOf = wanted === 'most' ? (leaf) => stated(leaf) ?? AT_MOST_ONE.get(leaf) : stated;
  const read = wanted === 'most' && term instanceof Least ? withKnownBounds(term, of) : term;
  if (!read) return noBound(charger);
  const result = worked(read, charger.name, atEnd(read, of, wanted), lackingFact(charger));
  return result.kind === 'known' ? known(lessPassed(result.derivation, around)) : result;
}

/** Why what drives a charger is not known, where a formula rests on it: without it nobody knows the least that it gives. */
function lackingDrive(
  term: Least | Named,
  charger: Instance,
  context: DesignContext,
  around: Around,
): Result | undefined {
  if (around.drive || !leavesOf(term).has(CHARGER_AROUND.drive)) return undefined;
  const drive = drivePower(charger, 'least', context);
  return drive && drive.kind !== 'known' ? drive : undefined;
}

function withKnownBounds(term: Least, of: FactOf): Least | undefined {
  const bounds = term.bounds.filter(
    ({ when, term: each }) => of(when) !== undefined && [...leavesOf(each)].every((leaf) => of(leaf) !== undefined),
  );
  if (bounds.length === 0) return undefined;
  return bounds.length === term.bounds.length ? term : new Least(term.name, term.symbol, term.unit, bounds);
}

/** Nothing bounds it that is known: the facts that would, as a designer knows them. */
function noBound(charger: Instance): Result {
  const names = (['setting', 'rating', 'power'] as const).flatMap((role) => propertyOf(charger, role) ?? []);
  return missing(`${names.slice(0, 2).join(' or ') || 'currentLimit'} of ${charger.name}`);
}

/** What decided, with whether the loads it passes on had been taken off. */
function lessPassed(derivation: Derivation, { passed }: Around): Derivation {
  const { governing } = derivation;
  if (boundOf(derivation) !== 'inputSetting' || passed === undefined || numberIn(passed, 'VA') <= 0) return derivation;
  return {
    ...derivation,
    governing: governing!.map((reason) => (reason.kind === 'bound' ? { ...reason, lessPassed: true } : reason)),
  };
}

/** Current a charger gives at its direct-current terminals, at a point. */
export const chargerOutput = (charger: Instance, context: DesignContext, around: Around, wanted: Wanted): Result =>
  readCharger(OUTPUT_CURRENT, charger, context, around, wanted);

/** The set points at which a charger holds its output, with the names of the properties that state them. */
export function setPointsOf(
  charger: Instance,
  context: DesignContext,
): readonly { readonly name: PropertyName; readonly point: Derivation }[] {
  return (chargingOf(charger)?.setPoints ?? []).flatMap((name) => {
    const value = charger.properties.get(name)?.value;
    const point =
      value?.type === 'system'
        ? derive('nominal voltage', value.system.lineToNeutral, 'V', { symbol: 'U' })
        : context.maybe(charger, name);
    return point ? [{ name, point: highEnd(point) }] : [];
  });
}

/** A set point as a charger holds it with the cells at a temperature; as it is where it does not follow their temperature. */
export function heldVoltage(
  charger: Instance,
  point: Derivation,
  cells: Derivation | undefined,
  context: DesignContext,
  wanted: Wanted,
): Derivation {
  const property = propertyOf(charger, 'temperatureCompensation');
  const coefficient = property && context.maybe(charger, property);
  if (!coefficient || !cells || numberIn(coefficient, 'V/K') === 0)
    return wanted === 'most' ? highEnd(point) : lowEnd(point);
  const result = readCharger(HELD_VOLTAGE, charger, context, { point, cells }, wanted);
  return result.kind === 'known' ? result.derivation : point;
}

/** The same as a plain number: V that a set point is held at with the cells at °C. */
export function heldVolts(charger: Instance, volts: number, celsius: number, context: DesignContext): number {
  const property = propertyOf(charger, 'temperatureCompensation');
  const coefficient = property && context.maybe(charger, property);
  if (!coefficient) return volts;
  const perKelvin = numberIn(coefficient, 'V/K');
  return evaluate(HELD_VOLTAGE, (leaf) =>
    leaf === CHARGER_AROUND.point ? volts : leaf === CHARGER_AROUND.cells ? celsius : perKelvin,
  );
}

/** The formula of a charger as plain numbers in SI; NaN where a fact lacks. */
export function chargerNumber(
  term: Least,
  charger: Instance,
  context: DesignContext,
  around: Around,
): { readonly value: number; readonly lacking: readonly string[] } {
  const of = chargerFacts(charger, context, around, 'least');
  const drive = lackingDrive(term, charger, context, around);
  const lacking = new Set<string>(drive?.kind === 'missing' ? drive.missing : []);
  const name = lackingFact(charger);
  const value = evaluate(term, (leaf) => {
    const fact = of(leaf);
    const isOptional = term.bounds.some(({ when }) => when === leaf);
    if (!fact && !isOptional) lacking.add(name(leaf));
    return fact && typeof fact.value === 'object' ? fact.value.value : NaN;
  });
  return { value, lacking: [...lacking] };
}
