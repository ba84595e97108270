import {
  type Derivation,
  type Source,
  derive,
  displayValue,
  fromTable,
  known,
  numberIn,
  refused,
  withFacts,
} from '../../derivation/index.js';
import { CHEMISTRY_NAMES, chemistry as chemistryNamed, chemistrySource } from '../../reference/energy/index.js';
import { defaults, defineFunction, may, mayWord, needs } from '../registry.js';

const CURRENT_LAW: Source = { standard: 'Kirchhoff’s current law', provenance: 'own derivation' };
const TAPER_MODEL: Source = {
  standard: 'constant current, then a current that falls in a straight line with the state of charge',
  provenance: 'common practice, no source',
};

/** Tail current in C where neither a tail nor a chemistry is given. Common practice, no source. */
const DEFAULT_TAIL = 0.02;

/** What is left of the charger's current for the bank, before any limit of the bank. May be negative. */
function leftForBank(charger: Derivation, load: Derivation): Derivation {
  return derive('net charge current', numberIn(charger, 'A') - numberIn(load, 'A'), 'A', {
    symbol: 'I_net',
    formula: 'I_charger − I_load',
    inputs: [charger, load],
    source: CURRENT_LAW,
  });
}

export const netChargeCurrent = defineFunction({
  name: 'netChargeCurrent',
  group: 'storage',
  summary: 'Current the chargers leave for the bank after the loads.',
  parameters: {
    charger: needs('current', 'A', 'current of all chargers together', { minimum: 0 }),
    load: needs('current', 'A', 'current of the DC loads and inverters', { minimum: 0 }),
  },
  result: 'current in A; negative when the loads draw more than the chargers give',
  worst: 'low',
  validity: 'Mean currents on one DC bus. Charging ends only if the tail current is below this.',
  sources: ['Kirchhoff’s current law', 'charger sizing formula A = k·C/H + L (IEEE 946 practice)'],
  examples: [
    {
      call: 'netChargeCurrent(charger: 37.5 A, load: 10 A)',
      gives: '27.5 A',
      source: 'charger sizing formula A = 1.1·C/H + L with 200 Ah, 8 h and 10 A: 27.5 A for the bank',
    },
    {
      call: 'netChargeCurrent(charger: 50 A, load: 60 A)',
      gives: '-10 A',
      source: 'hand calculation: the bank is discharged by 10 A',
    },
  ],
  compute: ({ charger, load }) => {
    const net = leftForBank(charger, load);
    const left = numberIn(net, 'A');
    return known(left > 0 ? net : withFacts(net, { governing: [{ kind: 'deficit', amperes: Math.abs(left) }] }));
  },
});

