import {
  type ClauseName,
  type Derivation,
  type Result,
  derive,
  fromTable,
  known,
  numberIn,
  refused,
} from '../../derivation/index.js';
import { AWG_SERIES, formatNumber, nearlyEqual, sameSize, sizeText } from '../../quantity/index.js';
import {
  type Basis,
  type Metal,
  type OverloadRow,
  areaOfSize,
  craftRatings,
  iecOverload,
  iecRatings,
  necRatings,
  necSmallConductors,
  sourceOf,
  standardRatings,
  tableName,
  ruleValue,
} from '../../reference/index.js';
import { defaults, defineFunction, flag, needs, wordOr } from '../registry.js';
import {
  type Found,
  GROUP,
  areaIn,
  asResult,
  basisParameter,
  found,
  metalParameter,
  notFound,
  sizeParameter,
  wordInput,
  named,
} from './common.js';

const RATING_TABLES = { nec: necRatings, iec: iecRatings, craft: craftRatings } as const;

const DEVICES = ['breaker', 'fuse'] as const;
type Device = (typeof DEVICES)[number];

/** The smallest standard rating that is not below `current`; equal counts. */
export function ratingAtLeast(current: number, basis: Basis): number | undefined {
  return standardRatings(basis).find((rating) => rating >= current || nearlyEqual(rating, current));
}

/** The largest standard rating that is not above `current`; equal counts. */
export function ratingAtMost(current: number, basis: Basis): number | undefined {
  return standardRatings(basis).findLast((rating) => rating <= current || nearlyEqual(rating, current));
}

export function ratingDerivation(
  name: string,
  rating: number,
  basis: Basis,
  inputs: readonly Derivation[],
  notes: readonly string[],
): Derivation {
  const table = RATING_TABLES[basis];
  const row = table.rows.find((candidate) => candidate.rating === rating);
  const devices = row && 'devices' in row ? [`a standard rating of ${row.devices}s only`] : [];
  return fromTable(name, rating, 'A', sourceOf(table, row), { symbol: 'In', inputs, notes: [...notes, ...devices] });
}

const above = (current: number, basis: Basis): string =>
  `the largest standard rating of ${tableName(RATING_TABLES[basis])} is ${standardRatings(basis).at(-1)} A; ${formatNumber(current)} A is asked`;

/** 125 % of the continuous plus the rest (NEC 210.19(A)(1), 215.2(A)(1)). */
export function requiredOf(continuous: Derivation, noncontinuous: Derivation): Derivation {
  const factor = ruleValue('nec', 'continuousFactor');
  const value = numberIn(factor, '') * numberIn(continuous, 'A') + numberIn(noncontinuous, 'A');
  return derive('required ampacity', value, 'A', {
    symbol: 'I',
    formula: 'factor · Icontinuous + Inoncontinuous',
    inputs: [named(continuous, 'Icontinuous'), named(noncontinuous, 'Inoncontinuous'), named(factor, 'factor')],
    ...(factor.source ? { source: factor.source } : {}),
  });
}

export const requiredAmpacity = defineFunction({
  name: 'requiredAmpacity',
  group: GROUP,
  summary: 'Ampacity a circuit needs before correction: 125 % of its continuous load plus the rest.',
  parameters: {
    continuous: needs('current', 'A', 'load that lasts three hours or more', { minimum: 0 }),
    noncontinuous: defaults('current', 'A', 0, 'other load', { minimum: 0, defaultSource: 'none' }),
  },
  result: 'ampacity, A',
  worst: 'high',
  validity:
    'NEC circuits and feeders; compared with the table at the temperature of the terminals, before correction and adjustment. Assemblies listed for 100 % of their rating need no 125 %.',
  sources: ['NEC 210.19(A)(1), 215.2(A)(1)'],
  examples: [
    {
      call: 'requiredAmpacity(continuous: 20 A)',
      gives: '25 A',
      source: 'fire-engineering training academy, continuous load of 20 A',
    },
    {
      call: 'requiredAmpacity(continuous: 12 A, noncontinuous: 4 A)',
      gives: '19 A',
      source: 'hand calculation: 1.25 · 12 A + 4 A',
    },
  ],
  compute: ({ continuous, noncontinuous }): Result => known(requiredOf(continuous, noncontinuous)),
});

