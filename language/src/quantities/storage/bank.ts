import { mayStore } from '../../equipment/index.js';
import { chargingOf } from '../../model/roles.js';
import type { PropertyName } from '../../equipment/index.js';
import { callFunction } from '../../calculate/index.js';
import { calculation } from '../calculation.js';
import {
  type Reason,
  type Derivation,
  type Result,
  derive,
  fromTable,
  known,
  missing,
  numberIn,
} from '../../derivation/index.js';
import type { Instance } from '../../model/types.js';
import { chemistry, chemistrySource } from '../../reference/energy/chemistries.js';
import { type QuantityContext, defineQuantity, instance } from '../define.js';
import { chargersOf, modulesBehind, workingChargers } from '../supply/joined.js';
import { type Around, chargerOutput, heldVoltage, setPointsOf } from '../plant/chargers.js';
import { driveOf } from '../plant/drive.js';
import { Facts } from '../plant/facts.js';
import { MODULES_KEEP, modulesKeep } from '../plant/modules.js';
import { busSupply } from '../plant/regulators.js';
import { busesOf } from '../plant/wiring.js';
import { collect, sumOf, whenKnown, worstOfStates } from '../worst.js';

/** A product `factor · unit value` of a bank, with its derivation. */
export function scaled(
  name: string,
  symbol: string,
  unit: string,
  base: Derivation,
  count: Derivation,
  baseSymbol: string,
  countSymbol: string,
): Result {
  const value = base.value;
  if (typeof value !== 'object') return missing(name);
  const n = numberIn(count, '');
  const shown = derive(name, numberIn(base, unit) * n, unit, {
    symbol,
    formula: `${baseSymbol}·${countSymbol}`,
    inputs: [
      { ...base, symbol: baseSymbol },
      { ...count, symbol: countSymbol },
    ],
  });
  const scale = numberIn(base, unit) === 0 ? 0 : (shown.value as { value: number }).value / value.value;
  const ranged = {
    ...(shown.value as object),
    low: value.low * scale,
    high: value.high * scale,
  } as Derivation['value'];
  return known({ ...shown, value: ranged });
}

const seriesTimes =
  (property: PropertyName, name: string, symbol: string, baseSymbol: string) =>
  (thing: Instance, context: QuantityContext): Result =>
    whenKnown(context.fact(thing, property), (base) =>
      whenKnown(context.fact(thing, 'series'), (count) => scaled(name, symbol, 'V', base, count, baseSymbol, 'n_s')),
    );

const parallelTimes =
  (property: PropertyName, name: string, symbol: string, unit: string, baseSymbol: string) =>
  (thing: Instance, context: QuantityContext): Result =>
    whenKnown(context.fact(thing, property), (base) =>
      whenKnown(context.fact(thing, 'parallel'), (count) => scaled(name, symbol, unit, base, count, baseSymbol, 'n_p')),
    );

/** Cells in series in the whole bank. */
export const cells = defineQuantity({
  name: 'cellCount',
  of: [mayStore],
  doc: 'Cells in series in the bank.',
  unit: '1',
  compute: (thing, context) =>
    whenKnown(context.fact(thing, 'series'), (series) => {
      const stated = context.fact(thing, 'cells');
      if (stated.kind === 'known')
        return known(
          derive('cells in series', numberIn(stated.derivation, '') * numberIn(series, ''), '', {
            symbol: 'n_c',
            formula: 'cells·n_s',
            inputs: [stated.derivation, { ...series, symbol: 'n_s' }],
          }),
        );
      // A unit's nominal voltage over the nominal cell voltage gives the cells where the product is a whole number.
      const name = context.maybe(thing, 'chemistry');
      const volts = context.maybe(thing, 'voltage');
      const row = typeof name?.value === 'string' ? chemistry(name.value) : undefined;
      if (!row || !volts)
        return missing(...(row ? [] : [`chemistry of ${thing.name}`]), ...(volts ? [] : [`voltage of ${thing.name}`]));
      const quotient = numberIn(volts, 'V') / row.nominal;
      const whole = Math.round(quotient);
      // `48 V` is the trade's round name for 15 and for 16 lithium cells: a set point that suits one harms the other.
      if (row.family === 'lithium' && isRoundName(numberIn(volts, 'V')) && countsNear(quotient) > 1)
        return missing(`cells of ${thing.name}`);
      if (Math.abs(quotient - whole) > 0.08 * whole || whole === 0) return missing(`cells of ${thing.name}`);
      const cell = fromTable('nominal cell voltage', row.nominal, 'V', chemistrySource(row.name, 'nominal'), {
        symbol: 'U_cell',
      });
      return known(
        derive('cells in series', whole * numberIn(series, ''), '', {
          symbol: 'n_c',
          formula: 'round(U/U_cell)·n_s',
          inputs: [volts, cell, { ...series, symbol: 'n_s' }],
        }),
      );
    }),
});