export const chargeTime = defineFunction({
  name: 'chargeTime',
  group: 'storage',
  summary: 'Time to charge a bank from one state of charge to another: constant current, then a falling current.',
  parameters: {
    capacity: needs('charge', 'Ah', 'capacity of the bank', { minimum: 0, aboveMinimum: true }),
    from: needs('ratio', '', 'state of charge at the start', { minimum: 0, maximum: 1 }),
    to: needs('ratio', '', 'state of charge at the end', { minimum: 0, maximum: 1 }),
    current: needs('current', 'A', 'current of all chargers together', { minimum: 0 }),
    load: defaults('current', 'A', 0, 'current the loads draw meanwhile', {
      minimum: 0,
      defaultSource: 'no load meanwhile',
    }),
    limit: may('current', 'A', 'largest charge current the bank accepts', { minimum: 0, aboveMinimum: true }),
    taper: may('ratio', '', 'state of charge from which the current falls; by chemistry, else no taper', {
      minimum: 0,
      maximum: 1,
    }),
    efficiency: may('ratio', '', 'ampere-hours stored for each ampere-hour put in; by chemistry, else 1', {
      minimum: 0.3,
      maximum: 1,
    }),
    tail: may('current', 'A', 'current when full, where the taper ends; by chemistry, else 2 % of capacity per hour', {
      minimum: 0,
      aboveMinimum: true,
    }),
    chemistry: mayWord(CHEMISTRY_NAMES, 'cell chemistry, for taper, tail and efficiency that are not given'),
  },
  result: 'time in s; `.net` current, `.charge` to put in, `.constantCurrent` and `.tapering` times',
  worst: 'high',
  validity:
    'Steady load and charger current; the taper is a straight line in state of charge down to the tail current when full. A bank whose loads draw all that the charger gives is never full: there is then no time, and the answer says so.',
  sources: [
    'charger formula page: H = k·C/(A − L)',
    'taper as a straight line in state of charge: common practice, no source',
  ],
  examples: [
    {
      call: 'chargeTime(capacity: 200 Ah, from: 0 %, to: 100 %, current: 37.5 A, load: 10 A, efficiency: 1/1.1)',
      gives: '8 h',
      source: 'charger sizing formula H = 1.1·C/(A − L); numbers by hand',
    },
    {
      call: 'chargeTime(capacity: 300 Ah, from: 30 %, to: 90 %, current: 120 A, load: 31.355 A)',
      gives: '2.0306 h',
      source: 'hand calculation: 180 Ah/88.645 A',
    },
    {
      call: 'chargeTime(capacity: 100 Ah, from: 80 %, to: 100 %, current: 20 A, taper: 80 %, tail: 2 A)',
      gives: '2.5584 h',
      source: 'hand calculation: 100·0.2/(20 − 2)·ln(20/2)',
    },
  ],
  compute: ({ capacity, from, to, current, load, limit, taper, efficiency, tail, chemistry }) => {
    const first = numberIn(from, '');
    const last = numberIn(to, '');
    if (last < first) return refused('`to` of chargeTime lies below `from`: that is a discharge', 'to');
    const left = leftForBank(current, load);
    if (numberIn(left, 'A') <= 0 && last > first) {
      const short = derive('deficit', -numberIn(left, 'A'), 'A');
      return refused(
        `the loads draw ${displayValue(load, 3)} and the chargers give ${displayValue(current, 3)}: the bank never fills` +
          (numberIn(left, 'A') < 0 ? `, it loses ${displayValue(short, 3)}` : ''),
        'load',
      );
    }
    const ampereHours = numberIn(capacity, 'Ah');
    const usual = chemistry === undefined ? undefined : chemistryNamed(chemistry);
    const fallback = (name: string, value: number, unit: string, note: string): Derivation =>
      derive(name, value, unit, { origin: 'default', notes: [note] });
    const fromChemistry = (name: string, field: 'taperFrom' | 'chargeEfficiency' | 'tail', unit: string, scale = 1) =>
      usual &&
      fromTable(name, usual[field] * scale, unit, chemistrySource(usual.name, field), { notes: [usual.title] });
    const stored =
      efficiency ??
      fromChemistry('charge efficiency', 'chargeEfficiency', '1') ??
      fallback('charge efficiency', 1, '1', 'no charge efficiency stated: no loss');
    const knee =
      taper ??
      fromChemistry('start of the taper', 'taperFrom', '1') ??
      fallback('start of the taper', 1, '1', 'no taper stated: constant current to the end');
    const end =
      tail ??
      fromChemistry('tail current', 'tail', 'A', ampereHours) ??
      fallback('tail current', DEFAULT_TAIL * ampereHours, 'A', 'no tail current stated: 2 % of capacity per hour');
    const bounded = limit !== undefined && numberIn(limit, 'A') < numberIn(left, 'A');
    const net = derive('charge current of the bank', bounded ? numberIn(limit, 'A') : numberIn(left, 'A'), 'A', {
      symbol: 'I',
      formula: limit ? 'min(I_net, I_limit)' : 'I_net',
      inputs: limit ? [left, limit] : [left],
      source: CURRENT_LAW,
    });
    const put = ampereHours / numberIn(stored, '');
    const steadyCurrent = numberIn(net, 'A');
    const kneeAt = numberIn(knee, '');
    const endCurrent = Math.min(numberIn(end, 'A'), steadyCurrent);

    const steady = Math.max(0, Math.min(last, kneeAt) - Math.min(first, kneeAt));
    const constantCurrent = derive('time at constant current', (put * steady) / steadyCurrent || 0, 'h', {
      symbol: 't_1',
      formula: 'C·Δs/(η·I)',
      inputs: [capacity, from, to, knee, stored, net],
    });
    const currentAt = (charge: number): number =>
      steadyCurrent - ((steadyCurrent - endCurrent) * (charge - kneeAt)) / (1 - kneeAt);
    const start = Math.max(first, kneeAt);
    const fall = (steadyCurrent - endCurrent) / (1 - kneeAt);
    const taperHours =
      last <= start
        ? 0
        : fall > 1e-9 * steadyCurrent
          ? (put / fall) * Math.log(currentAt(start) / currentAt(last))
          : (put * (last - start)) / steadyCurrent;
    const tapering = derive('time at falling current', taperHours, 'h', {
      symbol: 't_2',
      formula: 'C·(1 − s_t)/(η·(I − I_tail))·ln(I(s_1)/I(s_2))',
      inputs: [capacity, from, to, knee, stored, net, end],
      source: TAPER_MODEL,
    });
    const charge = derive('charge to put in', put * (last - first), 'Ah', {
      symbol: 'Q',
      formula: 'C·(s_2 − s_1)/η',
      inputs: [capacity, from, to, stored],
    });
    return known(
      derive('charge time', (numberIn(constantCurrent, 'h') + taperHours) * 3600, 's', {
        symbol: 't',
        formula: 't_1 + t_2',
        inputs: [constantCurrent, tapering],
        source: TAPER_MODEL,
        governing: [{ kind: bounded ? 'chargeLimit' : 'leftByLoads' }],
        parts: { net, charge, constantCurrent, tapering },
      }),
    );
  },
});