/** The rating a device needs for a load: the next standard one above 125 % (nec, craft) or above the load (iec). */
export function protectionOf(current: Derivation, continuous: boolean, basis: Basis): Found<Derivation> {
  const load = numberIn(current, 'A');
  const factor = continuous && basis !== 'iec' ? ruleValue(basis, 'continuousFactor') : undefined;
  const needed = factor
    ? derive('least rating', numberIn(factor, '') * load, 'A', {
        formula: 'factor · I',
        inputs: [named(factor, 'factor'), named(current, 'I')],
        ...(factor.source ? { source: factor.source } : {}),
      })
    : current;
  const rating = ratingAtLeast(numberIn(needed, 'A'), basis);
  if (rating === undefined) return notFound(above(numberIn(needed, 'A'), basis), 'current');
  const notes = [`next standard rating from ${formatNumber(numberIn(needed, 'A'))} A`];
  return found(ratingDerivation('rating of the protection', rating, basis, [needed], notes));
}

export const protectionFor = defineFunction({
  name: 'protectionFor',
  group: GROUP,
  summary: 'Smallest standard rating of a fuse or breaker for a load.',
  parameters: {
    current: needs('current', 'A', 'load current', { minimum: 0 }),
    continuous: flag(true, 'whether the load lasts three hours or more'),
    basis: basisParameter,
  },
  result: 'rating, A',
  worst: 'high',
  validity:
    'nec: at least 125 % of a continuous load (210.20(A), 215.3); iec: In ≥ Ib (433.1); craft: at least 125 % of a continuous load, common practice. The device must also protect the conductor (`largestProtection`).',
  sources: ['NEC 210.20(A), 215.3, 240.6(A)', 'IEC 60364-4-43 433.1', 'craft: common practice, no source'],
  examples: [
    {
      call: 'protectionFor(current: 95 A)',
      gives: '125 A',
      source: 'fire-engineering training academy, 95 A continuous load',
    },
    {
      call: 'protectionFor(current: 129.4 A)',
      gives: '175 A',
      source: 'hand calculation: 5 kW inverter at 42 V and 92 %, 1.25 · 129.4 A = 161.75 A',
    },
  ],
  compute: ({ current, continuous, basis }): Result => asResult(protectionOf(current, continuous, basis)),
});

export const nextRating = defineFunction({
  name: 'nextRating',
  group: GROUP,
  summary: 'Next standard rating that is not below a current.',
  parameters: { current: needs('current', 'A', 'current', { minimum: 0 }), basis: basisParameter },
  result: 'rating, A',
  worst: 'high',
  validity: 'Up to the largest standard rating: 6000 A (nec), 1250 A (iec), 750 A (craft).',
  sources: [
    'NEC 240.6(A)',
    'IEC 60898-1 and 60269-2, preferred ratings (from memory)',
    'ISO 8820 (from memory) and common practice for bolt-down fuses (craft)',
  ],
  examples: [
    { call: 'nextRating(current: 23.4 A)', gives: '25 A', source: 'NEC 240.6(A)' },
    { call: 'nextRating(current: 801 A)', gives: '1000 A', source: 'NEC 240.6(A)' },
    {
      call: 'nextRating(current: 33 A, basis: iec)',
      gives: '40 A',
      source: 'IEC 60898-1 preferred ratings, from memory',
    },
  ],
  compute: ({ current, basis }): Result => {
    const rating = ratingAtLeast(numberIn(current, 'A'), basis);
    if (rating === undefined) return refused(above(numberIn(current, 'A'), basis), 'current');
    return known(ratingDerivation('next standard rating', rating, basis, [current], []));
  },
});