/** Whether a voltage is one of the trade's names of battery classes: 12, 24, 36, 48 V and so on. */
const isRoundName = (volts: number): boolean => Math.abs(volts / 12 - Math.round(volts / 12)) < 1e-9;

/** How many whole cell counts lie within 7 % of a quotient: 12.8 V is called 12 V and 51.2 V is called 48 V. */
const countsNear = (quotient: number): number =>
  [Math.floor(quotient), Math.ceil(quotient), Math.ceil(quotient) + 1].filter(
    (count, index, all) => count > 0 && all.indexOf(count) === index && Math.abs(quotient - count) <= 0.07 * count,
  ).length;

/** A figure of the chemistry table times the cells in series. */
export function cellVoltage(
  thing: Instance,
  context: QuantityContext,
  name: string,
  symbol: string,
  pick: 'nominal' | 'chargeMost' | 'absorbMin' | 'absorbMax' | 'protectionLow' | 'cutOff' | 'floatMax',
): Result {
  const word = context.maybe(thing, 'chemistry')?.value;
  const row = typeof word === 'string' ? chemistry(word) : undefined;
  if (!row) return missing(`chemistry of ${thing.name}`);
  const figures: Record<typeof pick, [number | undefined, Parameters<typeof chemistrySource>[1]]> = {
    nominal: [row.nominal, 'nominal'],
    chargeMost: [row.chargeMost, 'chargeMost'],
    absorbMin: [row.absorb.from, 'absorb'],
    absorbMax: [row.absorb.to, 'absorb'],
    protectionLow: [row.protection?.from ?? row.cutOff.from, 'protection'],
    cutOff: [row.cutOff.from, 'cutOff'],
    floatMax: [row.float?.to, 'float'],
  };
  const [figure, field] = figures[pick];
  if (figure === undefined) return missing(`${name} of ${thing.name}`);
  return whenKnown(context.quantity(thing, 'cellCount'), (count) => {
    const cell = fromTable(`${name} of one ${row.title} cell`, figure, 'V', chemistrySource(row.name, field), {
      symbol: 'U_cell',
    });
    return known(
      derive(name, figure * numberIn(count, ''), 'V', { symbol, formula: 'U_cell·n_c', inputs: [cell, count] }),
    );
  });
}

export const bankVoltage = defineQuantity({
  name: 'bankVoltage',
  of: [mayStore],
  doc: 'Nominal voltage of the bank.',
  unit: 'V',
  compute: (thing, context) =>
    seriesTimes('voltage', 'nominal bank voltage', 'U_nom', 'U_unit')(instance(thing), context),
});

export const bankCapacity = defineQuantity({
  name: 'bankCapacity',
  of: [mayStore],
  doc: 'Rated capacity of the bank.',
  unit: 'Ah',
  compute: (thing, context) =>
    parallelTimes('capacity', 'bank capacity', 'C', 'Ah', 'C_unit')(instance(thing), context),
});

