/** What the cells of a bank allow at the temperatures that they reach. */
import { type Derivation, type Result, derive, fromTable, numberIn, refused } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { formatNumber, inUnit } from '../../quantity/index.js';
import { chemistry, lithiumChargeRateAt, lithiumChargeSteps } from '../../reference/energy/index.js';

/** Cell temperature of the figures, °C; that of banks which state none. */
export const REFERENCE_TEMPERATURE = 25;
/** K below a temperature from which on other figures of a table hold. */
const JUST_BELOW = 1e-6;

/** °C. */
interface Span {
  readonly low: number;
  readonly high: number;
}

export type CellUse = 'charge' | 'discharge';

const PROPERTY = { charge: 'chargeTemperature', discharge: 'dischargeTemperature' } as const;

const isHeated = (bank: Instance, context: DesignContext): boolean => context.maybe(bank, 'heater')?.value === true;

const rowOf = (bank: Instance, context: DesignContext) => {
  const word = context.maybe(bank, 'chemistry')?.value;
  return typeof word === 'string' ? chemistry(word) : undefined;
};

/**
 * °C between which the cells of a bank may be charged or discharged: by data sheet, else as usual for the chemistry. Cells that are warmed
 * before may be charged however cold it is. Undefined where nothing is known of them.
 */
export function cellsAllowed(bank: Instance, use: CellUse, context: DesignContext): Span | undefined {
  const stated = context.maybe(bank, PROPERTY[use])?.value;
  const usual = rowOf(bank, context)?.[PROPERTY[use]];
  const span = typeof stated === 'object' ? stated : usual && { low: usual.from, high: usual.to };
  return span && { low: use === 'charge' && isHeated(bank, context) ? -Infinity : span.low, high: span.high };
}

/** °C that the cells of a bank reach; the usual temperature where none is stated. */
export function cellsReach(bank: Instance, context: DesignContext): Span {
  const cells = context.maybe(bank, 'cellTemperature')?.value;
  return typeof cells === 'object' ? cells : { low: REFERENCE_TEMPERATURE, high: REFERENCE_TEMPERATURE };
}

/** Cells that get colder or hotter than they may be used. */
export interface CellsOutside {
  readonly use: CellUse;
  readonly end: 'cold' | 'hot';
  /** °C to which they may be used, and that they reach. */
  readonly limit: number;
  readonly reaches: number;
}

/** The end at which the cells of a bank get colder or hotter than they may be charged or discharged; the cold one first. */
export function cellsOutside(bank: Instance, use: CellUse, context: DesignContext): CellsOutside | undefined {
  const allowed = cellsAllowed(bank, use, context);
  const reached = cellsReach(bank, context);
  if (!allowed) return undefined;
  if (reached.low < allowed.low) return { use, end: 'cold', limit: allowed.low, reaches: reached.low };
  return reached.high > allowed.high ? { use, end: 'hot', limit: allowed.high, reaches: reached.high } : undefined;
}

/** That a bank is of no use at an end of what its cells reach, as a refusal; undefined where it is of use everywhere. */
export function refusedOutside(banks: readonly Instance[], use: CellUse, context: DesignContext): Result | undefined {
  for (const bank of banks) {
    const outside = cellsOutside(bank, use, context);
    if (!outside) continue;
    const { end, limit, reaches } = outside;
    const [beyond, adjective] = end === 'cold' ? ['below', 'cold'] : ['above', 'hot'];
    return refused(
      `${bank.name} ${use === 'charge' ? 'accepts no charge' : 'gives no charge'} ${beyond} ${formatNumber(limit)} °C, and its cells get as ${adjective} as ${formatNumber(reaches)} °C`,
      'cellTemperature',
    );
  }
  return undefined;
}

/** A of the whole bank that its management sends at °C by a table of its own; undefined where it states none. */
function sentByTemperature(
  bank: Instance,
  name: 'chargeByTemperature' | 'dischargeByTemperature',
  celsius: number,
  context: DesignContext,
): Derivation | undefined {
  const stated = bank.properties.get(name);
  if (stated?.value.type !== 'table' || stated.value.rows.length === 0) return undefined;
  const rows = stated.value.rows.map(({ key, value }) => [inUnit(key, 'degC'), value.value] as const);
  let at = rows.findIndex(([key]) => key >= celsius);
  if (at < 0) at = rows.length - 1;
  const [[low, less], [high, more]] = [rows[Math.max(0, at - 1)]!, rows[at]!];
  const share = celsius >= high || high === low ? 1 : Math.max(0, (celsius - low) / (high - low));
  const strings = context.maybe(bank, 'parallel');
  return derive(
    name === 'chargeByTemperature' ? 'charge current by temperature' : 'discharge current by temperature',
    (less + share * (more - less)) * (strings ? numberIn(strings, '') : 1),
    'A',
    {
      symbol: 'I',
      formula: `${name}(T)·n_p`,
      inputs: strings ? [strings] : [],
      notes: [`${name} of ${bank.name} at ${formatNumber(celsius, 3)} °C`],
      governing: [{ kind: 'cellTemperature', celsius: Number(celsius.toPrecision(3)) }],
    },
  );
}

