import {
  type Derivation,
  type Source,
  derive,
  displayValue,
  fromTable,
  known,
  numberIn,
  refused,
} from '../../derivation/index.js';
import { CHEMISTRY_NAMES, chemistry as chemistryNamed, chemistrySource } from '../../reference/energy/index.js';
import { defineFunction, may, mayWord, needs } from '../registry.js';

const CHARGE_BALANCE: Source = { standard: 'balance of charge over a day', provenance: 'own derivation' };
const HOURS = 24;

export const dailyRunTime = defineFunction({
  name: 'dailyRunTime',
  group: 'storage',
  summary: 'Time in a day a charger must run so that the bank ends the day as it began it.',
  parameters: {
    charger: needs('current', 'A', 'current of all chargers together', { minimum: 0 }),
    load: needs('current', 'A', 'mean current the loads draw from the bank while nothing charges it', { minimum: 0 }),
    loadRunning: may('current', 'A', 'mean current the loads draw while the chargers run; else as `load`', {
      minimum: 0,
    }),
    limit: may('current', 'A', 'largest charge current the bank accepts', { minimum: 0, aboveMinimum: true }),
    efficiency: may('ratio', '', 'ampere-hours stored for each ampere-hour put in; by chemistry, else 1', {
      minimum: 0.3,
      maximum: 1,
    }),
    chemistry: mayWord(CHEMISTRY_NAMES, 'cell chemistry, for an efficiency that is not given'),
  },
  result: 'time in s of each day; `.net` current into the bank while the chargers run',
  worst: 'high',
  validity:
    'Mean currents, and charging at constant current: the bank is cycled below its absorption. Warm-up, and the falling current of a bank that is filled, come on top.',
  sources: ['balance of charge over a day: own derivation'],
  examples: [
    {
      call: 'dailyRunTime(charger: 75 A, load: 10 A)',
      gives: '3.2 h',
      source: 'hand calculation: 24 h · 10/(10 + 65)',
    },
    {
      call: 'dailyRunTime(charger: 50 A, load: 20 A, loadRunning: 5 A, efficiency: 98 %)',
      gives: '7.4883 h',
      source: 'hand calculation: 24 h · 20/(20 + 0.98 · 45)',
    },
    {
      call: 'dailyRunTime(charger: 200 A, load: 20 A, limit: 100 A)',
      gives: '4 h',
      source: 'hand calculation: 24 h · 20/(20 + 100); the bank accepts no more than 100 A of the 180 A left',
    },
  ],
  compute: ({ charger, load, loadRunning, limit, efficiency, chemistry }) => {
    const beside = loadRunning ?? load;
    const left = numberIn(charger, 'A') - numberIn(beside, 'A');
    if (numberIn(load, 'A') === 0)
      return known(
        derive('run time in a day', 0, 's', { symbol: 't', governing: [{ kind: 'nothingDrawn' }], inputs: [load] }),
      );
    if (left <= 1e-9 * numberIn(charger, 'A'))
      return refused(
        `the loads draw ${displayValue(beside)} and the chargers give ${displayValue(charger)}: the bank never fills`,
        'charger',
      );
    const isBounded = limit !== undefined && numberIn(limit, 'A') < left;
    const net = derive('charge current of the bank', isBounded ? numberIn(limit, 'A') : left, 'A', {
      symbol: 'I_net',
      formula: limit ? 'min(I_chg − I_run, I_limit)' : 'I_chg − I_run',
      inputs: [
        { ...charger, symbol: 'I_chg' },
        { ...beside, symbol: 'I_run' },
        ...(limit ? [{ ...limit, symbol: 'I_limit' }] : []),
      ],
    });
    const usual = chemistry === undefined ? undefined : chemistryNamed(chemistry);
    const stored: Derivation =
      efficiency ??
      (usual
        ? fromTable('charge efficiency', usual.chargeEfficiency, '1', chemistrySource(usual.name, 'chargeEfficiency'), {
            symbol: 'η',
            notes: [usual.title],
          })
        : derive('charge efficiency', 1, '1', {
            symbol: 'η',
            origin: 'default',
            notes: ['no charge efficiency stated: no loss'],
          }));
    const drawn = numberIn(load, 'A');
    const hours = (HOURS * drawn) / (drawn + numberIn(stored, '') * numberIn(net, 'A'));
    return known(
      derive('run time in a day', hours * 3600, 's', {
        symbol: 't',
        formula: '24 h·I_load/(I_load + η·I_net)',
        inputs: [load, stored, net],
        source: CHARGE_BALANCE,
        ...(isBounded ? { governing: [{ kind: 'chargeLimit' }] as const } : {}),
        parts: { net },
      }),
    );
  },
});