/** The largest device a conductor may have, the rule that decided and what it read. */
export interface Allowed {
  readonly rating: number | undefined;
  readonly rule: ClauseName;
  readonly inputs: readonly Derivation[];
}

/** NEC 240.4(B), (C): the next larger standard rating is allowed up to 800 A, but not on a branch to several receptacles. */
function necLargest(ampacity: number, severalReceptacles: boolean): Allowed {
  const below = ratingAtMost(ampacity, 'nec');
  const next = ratingAtLeast(ampacity, 'nec');
  const limit = ruleValue('nec', 'nextSizeUpLimit');
  if (severalReceptacles) return { rating: below, rule: 'severalReceptacles', inputs: [] };
  if (below !== undefined && nearlyEqual(below, ampacity)) return { rating: below, rule: 'standardRating', inputs: [] };
  if (next !== undefined && next <= numberIn(limit, 'A'))
    return { rating: next, rule: 'nextRatingAbove', inputs: [limit] };
  return { rating: below, rule: 'notAboveAmpacity', inputs: [limit] };
}

/** The conventional operating current of a device over its rating, I2/In. */
export function overloadRow(rating: number, device: Device): OverloadRow | undefined {
  return iecOverload.rows.find(
    (row) =>
      row.device === device && rating <= (row.upTo ?? Infinity) && (row.below === undefined || rating < row.below),
  );
}

/** IEC 60364-4-43 433.1: In ≤ Iz and I2 ≤ 1.45 Iz. */
function iecLargest(ampacity: number, device: Device): Allowed {
  const rating = standardRatings('iec').findLast((candidate) => {
    const row = overloadRow(candidate, device);
    const byOperation = row ? (candidate * row.operating) / iecOverload.overloadLimit : Infinity;
    const needed = Math.max(candidate, byOperation);
    return needed <= ampacity || nearlyEqual(needed, ampacity);
  });
  const row = rating === undefined ? undefined : overloadRow(rating, device);
  if (!row) return { rating, rule: 'overload', inputs: [] };
  const factor = fromTable(
    'conventional operating current over rating',
    row.operating,
    '',
    sourceOf(iecOverload, row),
    {
      symbol: 'I2/In',
      inputs: [wordInput('device', device)],
    },
  );
  return { rating, rule: 'overload', inputs: [factor] };
}

/** Small craft: the next larger rating is allowed up to 150 % of the ampacity. */
function craftLargest(ampacity: number): Allowed {
  const share = ruleValue('craft', 'largestShareOfAmpacity');
  const next = ratingAtLeast(ampacity, 'craft');
  const most = ampacity * numberIn(share, '');
  if (next !== undefined && (next <= most || nearlyEqual(next, most)))
    return { rating: next, rule: 'craftNextRating', inputs: [share] };
  return { rating: ratingAtMost(ampacity, 'craft'), rule: 'craftNotAbove', inputs: [share] };
}

/** The largest device for a conductor of an ampacity under a practice. */
export function largestAllowed(ampacity: number, basis: Basis, severalReceptacles: boolean, device: Device): Allowed {
  if (basis === 'nec') return necLargest(ampacity, severalReceptacles);
  return basis === 'iec' ? iecLargest(ampacity, device) : craftLargest(ampacity);
}