/** °C at which tables of a bank change, or the published figures for lithium iron phosphate. */
function stepsOf(bank: Instance, context: DesignContext): readonly number[] {
  const stated = bank.properties.get('chargeByTemperature')?.value;
  if (stated?.type === 'table') return stated.rows.map(({ key }) => inUnit(key, 'degC'));
  return isChargedByTemperature(bank, context) ? lithiumChargeSteps().map((step) => step - JUST_BELOW) : [];
}

/** Whether what its cells take is known by their temperature. Cells that are warmed are charged when they are warm. */
export const isChargedByTemperature = (bank: Instance, context: DesignContext): boolean =>
  rowOf(bank, context)?.name === 'lfp' && !isHeated(bank, context);

/**
 * A that a bank takes at °C, with what led to it: by its own table, else for lithium iron phosphate by published figures. Undefined for
 * others, and where those take none.
 */
export function chargeByTemperature(bank: Instance, celsius: number, context: DesignContext): Derivation | undefined {
  const sent = sentByTemperature(bank, 'chargeByTemperature', celsius, context);
  if (sent) return sent;
  const capacity = context.quantity(bank, 'bankCapacity');
  if (!isChargedByTemperature(bank, context) || capacity.kind !== 'known') return undefined;
  const { rate, source } = lithiumChargeRateAt(celsius);
  if (rate <= 0) return undefined;
  const factor = fromTable('charge rate by temperature', rate, 'C', source, {
    symbol: 'r',
    notes: [`at ${formatNumber(celsius, 3)} °C`],
  });
  return derive('charge current by temperature', numberIn(capacity.derivation, 'Ah') * rate, 'A', {
    symbol: 'I',
    formula: 'C·r',
    inputs: [capacity.derivation, factor],
    governing: [{ kind: 'cellTemperature', celsius: Number(celsius.toPrecision(3)) }],
  });
}

/** A that a bank asks of chargers that hear it: its data sheet, for lithium iron phosphate also by temperature; infinite where nothing is known. */
export function chargeLimitAt(bank: Instance, celsius: number, context: DesignContext): number {
  const stated = context.quantity(bank, 'chargeCurrentLimit');
  const byTemperature = chargeByTemperature(bank, celsius, context);
  return Math.min(
    stated.kind === 'known' ? numberIn(stated.derivation, 'A') : Infinity,
    byTemperature ? numberIn(byTemperature, 'A') : Infinity,
  );
}

/** A beyond which inverters that hear a bank stop, by the temperature of its cells; infinite where it sends none. */
export function dischargeLimitAt(bank: Instance, celsius: number, context: DesignContext): number {
  const sent = sentByTemperature(bank, 'dischargeByTemperature', celsius, context);
  return sent ? numberIn(sent, 'A') : Infinity;
}

/**
 * °C at which a charge of some banks is looked at: the ends of what their cells reach, and in between where the figures by temperature change.
 * Banks of one bus stand together: what one cannot reach counts as its own end.
 */
export function cellCorners(banks: readonly Instance[], context: DesignContext): ((bank: Instance) => number)[] {
  const spans = new Map(banks.map((bank) => [bank, cellsReach(bank, context)]));
  const all = [...spans.values()];
  const [low, high] = [Math.min(...all.map((span) => span.low)), Math.max(...all.map((span) => span.high))];
  const steps = [...new Set(banks.flatMap((bank) => stepsOf(bank, context)))];
  const points = [...new Set([low, ...steps.filter((step) => step > low && step < high), high])];
  return points.map((celsius) => (bank) => {
    const span = spans.get(bank) ?? { low: celsius, high: celsius };
    return Math.min(span.high, Math.max(span.low, celsius));
  });
}

/** What a bank asks of chargers that hear it at each of the temperatures at which it is looked at; empty where nothing bounds it. */
function asked(bank: Instance, context: DesignContext): readonly Derivation[] {
  const stated = context.quantity(bank, 'chargeCurrentLimit');
  return cellCorners([bank], context).flatMap((corner) => {
    const byTemperature = chargeByTemperature(bank, corner(bank), context);
    const all = [...(stated.kind === 'known' ? [stated.derivation] : []), ...(byTemperature ? [byTemperature] : [])];
    return all.length === 0 ? [] : [all.reduce((so, next) => (numberIn(so, 'A') <= numberIn(next, 'A') ? so : next))];
  });
}

/** The least that a bank asks of chargers that hear it, over the temperatures of its cells; undefined where nothing bounds it. */
export const chargeAccepted = (bank: Instance, context: DesignContext): Derivation | undefined =>
  asked(bank, context).reduce<Derivation | undefined>(
    (so, next) => (so && numberIn(so, 'A') <= numberIn(next, 'A') ? so : next),
    undefined,
  );

/** The most of that. */
export const chargeMost = (bank: Instance, context: DesignContext): Derivation | undefined =>
  asked(bank, context).reduce<Derivation | undefined>(
    (so, next) => (so && numberIn(so, 'A') >= numberIn(next, 'A') ? so : next),
    undefined,
  );
