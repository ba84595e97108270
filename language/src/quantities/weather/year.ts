/** Days and years of sources and banks, by month and without playing. */
import { mayBeCurtailed, mayBurnFuel, mayStore, mayTakeSun, mayUse } from '../../equipment/index.js';
import { type Derivation, type Result, derive, known, missing, numberIn } from '../../derivation/index.js';
import type { Instance, Thing } from '../../model/types.js';
import { isArray, isLoad, isSet } from '../../model/roles.js';
import { type QuantityContext, defineQuantity, instance } from '../define.js';
import { driveOf } from '../plant/drive.js';
import { banksAt } from '../supply/joined.js';
import { MONTH_NAMES } from '../supply/months.js';
import { collect, whenKnown } from '../worst.js';
import { bringingTo, drivenDay, monthBalance, monthsOf, poorestOf, yearOf } from './balance.js';
import { DAYS_IN_MONTH } from './dates.js';
import { monthYields } from './month-yields.js';

const DAYS = DAYS_IN_MONTH.reduce<number>((sum, days) => sum + days, 0);

const arrayDay = defineQuantity({
  name: 'dailyEnergy',
  of: [mayTakeSun],
  doc: 'What it can give at maximum power on a day of its poorest month, from the site’s clearness by month; `.month1` to `.month12` are the months.',
  unit: 'Wh',
  bound: 'least',
  compute: (thing, context) => monthYields(instance(thing), undefined, context),
});

/** What a driven source gives at the voltage of its bank, else at its own. */
function drivenEnergy(source: Instance, context: QuantityContext): Result {
  if (!driveOf(source)) return missing(`what drives ${source.name}`);
  const [bank] = banksAt(source, context);
  return whenKnown(bank ? context.quantity(bank, 'bankVoltage') : context.fact(source, 'voltage'), (volts) =>
    drivenDay(source, volts, context),
  );
}

const drivenDayQuantity = defineQuantity({
  name: 'dailyEnergy',
  of: [(can) => mayBeCurtailed(can) && !mayTakeSun(can)],
  doc: 'What it gives by day and by night on a day of its poorest month; `.month1` to `.month12` are the months.',
  unit: 'Wh',
  bound: 'least',
  compute: (thing, context) => drivenEnergy(instance(thing), context),
});

const setDay = defineQuantity({
  name: 'dailyEnergy',
  of: [mayBurnFuel],
  doc: 'What it gives in a day for the loads, with no other source: its mean power for its daily run time.',
  unit: 'Wh',
  compute: (thing, context) => {
    const all = collect([context.quantity(thing, 'meanPower'), context.quantity(thing, 'dailyRunTime')]);
    if (!all.ok) return all.result;
    const [power, time] = all.derivations as [Derivation, Derivation];
    return known(
      derive(`energy of ${thing.name} in a day`, numberIn(power, 'W') * numberIn(time, 'h'), 'Wh', {
        symbol: 'W_day',
        formula: 'P_m·t',
        inputs: [power, time],
      }),
    );
  },
});

const yearlyEnergy = defineQuantity({
  name: 'yearlyEnergy',
  of: [mayUse, mayBurnFuel, mayBeCurtailed],
  doc: 'Energy of a year: what a load uses, what an array or a turbine can give month by month, what a generator gives with no other source.',
  unit: 'Wh',
  compute: (thing, context) =>
    whenKnown(context.quantity(thing, 'dailyEnergy'), (day) => {
      const name = `energy of ${thing.name} in a year`;
      const each = instance(thing);
      if (isArray(each) || !(isLoad(each) || isSet(each))) return known(yearOf(name, 'W_a', monthsOf(day)));
      return known(
        derive(name, numberIn(day, 'Wh') * DAYS, 'Wh', {
          symbol: 'W_a',
          formula: '365·W_day',
          inputs: [{ ...day, symbol: 'W_day' }],
        }),
      );
    }),
});

/** What a balance leaves out. */
const notesOf = (bank: Instance, context: QuantityContext): string[] => {
  const { others } = bringingTo(bank, context);
  return others.length > 0
    ? [`without ${others.map(({ name }) => name).join(', ')}: what is missing they have to bring`]
    : [];
};

function leftOnADay(bank: Instance, context: QuantityContext): Result {
  if (bringingTo(bank, context).sources.length === 0) return missing(`an array or a turbine that charges ${bank.name}`);
  const found = monthBalance(bank, context);
  if ('kind' in found) return found;
  const notes = notesOf(bank, context);
  return known(
    poorestOf(
      found.brought.map((brought, month) =>
        derive(
          `balance of ${bank.name} on a day in ${MONTH_NAMES[month]!}`,
          numberIn(brought, 'Wh') - numberIn(found.wanted, 'Wh'),
          'Wh',
          {
            symbol: 'W_left',
            formula: 'W_in − W_load',
            inputs: [brought, found.wanted],
            governing: [{ kind: 'month', month: month + 1 }],
            notes,
          },
        ),
      ),
    ),
  );
}

/** A balance is listed where there is something that brings. */
const hasBringers = (bank: Thing, context: QuantityContext): boolean =>
  bringingTo(instance(bank), context).sources.length > 0;

const dailyBalance = defineQuantity({
  name: 'dailyBalance',
  of: [mayStore],
  doc: 'What arrays and turbines on its bus bring on a day of the poorest month, less what the loads draw; below zero it is short. `.month1` to `.month12` are the months.',
  unit: 'Wh',
  bound: 'least',
  isListedFor: hasBringers,
  compute: (thing, context) => leftOnADay(instance(thing), context),
});

const yearlyBalance = defineQuantity({
  name: 'yearlyBalance',
  of: [mayStore],
  doc: 'What arrays and turbines on its bus bring in a year, less what the loads draw. `.brought`, `.taken`, and `.lacking`: what is missing in the months that do not cover themselves.',
  unit: 'Wh',
  bound: 'least',
  isListedFor: hasBringers,
  compute: (thing, context) =>
    whenKnown(context.quantity(thing, 'dailyBalance'), (day) => {
      const bank = instance(thing);
      const months = monthsOf(day);
      const balance = monthBalance(bank, context);
      if ('kind' in balance) return balance;
      const brought = yearOf(`what is brought to ${bank.name} in a year`, 'W_in', balance.brought);
      const taken = derive('what the loads take in a year', numberIn(balance.wanted, 'Wh') * DAYS, 'Wh', {
        symbol: 'W_load',
        formula: '365·W_day',
        inputs: [{ ...balance.wanted, symbol: 'W_day' }],
      });
      const lacking = derive(
        `what ${bank.name} is short of in the months that do not cover themselves`,
        months.reduce((sum, each, month) => sum + Math.max(0, -numberIn(each, 'Wh')) * DAYS_IN_MONTH[month]!, 0),
        'Wh',
        { symbol: 'W_lack', formula: 'Σ days·max(0, −W_left)', inputs: months },
      );
      return known(
        derive(`balance of ${bank.name} in a year`, numberIn(brought, 'Wh') - numberIn(taken, 'Wh'), 'Wh', {
          symbol: 'W_a',
          formula: 'W_in − W_load',
          inputs: [brought, taken],
          notes: [...notesOf(bank, context), 'what is left in one month serves no other'],
          parts: { brought, taken, lacking },
        }),
      );
    }),
});

export const yearQuantities = [arrayDay, drivenDayQuantity, setDay, yearlyEnergy, dailyBalance, yearlyBalance];
