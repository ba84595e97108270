/** What drives a source that charges by itself: the formula its kind states, with the facts of a design filled in, month by month. */
import type { Drive, DriveFact, DriveTable, FormulaDrive, PropertyName, WindDrive } from '../../equipment/index.js';
import { none } from '../../equipment/index.js';
import {
  type Derivation,
  type Result,
  deriveQuantity,
  fromTable,
  known,
  missing,
  numberIn,
} from '../../derivation/index.js';
import {
  type FactOf,
  type Interval,
  type Leaf,
  type Least,
  type Named,
  bounded,
  leavesOf,
  worked,
} from '../../equipment/formula/index.js';
import { type DesignContext, query } from '../../model/context.js';
import { chargingOf } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { pipeRoughness } from '../../reference/energy/index.js';
import { highEnd, lowEnd } from '../ends.js';
import { MONTH_NAMES } from '../supply/months.js';
import { extremeOf, meanInMonth } from '../weather/wind.js';

/** Which end of the ranges of facts is wanted: where the value is least or most, or the middle, as a play has it. */
export type End = 'least' | 'middle' | 'most';

const intervalOf = (derivation: Derivation | undefined): Interval | undefined =>
  derivation && typeof derivation.value === 'object' ? derivation.value : undefined;

/** Facts at the corner of their ranges at which a formula is least or most. */
export function atEnd(term: Least | Named, of: FactOf, end: End): FactOf {
  if (end === 'middle') return of;
  const { ends } = bounded(term, (leaf) => intervalOf(of(leaf)), leavesOf(term));
  return (leaf) => {
    const fact = of(leaf);
    if (!fact) return undefined;
    const side = ends.get(leaf);
    const isHigh = side === undefined ? end === 'most' : (side === 'high') === (end === 'most');
    return isHigh ? highEnd(fact) : lowEnd(fact);
  };
}

/** What drives a source by what it states of itself; undefined for what is driven by nothing or by what is not stated of it. */
export function driveOf(source: Instance): Drive<PropertyName> | undefined {
  const supply = chargingOf(source)?.supply;
  if (supply?.kind !== 'own' || supply.drive === none) return undefined;
  const drive = supply.drive as Drive<PropertyName>;
  // Of a turbine without a power curve nobody knows what the wind makes it give.
  return drive.by === 'wind' && !source.properties.has(drive.curve) ? undefined : drive;
}

/** What drives a source by a formula of its facts; undefined for all others. */
function formulaDriveOf(source: Instance): FormulaDrive<PropertyName> | undefined {
  const drive = driveOf(source);
  return drive?.by === 'formula' ? drive : undefined;
}

/** How the wind drives a source that states a power curve; undefined for all others. */
export function windDriveOf(source: Instance): WindDrive<PropertyName> | undefined {
  const drive = driveOf(source);
  return drive?.by === 'wind' ? drive : undefined;
}

/** Tables of words, all of them. */
const TABLES: Readonly<Record<DriveTable, (word: string, symbol: string) => Derivation | undefined>> = {
  'pipe-roughness': (word, symbol) => {
    const row = pipeRoughness(word);
    return row && fromTable(`coefficient C of ${row.title}`, row.coefficient, '', row.source, { symbol });
  },
};

function factOf({ leaf, property, byWord }: DriveFact<PropertyName>, source: Instance, context: DesignContext) {
  const stated = context.maybe(source, property);
  if (stated || !byWord) return stated;
  const word = context.maybe(source, byWord.property)?.value;
  return typeof word === 'string' ? TABLES[byWord.table](word, leaf.symbol) : undefined;
}

/** The row of a month in the table that a source states by month; `none` where it states no table. */
function seasonalFact(
  { seasonal }: FormulaDrive<PropertyName>,
  source: Instance,
  month: number,
): Derivation | undefined | 'none' {
  const stated = source.properties.get(seasonal.byMonth);
  if (stated?.value.type !== 'table') return 'none';
  const row = stated.value.rows.find(({ key }) => Math.round(key.value) === month);
  return (
    row &&
    deriveQuantity(`${seasonal.leaf.key} of ${source.name} in ${MONTH_NAMES[month - 1]!}`, row.value, {
      symbol: seasonal.leaf.symbol,
      origin: 'stated',
      ...(stated.place ? { place: stated.place } : {}),
    })
  );
}