export const largestProtection = defineFunction({
  name: 'largestProtection',
  group: GROUP,
  summary: 'Largest standard rating of a device that protects a conductor of an ampacity.',
  parameters: {
    ampacity: needs('current', 'A', 'ampacity of the conductor after all corrections', {
      minimum: 0,
      aboveMinimum: true,
    }),
    severalReceptacles: flag(false, 'whether it is a branch circuit to several receptacles for portable loads (nec)'),
    device: wordOr(DEVICES, 'breaker', 'breaker, or gG fuse, whose operating current is higher (iec)'),
    basis: basisParameter,
  },
  result: 'rating, A',
  worst: 'low',
  validity:
    'nec: 240.4(B) and (C), without the exceptions of 240.4(E) and (G); 14 to 10 AWG are limited further by `smallConductorLimit`. iec: overload coordination of 433.1. craft: 150 % of the ampacity at most.',
  sources: ['NEC 240.4(B), (C), 240.6(A)', 'IEC 60364-4-43:2008 433.1', 'ABYC E-11.10, from quotations'],
  examples: [
    {
      call: 'largestProtection(ampacity: 380 A)',
      gives: '400 A',
      source: '500 kcmil copper at 75 °C, public forum on NEC 240.4(B)',
    },
    {
      call: 'largestProtection(ampacity: 195 A)',
      gives: '200 A',
      source: 'NEC 240.4(B) for 300 kcmil aluminium TW; a forum answered 180 A, which is no standard rating',
    },
    {
      call: 'largestProtection(ampacity: 69.6 A, device: fuse, basis: iec)',
      gives: '63 A',
      source: 'hand calculation: 63 A · 1.6 / 1.45 = 69.5 A (IEC 60364-4-43 433.1)',
    },
  ],
  compute: ({ ampacity, severalReceptacles, device, basis }): Result => {
    const value = numberIn(ampacity, 'A');
    const allowed = largestAllowed(value, basis, severalReceptacles, device);
    if (allowed.rating === undefined)
      return refused(
        `no standard rating of ${tableName(RATING_TABLES[basis])} protects a conductor of ${formatNumber(value)} A`,
        'ampacity',
      );
    const derivation = ratingDerivation('largest protection', allowed.rating, basis, [ampacity, ...allowed.inputs], []);
    return known({ ...derivation, governing: [{ kind: 'clause', clause: allowed.rule }] });
  },
});

/** Largest device rating of a small conductor under NEC 240.4(D), A; undefined for sizes it does not limit. */
export function smallConductorRating(area: number, metal: Metal): number | undefined {
  // A metric size counts as the gauge next below it, which has less metal.
  const gauge = AWG_SERIES.findLast((size) => size.area <= area || sameSize(size.area, area));
  return gauge && necSmallConductors.rows.find((row) => sameSize(areaOfSize(row.size), gauge.area))?.[metal];
}

export const smallConductorLimit = defineFunction({
  name: 'smallConductorLimit',
  group: GROUP,
  summary: 'Largest overcurrent device of a small conductor under NEC 240.4(D).',
  parameters: { size: sizeParameter, metal: metalParameter },
  result: 'rating, A',
  worst: 'low',
  validity:
    '18 to 10 AWG copper, 12 and 10 AWG aluminium; larger sizes are not limited by it and are refused. 18 and 16 AWG under the conditions of 240.4(D)(1), (2); not for the circuits of 240.4(E) and (G).',
  sources: ['NEC 240.4(D)'],
  examples: [
    { call: 'smallConductorLimit(size: 12 AWG)', gives: '20 A', source: 'NEC 240.4(D)(5)' },
    { call: 'smallConductorLimit(size: 10 AWG, metal: aluminium)', gives: '25 A', source: 'NEC 240.4(D)(6)' },
  ],
  compute: ({ size, metal }): Result => {
    const rating = smallConductorRating(areaIn(size), metal);
    if (rating === undefined)
      return refused(`NEC 240.4(D) does not limit ${sizeText(areaIn(size))} ${metal}; it covers 18 to 10 AWG`, 'size');
    return known(
      fromTable('largest device of a small conductor', rating, 'A', sourceOf(necSmallConductors), {
        inputs: [size, wordInput('metal', metal)],
        ...(necSmallConductors.notes ? { notes: necSmallConductors.notes } : {}),
      }),
    );
  },
});