export const bankEnergy = defineQuantity({
  name: 'energy',
  of: [mayStore],
  doc: 'Rated energy of the bank.',
  unit: 'Wh',
  compute: (thing, context) => {
    const facts = {
      capacity: context.fact(thing, 'capacity'),
      voltage: context.fact(thing, 'voltage'),
      series: context.fact(thing, 'series'),
      parallel: context.fact(thing, 'parallel'),
    };
    const all = collect(Object.values(facts));
    if (!all.ok) return all.result;
    return callFunction(
      calculation('bankEnergy'),
      Object.fromEntries(Object.keys(facts).map((key, index) => [key, all.derivations[index]])),
    );
  },
});

export const bankResistance = defineQuantity({
  name: 'bankResistance',
  of: [mayStore],
  doc: 'Internal resistance of the bank.',
  unit: 'ohm',
  compute: (thing, context) => {
    const facts = [context.fact(thing, 'resistance'), context.fact(thing, 'series'), context.fact(thing, 'parallel')];
    const all = collect(facts);
    if (!all.ok) return all.result;
    const [cell, series, parallel] = all.derivations as [Derivation, Derivation, Derivation];
    return callFunction(calculation('bankResistance'), { cell, series, parallel });
  },
});

/** Whether electronics of a bank open where it is discharged too deeply: as stated, else as usual for its chemistry. */
export function isProtected(bank: Instance, context: QuantityContext): boolean {
  const word = context.maybe(bank, 'chemistry')?.value;
  return (
    context.maybe(bank, 'protectionLow') !== undefined ||
    (typeof word === 'string' && (chemistry(word)?.protection ?? null) !== null)
  );
}

/** Lowest voltage the bank is worked at: where its own protection opens, or the lowest cut-off of its chemistry. */
export const lowestVoltage = defineQuantity({
  name: 'lowestVoltage',
  of: [mayStore],
  doc: 'Lowest voltage at which the bank still delivers: where its BMS disconnects, by data sheet or by chemistry. Lead has none: what draws from it must end there (see `load-cutoff` and `inverter-cutoff`), and what a cut-off lets through while it is held for seconds is not counted.',
  unit: 'V',
  bound: 'least',
  compute: (thing, context) => {
    const stated = seriesTimes('protectionLow', 'lowest bank voltage', 'U_min', 'U_low')(instance(thing), context);
    return stated.kind === 'known'
      ? stated
      : cellVoltage(instance(thing), context, 'lowest bank voltage', 'U_min', 'protectionLow');
  },
});

export const protectionHigh = defineQuantity({
  name: 'protectionVoltage',
  of: [mayStore],
  doc: 'Voltage at which the BMS of the bank disconnects on charge.',
  unit: 'V',
  compute: (thing, context) =>
    seriesTimes(
      'protectionHigh',
      'voltage at which the BMS disconnects on charge',
      'U_prot',
      'U_high',
    )(instance(thing), context),
});

/** Highest charge voltage the bank accepts: by data sheet, else by chemistry. */
export const chargeVoltageLimit = defineQuantity({
  name: 'chargeVoltageLimit',
  of: [mayStore],
  doc: 'Highest charge voltage the bank accepts, by data sheet or by chemistry.',
  unit: 'V',
  compute: (thing, context) => {
    const stated = seriesTimes('chargeLimit', 'highest charge voltage', 'U_chg', 'U_limit')(instance(thing), context);
    return stated.kind === 'known'
      ? stated
      : cellVoltage(instance(thing), context, 'highest charge voltage', 'U_chg', 'chargeMost');
  },
});

