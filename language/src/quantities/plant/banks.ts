import { raise } from '../../quantity/index.js';
import { numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { storingOf } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { chemistry, openCircuitCurve, timeModel } from '../../reference/energy/index.js';
import { capacityShareAt } from './capacity.js';
import { REFERENCE_TEMPERATURE, cellsAllowed, chargeLimitAt, dischargeLimitAt } from './cell-limits.js';
import type { Facts } from './facts.js';
import { type Polarisation, polarisationOf } from './polarisation.js';
import type { SentBySoc, Sending } from '../../equipment/sent-limits.js';
import { type ChargeShare, type RestCurve, restCurve } from '../../equipment/bank-curve.js';
import type { PropertyName } from '../../equipment/index.js';
import type { Buses } from './wiring.js';

const SECONDS_PER_MONTH = 365.25 * 2 * 3600;
/** Ohm. */
const LEAST_RESISTANCE = 1e-6;

/** A bank as plain numbers in coherent SI, at one temperature of its cells. Nothing that changes while it works stands here. */
export interface BankNumbers extends ChargeShare, Sending {
  readonly name: string;
  readonly bus: number;
  /** C at that temperature. */
  readonly capacity: number;
  readonly curve: RestCurve;
  /** Of the bank itself, and of its leads to the bus; ohm, their sum above 0. */
  readonly resistance: number;
  readonly leads: number;
  /** What its voltage does beyond that under current; only lead-acid has any. */
  readonly polarisation?: Polarisation;
  /** Charge current taken per missing coulomb (1/s); infinite for cells that take what they are given. */
  readonly acceptance: number;
  /** Charge and discharge possible at that temperature. */
  readonly takesCharge: boolean;
  readonly givesCharge: boolean;
  /** Share of its charge it loses by itself in a second. */
  readonly selfDischarge: number;
  /** Rate effect: discharge above `ratedCurrent` draws (I/ratedCurrent)^(peukert − 1) as much. */
  readonly peukert: number;
  readonly ratedCurrent: number;
  /** V at its terminals at which the protection opens and closes again; infinite or 0 where there is none. */
  readonly protectionLow: number;
  readonly resetLow: number;
  readonly protectionHigh: number;
  readonly resetHigh: number;
  /** Whether the protection closes again by itself. */
  readonly resetsItself: boolean;
  /** A into the bank below which absorption ends. */
  readonly tail: number;
  /** V above which a bus that collapsed takes loads again. */
  readonly revive: number;
  /** °C of its cells. */
  readonly temperature: number;
}

/** A bank as numbers with its cells at a temperature (°C). Facts that lack are noted; the numbers are then of no use. */
export function bankNumbers(
  bank: Instance,
  temperature: number,
  context: DesignContext,
  buses: Buses,
  facts: Facts,
): BankNumbers | undefined {
  const word = context.maybe(bank, 'chemistry')?.value;
  const row = typeof word === 'string' ? chemistry(word) : undefined;
  const points = row && openCircuitCurve(row.name)?.points;
  if (!row || !points) {
    facts.lack(`chemistry of ${bank.name}`);
    return undefined;
  }
  const pole = storingOf(bank)!.at;
  const cells = facts.number(context.quantity(bank, 'cellCount'), '');
  const rated = 3600 * facts.aboveZero(context.quantity(bank, 'bankCapacity'), 'Ah');
  const count = (name: PropertyName): number => facts.number(context.fact(bank, name), '');
  const resistance = (facts.number(context.fact(bank, 'resistance'), 'ohm') * count('series')) / count('parallel');
  const { share, heldAt } = capacityShareAt(row.family, temperature);
  if (heldAt !== undefined)
    facts.assume(`the capacity of ${bank.name} is taken as at ${heldAt} °C, where the table ends`);
  if (row.name === 'nmc' && share < 1)
    facts.assume(`the capacity of ${bank.name} in the cold is that of lithium iron phosphate cells`);
  const capacity = rated * share;
  const isLead = row.family === 'lead';

  const charge = cellsAllowed(bank, 'charge', context)!;
  const discharge = cellsAllowed(bank, 'discharge', context)!;
  const takesCharge = temperature <= charge.high && temperature >= charge.low;
  if (!takesCharge)
    facts.assume(
      `${bank.name} accepts no charge: its cells are at ${temperature} °C, and it may be charged ${temperature > charge.high ? `up to ${charge.high} °C` : `from ${charge.low} °C up`}`,
    );

  const protection = protectionOf(bank, cells, row, context, facts);
  const peukert = context.maybe(bank, 'peukert');
  if (isLead && !peukert)
    facts.assume(
      `${bank.name} states no exponent of the rate effect (peukert): its capacity is taken as the same at every current`,
    );
  const hours = context.maybe(bank, 'capacityTime');
  const hasRateEffect = isLead && peukert !== undefined && numberIn(peukert, '') > 1;
  if (hasRateEffect && !hours) facts.lack(`capacityTime of ${bank.name}`);

  const polarisation = polarisationOf(row.name, cells, rated, temperature);
  if (polarisation)
    facts.assume(
      `the voltage of ${bank.name} under load follows Shepherd’s equation, within 0.08 V a cell of published curves of vented cells${row.name === 'flooded' ? '' : ' (its own constants are from memory)'}`,
    );
  const month = timeModel(`self-discharge-${row.name}`).value;
  const doubling = timeModel('self-discharge-doubling').value;
  facts.assume(
    `${bank.name} loses ${formatShare(month)} of its charge in a month at 25 °C, twice that for each ${doubling} K above (from memory)`,
  );
  return {
    name: bank.name,
    bus: buses.of(bank, pole),
    capacity,
    curve: restCurve(points, cells),
    // A bank without any resistance would hold its bus whatever is drawn.
    resistance: Math.max(LEAST_RESISTANCE, resistance),
    leads: buses.leads(bank, pole),
    ...(polarisation ? { polarisation } : {}),
    efficiency: isLead ? timeModel('lead-charge-share').value : row.chargeEfficiency,
    efficiencyFull: isLead ? timeModel('lead-charge-share-full').value : row.chargeEfficiency,
    knee: isLead ? timeModel('lead-charge-knee').value : 1,
    acceptance: isLead ? timeModel('lead-acceptance').value / 3600 : Infinity,
    chargeLimit: chargeLimitAt(bank, temperature, context),
    dischargeLimit: dischargeLimitAt(bank, temperature, context),
    ...sentBySoc(bank, context),
    takesCharge,
    givesCharge: temperature >= discharge.low && temperature <= discharge.high,
    selfDischarge: (month / SECONDS_PER_MONTH) * raise(2, (temperature - REFERENCE_TEMPERATURE) / doubling),
    peukert: hasRateEffect ? numberIn(peukert, '') : 1,
    ratedCurrent: hasRateEffect && hours ? rated / numberIn(hours, 's') : Infinity,
    ...protection,
    resetsItself: context.maybe(bank, 'reset')?.value !== 'manual',
    tail: row.tail * (rated / 3600),
    revive: row.reconnect.from * cells,
    temperature,
  };
}

/** What its management sends by state of charge, all strings together. */
export function sentBySoc(bank: Instance, context: DesignContext): Pick<Sending, 'chargeBySoc' | 'dischargeBySoc'> {
  const strings = context.maybe(bank, 'parallel');
  const times = strings ? numberIn(strings, '') : 1;
  const read = (name: PropertyName): SentBySoc | undefined => {
    const stated = bank.properties.get(name)?.value;
    if (stated?.type !== 'table' || stated.rows.length === 0) return undefined;
    return {
      soc: Float64Array.from(stated.rows, ({ key }) => key.value),
      amperes: Float64Array.from(stated.rows, ({ value }) => times * value.value),
    };
  };
  const [charge, discharge] = [read('chargeBySoc'), read('dischargeBySoc')];
  return { ...(charge ? { chargeBySoc: charge } : {}), ...(discharge ? { dischargeBySoc: discharge } : {}) };
}

function protectionOf(
  bank: Instance,
  cells: number,
  row: { readonly protection: { from: number; to: number } | null; readonly reconnect: { from: number } },
  context: DesignContext,
  facts: Facts,
): Pick<BankNumbers, 'protectionLow' | 'resetLow' | 'protectionHigh' | 'resetHigh'> {
  const series = context.maybe(bank, 'series');
  const times = series ? numberIn(series, '') : 1;
  const volts = (name: PropertyName): number | undefined => {
    const stated = context.maybe(bank, name);
    return stated && numberIn(stated, 'V') * times;
  };
  const low = volts('protectionLow') ?? (row.protection ? row.protection.from * cells : 0);
  const high = volts('protectionHigh') ?? (row.protection ? row.protection.to * cells : Infinity);
  if (row.protection && volts('protectionLow') === undefined)
    facts.assume(
      `the BMS of ${bank.name} is taken to disconnect at ${formatVolts(low)} on discharge and ${formatVolts(high)} on charge, as usual for its chemistry`,
    );
  return {
    protectionLow: low,
    resetLow: Math.max(low, row.reconnect.from * cells),
    protectionHigh: high,
    resetHigh: high * timeModel('protection-high-reset-share').value,
  };
}

const formatShare = (share: number): string => `${Number((share * 100).toPrecision(3))} %`;
const formatVolts = (volts: number): string => `${Number(volts.toPrecision(4))} V`;
