import type { Derivation } from '../derivation/index.js';
import type { Condition, Signal } from '../model/conditions.js';
import type { Property, PropertyValue, Scenario } from '../model/types.js';
import { type Quantity, formatNumber, nearlyEqual } from '../quantity/index.js';

/** The name after the change of a thing that is called `name` before it. */
export type Renamed = (name: string) => string;

/** Numbers that differ by the last bits of another unit are the same. */
const number = (value: number): string => Number(value.toPrecision(12)).toString();

const quantityMeaning = ({ value, low, high, dimension }: Quantity): string =>
  `${number(value)} ${number(low)} ${number(high)} ${dimension.key}`;

/** What a value of a property means, whatever unit and layout it is written in: the same text for the same meaning. */
export function valueMeaning(value: PropertyValue, renamed: Renamed = (name) => name): string {
  switch (value.type) {
    case 'quantity':
      return quantityMeaning(value.quantity);
    case 'word':
      return `word ${value.word}`;
    case 'flag':
      return `flag ${value.flag}`;
    case 'text':
      return `text ${value.text}`;
    case 'date':
      return `date ${value.date}`;
    case 'system':
      return `${value.system.phases} ${number(value.system.lineToNeutral)} ${number(value.system.lineToLine)}`;
    case 'part':
      return `part ${value.part.name} ${[...value.part.properties]
        .map(([name, property]) => `${name}: ${valueMeaning(property.value, renamed)}`)
        .sort()
        .join('; ')}`;
    case 'table':
      return value.rows
        .map((row) => `${quantityMeaning(row.key)}: ${quantityMeaning(row.value)}`)
        .sort()
        .join('; ');
    case 'bySupply':
      return value.rows
        .map((row) => `${renamed(row.supply)}: ${quantityMeaning(row.quantity)} ${row.isAssumed}`)
        .sort()
        .join('; ');
    case 'profile':
      return value.windows
        .map(({ from, to, share }) => `${number(from)}..${number(to)}: ${quantityMeaning(share)}`)
        .sort()
        .join('; ');
    case 'words':
      return [...value.words].sort().join(', ');
    case 'quiet':
      return `${number(value.from)}..${number(value.to)} ${value.exception ? conditionMeaning(value.exception, renamed) : (value.unless?.replace(/\s+/g, ' ') ?? '')}`;
  }
}

export const sameProperty = (before: Property, after: Property, renamed: Renamed): boolean =>
  valueMeaning(before.value, renamed) === valueMeaning(after.value);

export const signalMeaning = (signal: Signal, renamed: Renamed): string =>
  signal.kind === 'of' ? `${signal.signal}(${renamed(signal.of.name)})` : signal.signal;

/** What a condition means, with the things by their names after the change. */
export function conditionMeaning(condition: Condition, renamed: Renamed): string {
  switch (condition.type) {
    case 'comparison':
      return `${sumMeaning(condition, renamed)} ${condition.comparison} ${quantityMeaning(condition.limit)}`;
    case 'not':
      return `not (${conditionMeaning(condition.of, renamed)})`;
    default:
      return `${condition.type}(${condition.of
        .map((each) => conditionMeaning(each, renamed))
        .sort()
        .join(', ')})`;
  }
}

/** The side of a comparison that watches: `soc(Bank)`. */
export const sumMeaning = ({ terms }: Extract<Condition, { readonly type: 'comparison' }>, renamed: Renamed): string =>
  terms
    .map(({ factor, signal }) => `${factor === 1 ? '' : `${formatNumber(factor)}·`}${signalMeaning(signal, renamed)}`)
    .sort()
    .join(' + ');

/** Whether two derivations have the same value, to the last bits. */
export function sameDerived(left: Derivation | undefined, right: Derivation | undefined): boolean {
  if (!left || !right) return left === right;
  if (typeof left.value !== 'object' || typeof right.value !== 'object') return left.value === right.value;
  return (
    left.value.dimension === right.value.dimension &&
    nearlyEqual(left.value.low, right.value.low) &&
    nearlyEqual(left.value.high, right.value.high)
  );
}

const WORD = /[\p{L}_][\p{L}\p{N}_-]*/gu;

/** A text of a design with the things by their names after the change, and without its layout. */
export const textMeaning = (text: string, renamed: Renamed): string =>
  text.replace(WORD, (word) => renamed(word)).replace(/\s+/g, '');

/** What a scenario states beside its properties: charges at its start, absences, cords, tanks, profiles. Their order says nothing. */
export function scenarioMeaning({ initial, absences, plugged, tanks, profiles }: Scenario, renamed: Renamed): string {
  const rows = [
    ...initial.map(
      ({ signal, value }) =>
        `${signalMeaning(signal, renamed)}: ${typeof value.value === 'object' ? quantityMeaning(value.value) : value.value}`,
    ),
    ...absences.map(({ of, from, to }) => `lost ${renamed(of.name)} ${number(from)} ${number(to)}`),
    ...plugged.map(({ inlet, by }) => `plugged ${renamed(inlet.name)} ${by ? renamed(by.name) : ''}`),
    ...tanks.map(
      ({ of, start, refills }) =>
        `tank ${renamed(of.name)} ${start && typeof start.value === 'object' ? quantityMeaning(start.value) : ''} ${refills?.map(number).join(' ') ?? ''}`,
    ),
    ...profiles.map(
      ({ load, windows }) => `profile ${renamed(load.name)} ${valueMeaning({ type: 'profile', windows }, renamed)}`,
    ),
  ];
  return rows.sort().join('\n');
}

/** A stretch of a design that is longer is shown in part. */
const LONGEST = 120;

/** A text of a design on one line. */
export function shortText(text: string): string {
  const line = text.replace(/\s+/g, ' ').trim();
  return line.length > LONGEST ? `${line.slice(0, LONGEST - 1)}…` : line;
}
