/** What the sun, water and wind bring into banks on a day of each month, and what the loads take: a balance without playing. */
import { type Derivation, type Result, becauseOf, derive, fromTable, known, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { isArray, isArrayCharger } from '../../model/roles.js';
import { wordIn } from '../../model/stated-facts.js';
import type { Instance } from '../../model/types.js';
import { chemistry, chemistrySource } from '../../reference/energy/chemistries.js';
import { chargerOutput } from '../plant/chargers.js';
import { driveByMonth, driveOf } from '../plant/drive.js';
import { meanLoad } from '../storage/storage.js';
import { arraysOf, chargersOf } from '../supply/joined.js';
import { MONTH_NAMES } from '../supply/months.js';
import { collect, sumOf, whenKnown } from '../worst.js';
import { DAYS_IN_MONTH } from './dates.js';
import { monthYields } from './month-yields.js';

/** The months of a value that has one for each, the first January. */
export const monthsOf = (derivation: Derivation): Derivation[] =>
  MONTH_NAMES.map((_, month) => derivation.parts[`month${month + 1}`]!);

/** The least of twelve days, with every month in its parts. */
export function poorestOf(months: readonly Derivation[]): Derivation {
  const poorest = months.reduce((so, next) => (numberIn(next, 'Wh') < numberIn(so, 'Wh') ? next : so));
  return { ...poorest, parts: Object.fromEntries(months.map((each, month) => [`month${month + 1}`, each])) };
}

/** A year of days that are known by month. */
export function yearOf(name: string, symbol: string, months: readonly Derivation[]): Derivation {
  const energy = months.reduce((sum, day, month) => sum + numberIn(day, 'Wh') * DAYS_IN_MONTH[month]!, 0);
  return derive(name, energy, 'Wh', {
    symbol,
    formula: 'Σ days·W_day',
    inputs: months.map((month) => ({ ...month, symbol: 'W_day' })),
  });
}

/** What an array brings into a bank on a day of its poorest month, with every month beside it. */
function arrayIn(array: Instance, controller: Instance, bank: Instance, context: DesignContext): Result {
  const voltage = context.quantity(bank, 'bankVoltage');
  if (voltage.kind !== 'known') return voltage;
  // A switching controller ties the modules to the voltage of the bank and loses next to nothing itself; without any they are tied to it as well.
  if (controller === array || wordIn(controller.properties, 'tracking') === 'pwm')
    return monthYields(array, numberIn(voltage.derivation, 'V'), context);
  const all = collect([monthYields(array, undefined, context), context.fact(controller, 'efficiency')]);
  if (!all.ok) return all.result;
  const [yields, efficiency] = all.derivations as [Derivation, Derivation];
  const eta = numberIn(efficiency, '');
  const through = (each: Derivation): Derivation =>
    derive(`${each.name}, through ${controller.name}`, numberIn(each, 'Wh') * eta, 'Wh', {
      symbol: `W_${array.name}`,
      formula: 'W·η',
      inputs: [each, efficiency],
      ...becauseOf(each),
    });
  const parts = Object.fromEntries(Object.entries(yields.parts).map(([month, each]) => [month, through(each)]));
  return known({ ...through(yields), parts });
}

/** What a driven source gives at a voltage on a day of each month, by day and by night; the value is that of the poorest. */
export function drivenDay(source: Instance, voltage: Derivation, context: DesignContext): Result {
  const all = collect(
    driveByMonth(source, 'least', context)!.map((power, month) => {
      if (power.kind !== 'known') return power;
      const around = { volts: voltage, drive: power.derivation };
      return whenKnown(chargerOutput(source, context, around, 'least'), (current) => {
        const watts = numberIn(current, 'A') * numberIn(voltage, 'V');
        return known(
          derive(`yield of ${source.name} on a day in ${MONTH_NAMES[month]!}`, watts * 24, 'Wh', {
            symbol: `W_${source.name}`,
            formula: 'I·U·24 h',
            inputs: [current, voltage],
            governing: [{ kind: 'month', month: month + 1 }],
          }),
        );
      });
    }),
  );
  return all.ok ? known(poorestOf(all.derivations)) : all.result;
}

const drivenIn = (source: Instance, bank: Instance, context: DesignContext): Result =>
  whenKnown(context.quantity(bank, 'bankVoltage'), (voltage) => drivenDay(source, voltage, context));

/** What must be brought in on a day: the mean load for 24 h at nominal voltage, over the charge efficiency of the chemistry. */
function wantedOnADay(bank: Instance, load: Derivation, voltage: Derivation, context: DesignContext): Derivation {
  const name = context.maybe(bank, 'chemistry')?.value;
  const row = typeof name === 'string' ? chemistry(name) : undefined;
  const efficiency = row
    ? fromTable('charge efficiency', row.chargeEfficiency, '', chemistrySource(row.name, 'chargeEfficiency'), {
        symbol: 'η',
      })
    : derive('charge efficiency', 1, '', { symbol: 'η', notes: ['chemistry not stated: no loss'] });
  return derive(
    'what the loads take on a day',
    (numberIn(load, 'A') * numberIn(voltage, 'V') * 24) / numberIn(efficiency, ''),
    'Wh',
    { symbol: 'W_load', formula: 'I_load·U·24 h/η', inputs: [load, voltage, efficiency] },
  );
}

/** What brings energy to the bus of a bank that follows sun, water or wind. */
export interface Bringing {
  /** Arrays and driven sources. */
  readonly sources: readonly Instance[];
  /** What else charges the bus. */
  readonly others: readonly Instance[];
}

/** The arrays that charge a bus, each with the controller it charges through; itself where it is tied to the bus. */
function arraysAt(bank: Instance, context: DesignContext): { array: Instance; controller: Instance }[] {
  return chargersOf(bank, context).flatMap((charger) =>
    isArray(charger)
      ? [{ array: charger, controller: charger }]
      : isArrayCharger(charger)
        ? arraysOf(charger, context).map((array) => ({ array, controller: charger }))
        : [],
  );
}

export function bringingTo(bank: Instance, context: DesignContext): Bringing {
  const chargers = chargersOf(bank, context);
  const driven = chargers.filter((each) => driveOf(each) !== undefined);
  return {
    sources: [...arraysAt(bank, context).map(({ array }) => array), ...driven],
    others: chargers.filter((each) => !isArray(each) && !isArrayCharger(each) && !driven.includes(each)),
  };
}

/** The balance of the banks of a bus. */
export interface MonthBalance {
  /** What is brought in on a day of each month, the first January, and what the loads take on any day. */
  readonly brought: readonly Derivation[];
  readonly wanted: Derivation;
}

export function monthBalance(
  bank: Instance,
  context: DesignContext,
): MonthBalance | Exclude<Result, { kind: 'known' }> {
  const load = meanLoad(bank, context);
  const all = collect([
    load,
    context.quantity(bank, 'bankVoltage'),
    ...arraysAt(bank, context).map(({ array, controller }) => arrayIn(array, controller, bank, context)),
    ...chargersOf(bank, context)
      .filter((each) => driveOf(each) !== undefined)
      .map((source) => drivenIn(source, bank, context)),
  ]);
  if (!all.ok) return all.result as Exclude<Result, { kind: 'known' }>;
  const [mean, voltage, ...yields] = all.derivations as [Derivation, Derivation, ...Derivation[]];
  return {
    wanted: wantedOnADay(bank, mean, voltage, context),
    brought: MONTH_NAMES.map((_, month) =>
      sumOf(
        'what is brought in on a day',
        'W_in',
        'Wh',
        yields.map((each) => each.parts[`month${month + 1}`]!),
        { kind: 'month', month: month + 1 },
      ),
    ),
  };
}