/** Highest voltage on the bank's bus: the highest set point of any charger, else what the bank accepts. */
export const highestVoltage = defineQuantity({
  name: 'highestVoltage',
  of: [mayStore],
  doc: 'Highest voltage on the bank: the highest set point of its chargers, else the highest charge voltage of the bank.',
  unit: 'V',
  bound: 'most',
  compute: (thing, context) => {
    const cells = context.maybe(thing, 'cellTemperature');
    const points = chargersOf(instance(thing), context).flatMap((charger) =>
      setPointsOf(charger, context).map(({ name, point }): { readonly volts: Derivation; readonly reason: Reason } => {
        const held = heldVoltage(charger, point, cells, context, 'most');
        if (held !== point && numberIn(held, 'V') > numberIn(point, 'V')) {
          const reason = { kind: 'coldCompensation' } as const;
          return { volts: { ...held, governing: [reason] }, reason };
        }
        const isSystem = charger.properties.get(name)?.value.type === 'system';
        return {
          volts: point,
          reason: { kind: 'setPoint', subject: charger.name, property: isSystem ? undefined : name },
        };
      }),
    );
    if (points.length === 0)
      return whenKnown(context.quantity(thing, 'chargeVoltageLimit'), (limit) =>
        known({ ...limit, name: 'highest bank voltage', symbol: 'U_max', governing: [{ kind: 'noSetPoint' }] }),
      );
    const top = points.reduce((so, next) => (numberIn(next.volts, 'V') > numberIn(so.volts, 'V') ? next : so));
    return known(
      derive('highest bank voltage', numberIn(top.volts, 'V'), 'V', {
        symbol: 'U_max',
        formula: 'highest charger set point',
        inputs: points.map(({ volts }) => volts),
        governing: [top.reason],
      }),
    );
  },
});

export const chargeCurrentLimit = defineQuantity({
  name: 'chargeCurrentLimit',
  of: [mayStore],
  doc: 'Highest continuous charge current of the bank, all strings together.',
  unit: 'A',
  compute: (thing, context) =>
    parallelTimes(
      'maximumCharge',
      'charge current limit of the bank',
      'I_chg',
      'A',
      'I_unit',
    )(instance(thing), context),
});

export const dischargeCurrentLimit = defineQuantity({
  name: 'dischargeCurrentLimit',
  of: [mayStore],
  doc: 'Highest continuous discharge current of the bank, all strings together.',
  unit: 'A',
  compute: (thing, context) =>
    parallelTimes(
      'maximumDischarge',
      'discharge current limit of the bank',
      'I_dis',
      'A',
      'I_unit',
    )(instance(thing), context),
});

/** Current of all chargers that can charge the bank at once, in the worst state. */
export const chargeCurrent = defineQuantity({
  name: 'chargeCurrent',
  of: [mayStore],
  doc: 'Current of all chargers together at their set limits, in the source state where it is largest.',
  unit: 'A',
  bound: 'most',
  compute: (thing, context) =>
    worstOfStates(
      'charge current of all chargers',
      'I_chg',
      'A',
      context.circuitStates.map(({ state, circuit }) => {
        const working = workingChargers(instance(thing), state, circuit, context);
        const all = collect(working.map((charger) => chargingCurrent(charger, instance(thing), context)));
        return { state, result: all.ok ? known(sumOf('charge current', 'I_chg', 'A', all.derivations)) : all.result };
      }),
    ),
});

/**
 * Current a charging device pushes into a bank: the most, or what is left with soiling and mismatch of its modules for the least. A charge
 * controller gives no more than the modules behind it.
 */
export function chargingCurrent(
  charger: Instance,
  bank: Instance,
  context: QuantityContext,
  wanted: 'least' | 'most' = 'most',
): Result {
  if (chargingOf(charger)?.isUnregulated)
    return whenKnown(context.quantity(charger, 'arrayCurrent'), (current) =>
      known({ ...current, name: `output current of ${charger.name}`, subject: charger.name }),
    );
  const modules = modulesBehind(charger, context);
  // What a controller could pass is not what its modules give: without their facts nothing is known of them.
  const found = modules.length > 0 ? modulesAround(charger, modules, bank, context, wanted) : undefined;
  if (found && !found.ok) return found.result;
  const own = context.quantity(charger, 'outputCurrent');
  if (wanted === 'least' && driveOf(charger)) return drivenCurrent(charger, bank, context);
  const around = found ? found.around : supplyAroundConverter(charger, bank, context, wanted);
  if (!around) return own;
  const withModules = chargerOutput(charger, context, around, 'most');
  if (withModules.kind !== 'known') return found ? withModules : own;
  return known({
    ...withModules.derivation,
    name: `output current of ${charger.name}`,
    subject: charger.name,
    symbol: `I_${charger.name}`,
  });
}