/** The facts of what drives a source in a month, 1 to 12. */
export function driveFacts(source: Instance, month: number, context: DesignContext): FactOf {
  const drive = formulaDriveOf(source);
  const facts = new Map<Leaf, Derivation>();
  if (!drive) return () => undefined;
  for (const each of drive.facts) {
    const inMonth = each.leaf === drive.seasonal.leaf ? seasonalFact(drive, source, month) : 'none';
    const found = inMonth === 'none' ? factOf(each, source, context) : inMonth;
    if (found) facts.set(each.leaf, found);
  }
  return (leaf) => facts.get(leaf);
}

/** How a designer knows a fact of a drive that lacks. */
const lackingName =
  (source: Instance, month: number) =>
  (leaf: Leaf): string => {
    const drive = formulaDriveOf(source);
    const fact = drive?.facts.find((each) => each.leaf === leaf);
    if (!drive || !fact) return `${leaf.key} of ${source.name}`;
    const { seasonal } = drive;
    const isByMonth = leaf === seasonal.leaf && source.properties.has(seasonal.byMonth);
    if (isByMonth) return `${seasonal.byMonth} of ${source.name} for month ${month}`;
    return `${fact.property}${fact.byWord ? ` or ${fact.byWord.property}` : ''} of ${source.name}`;
  };

/** A formula of what drives a source, in a month. */
export const readDrive = (
  term: Least | Named,
  source: Instance,
  month: number,
  end: End,
  context: DesignContext,
): Result =>
  worked(term, source.name, atEnd(term, driveFacts(source, month, context), end), lackingName(source, month));

const POWERS = query<readonly [Instance, End], readonly Result[] | undefined>(
  'power of what drives a source, by month',
);

/** What drives a source, W in each month, the first January; undefined for what states nothing of the kind. */
export function driveByMonth(source: Instance, end: End, context: DesignContext): readonly Result[] | undefined {
  const drive = driveOf(source);
  if (!drive) return undefined;
  return context.keptFor(POWERS, source, end, () => {
    if (drive.by === 'wind') return MONTH_NAMES.map((_, at) => meanInMonth(source, drive, at + 1, end, context));
    if (drive.by !== 'formula') return undefined;
    const isSeasonal = source.properties.has(drive.seasonal.byMonth);
    const inMonth = (month: number): Result => {
      const result = readDrive(drive.power, source, month, end, context);
      const when = isSeasonal ? ` in ${MONTH_NAMES[month - 1]!}` : '';
      return result.kind === 'known'
        ? known({ ...result.derivation, name: `${result.derivation.name} of ${source.name}${when}` })
        : result;
    };
    const first = inMonth(1);
    return MONTH_NAMES.map((_, at) => (at === 0 || !isSeasonal ? first : inMonth(at + 1)));
  });
}

/**
 * What drives a source at any one time, where it is most, in the best month, or least, in the month that it names or the poorest; undefined for what states
 * nothing of the kind.
 */
export function drivePower(source: Instance, end: 'least' | 'most', context: DesignContext): Result | undefined {
  const drive = driveOf(source);
  if (drive?.by === 'wind') return extremeOf(source, drive, end, context);
  const months = driveByMonth(source, end, context);
  if (!months) return undefined;
  const lacking = months.flatMap((each) => (each.kind === 'missing' ? each.missing : []));
  if (lacking.length > 0) return missing(...new Set(lacking));
  const named = end === 'least' ? context.maybe(source, driveOf(source)!.month) : undefined;
  if (named) return months[Math.round(numberIn(named, '')) - 1]!;
  const all = months.flatMap((each) => (each.kind === 'known' ? [each.derivation] : []));
  if (all.length < months.length) return months.find(({ kind }) => kind !== 'known')!;
  const isBetter = (one: Derivation, other: Derivation): boolean =>
    end === 'most' ? numberIn(one, 'W') > numberIn(other, 'W') : numberIn(one, 'W') < numberIn(other, 'W');
  return known(all.reduce((so, next) => (isBetter(next, so) ? next : so)));
}
