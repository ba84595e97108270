import type { Instance } from '../../model/types.js';
import type { Derivation } from '../../derivation/index.js';
import { groupOf } from '../../quantities/storage/bank-group.js';
import { MONTH_NAMES } from '../../quantities/supply/months.js';
import { bringingTo, monthsOf } from '../../quantities/weather/balance.js';
import { collect, sumOf } from '../../quantities/worst.js';
import { isBank, isInverter, isLoad, isSet } from '../../model/roles.js';
import type { SheetInput } from '../input.js';
import { type Block, type Cell, type Column, type Sheet, box, table, text } from '../sheet.js';

/** For the designer and the reviewer: what is drawn, and how the supply bears it. */
export function loadsSheet({ system, context, cells }: SheetInput): Sheet {
  const loads = system.instances.filter(isLoad);
  const name = {
    key: 'name',
    title: 'Name',
    cell: (each: Instance): Cell => text(each.label ? `${each.name}: ${each.label}` : each.name),
  };
  const quantity = (key: Parameters<typeof context.quantity>[1], title: string) => ({
    key,
    title,
    isNumber: true as const,
    cell: (each: Instance): Cell => cells.quantity(each, key),
  });
  const fact = (key: string, title: string) => ({
    key,
    title,
    isNumber: true as const,
    cell: (each: Instance): Cell => cells.optional(each, key),
  });
  return {
    name: 'loads',
    title: 'Load calculation',
    reader: 'designer and reviewer',
    isWide: true,
    blocks: [
      table(
        'loads',
        'Loads',
        [
          name,
          fact('power', 'Unit power'),
          fact('count', 'Pieces'),
          fact('powerFactor', 'Power factor'),
          fact('duty', 'Duty'),
          { ...fact('profile', 'Hours'), isNumber: false },
          quantity('dailyEnergy', 'Energy a day'),
          quantity('totalPower', 'Total power'),
          fact('startFactor', 'Start factor'),
          quantity('startApparent', 'Apparent power at start'),
          { ...fact('legs', 'Legs'), isNumber: false },
          fact('priority', 'Priority'),
        ],
        loads,
        'The design has no loads.',
      ),
      table(
        'totals',
        'Totals',
        [
          { key: 'what', title: 'What', cell: (each: { what: string; cell: Cell }) => text(each.what) },
          { key: 'value', title: 'Value', isNumber: true, cell: (each) => each.cell },
        ],
        [{ what: 'Energy of all loads a day', cell: totalEnergy(loads) }],
        '',
      ),
      ...yearBlocks(),
      table(
        'banks',
        'Storage',
        [
          name,
          quantity('bankCapacity', 'Capacity'),
          quantity('energy', 'Energy'),
          quantity('autonomyTime', 'Autonomy'),
          quantity('chargeCurrent', 'Charge current'),
          quantity('dischargeCurrent', 'Discharge current'),
        ],
        system.instances.filter(isBank),
        'The design has no bank.',
      ),
      table(
        'inverters',
        'Inverters',
        [
          name,
          fact('rated', 'Rated'),
          quantity('loadDemand', 'Demand of its loads'),
          quantity('loadApparent', 'Apparent demand'),
          quantity('startDemand', 'Demand at the worst start'),
          quantity('legDemand', 'Most loaded leg'),
          quantity('dcCurrent', 'Current from the bank'),
        ],
        system.instances.filter(isInverter),
        'The design has no inverter.',
      ),
      table(
        'sets',
        'Generators',
        [
          name,
          quantity('usablePower', 'Usable power'),
          quantity('powerDemand', 'Demand'),
          quantity('dailyRunTime', 'Run time a day'),
          quantity('dailyFuel', 'Fuel a day'),
          quantity('fuelRate', 'Fuel rate'),
          quantity('tankTime', 'Time from one tank'),
        ],
        system.instances.filter(isSet),
        'The design has no generator.',
      ),
    ],
  };

  /** What sun, water and wind bring month by month to each bus of banks, and what the loads take. */
  function yearBlocks(): Block[] {
    const banks = system.instances.filter(
      (each) => isBank(each) && groupOf(each, context)[0] === each && bringingTo(each, context).sources.length > 0,
    );
    return banks.map((bank) => {
      const day = context.quantity(bank, 'dailyBalance');
      const year = context.quantity(bank, 'yearlyBalance');
      if (day.kind !== 'known' || year.kind !== 'known')
        return table(
          `year-${bank.name}`,
          `Sun, water and wind at ${bank.name}`,
          [{ key: 'balance', title: 'Balance of the poorest month', isNumber: true, cell: () => cells.result(day) }],
          [undefined],
          '',
        );
      const rows: readonly (readonly [string, Derivation, Derivation, Derivation])[] = [
        ...monthsOf(day.derivation).map(
          (left, month) => [MONTH_NAMES[month]!, left.inputs[0]!, left.inputs[1]!, left] as const,
        ),
        ['Year', year.derivation.parts['brought']!, year.derivation.parts['taken']!, year.derivation],
      ];
      const column = (at: 1 | 2 | 3, key: string, title: string): Column<(typeof rows)[number]> => ({
        key,
        title,
        isNumber: true,
        cell: (row) => cells.value(row[at]),
      });
      return table(
        `year-${bank.name}`,
        `Sun, water and wind at ${bank.name}: a day of each month, and the year`,
        [
          { key: 'month', title: 'Month', cell: ([month]) => text(month) },
          column(1, 'brought', 'Brought'),
          column(2, 'taken', 'Taken by the loads'),
          column(3, 'left', 'Left, or lacking'),
        ],
        rows,
        '',
      );
    });
  }

  function totalEnergy(all: readonly Instance[]): Cell {
    const having = all.filter((each) => context.quantityNames(each).includes('dailyEnergy'));
    if (having.length === 0) return box();
    const parts = collect(having.map((each) => context.quantity(each, 'dailyEnergy')));
    return parts.ok
      ? cells.value(
          sumOf(
            'energy of all loads a day',
            'E_day',
            'Wh',
            parts.derivations.map((part, at) => ({ ...part, symbol: `E_${having[at]!.name}` })),
          ),
        )
      : cells.result(parts.result);
  }
}