/** The least that a driven source pushes into a bank: at the highest voltage of the bank, in the poorest month or the one it names. */
const drivenCurrent = (source: Instance, bank: Instance, context: QuantityContext): Result =>
  whenKnown(context.quantity(bank, 'highestVoltage'), (volts) =>
    whenKnown(chargerOutput(source, context, { volts }, 'least'), (current) =>
      known({ ...current, name: `output current of ${source.name}`, symbol: `I_${source.name}` }),
    ),
  );

/** What the sources before a converter can give it, where the least that it charges with is wanted. */
function supplyAroundConverter(
  converter: Instance,
  bank: Instance,
  context: QuantityContext,
  wanted: 'least' | 'most',
): Around | undefined {
  const watts = wanted === 'least' ? busSupply(converter, context, busesOf(context, new Facts())) : undefined;
  const volts = context.quantity(bank, 'highestVoltage');
  if (watts === undefined || volts.kind !== 'known') return undefined;
  const supplyPower = derive(`what the sources before ${converter.name} give`, watts, 'W', { symbol: 'P_supply' });
  return { supplyPower, volts: volts.derivation };
}

/** What soiling and mismatch leave of the output of modules, where the least is wanted. */
const kept = (output: Derivation, unit: 'A' | 'W', wanted: 'least' | 'most'): Derivation =>
  wanted === 'most'
    ? output
    : derive(output.name, numberIn(output, unit) * MODULES_KEEP, unit, {
        ...(output.symbol ? { symbol: output.symbol } : {}),
        formula: `${output.symbol ?? 'P'}·k_a`,
        inputs: [output, modulesKeep],
      });

/** What the modules behind a charge controller give into a bank at standard test conditions, at its nominal voltage. */
function modulesAround(
  controller: Instance,
  modules: readonly Instance[],
  bank: Instance,
  context: QuantityContext,
  wanted: 'least' | 'most',
): { readonly ok: true; readonly around: Around } | { readonly ok: false; readonly result: Result } {
  if (context.maybe(controller, 'tracking')?.value === 'pwm') {
    const currents = collect(
      modules.map((each) =>
        whenKnown(context.fact(each, 'shortCircuitCurrent'), (current) =>
          whenKnown(context.fact(each, 'parallel'), (strings) =>
            known(
              derive(`current of ${each.name}`, numberIn(current, 'A') * numberIn(strings, ''), 'A', {
                symbol: `I_${each.name}`,
                formula: 'I_sc·n_p',
                inputs: [current, strings],
              }),
            ),
          ),
        ),
      ),
    );
    return currents.ok
      ? {
          ok: true,
          around: {
            moduleCurrent: kept(sumOf('current of the modules', 'I_modules', 'A', currents.derivations), 'A', wanted),
          },
        }
      : currents;
  }
  const all = collect([
    context.quantity(bank, 'bankVoltage'),
    ...modules.map((each) => context.quantity(each, 'arrayPower')),
  ]);
  if (!all.ok) return all;
  const [volts, ...powers] = all.derivations as [Derivation, ...Derivation[]];
  return {
    ok: true,
    around: { modulePower: kept(sumOf('power of the modules', 'P_modules', 'W', powers), 'W', wanted), volts },
  };
}

export const bankQuantities = [
  cells,
  bankVoltage,
  bankCapacity,
  bankEnergy,
  bankResistance,
  lowestVoltage,
  highestVoltage,
  protectionHigh,
  chargeVoltageLimit,
  chargeCurrentLimit,
  dischargeCurrentLimit,
  chargeCurrent,
];
