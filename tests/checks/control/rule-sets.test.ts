import { describe, expect, it } from 'vitest';
import { findCheck } from '../../../language/src/index.js';
import { analyseText } from '../../helpers/analyse.js';

/* Rule sets as people write them, sound ones and faulty ones, on one invented site. What is right is reasoned beside each. */

const CONTROL = [
  'stop-unreachable',
  'rule-latched',
  'rule-livelock',
  'rules-conflict',
  'rules-shadowed',
  'control-times',
  'threshold-order',
];

interface Parts {
  readonly rules: string;
  readonly rest?: string;
  readonly charger?: string;
  readonly bank?: string;
}

const site = ({ rules, rest = '', charger = '', bank = '' }: Parts): string => `design Site {
  site { altitude: 0 m   ambient: 15..25 degC }
  generator Genset { rated: 5 kW   apparent: 5 kVA   voltage: 230 V   tank: 40 L   burn: { 0 %: 0.5 L/h, 100 %: 2 L/h } }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes   ${charger} }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   resistance: 8..16 mohm   cellTemperature: 15..25 degC   reserve: 10 %   ${bank} }
  load Fan { power: 600 W   supply: dc }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Fan { size: 6 mm2   length: 2 m }
  ${rest}
  ${rules}
}
`;

const auto = (body: string, name = 'Autostart', of = 'Genset'): string => `control ${name} of ${of} { ${body} }`;
const LINK = 'link BmsLink: Bank -> Genset { medium: can   timeOut: 30 s }';
const SECOND = `generator Spare { rated: 5 kW   apparent: 5 kVA   voltage: 230 V }
  charger Other { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  run SpareCord: Spare -> Other.ac { size: 4 mm2   length: 10 m }
  run OtherFeed: Other.dc -> Bank { size: 25 mm2   length: 2 m }`;
const INVERTER = `inverter Inv { rated: 2 kW   voltage: 230 V   dcVoltage: 40..60 V   cutOff: 50 V   reconnect: 52 V   efficiency: 92 %   idle: 20 W   surge: 4 kW }
  load House { power: 700 W   powerFactor: 1 }
  run InvFeed: Bank -> Inv.dc { size: 25 mm2   length: 1 m }
  run Out: Inv.ac -> House { size: 2.5 mm2   length: 5 m }`;
const GRID = `grid Mains { voltage: 230 V   rating: 16 A }
  charger Shore { input: 180..264 V   currentLimit: 30 A   absorb: 55.6 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  run Post: Mains -> Shore.ac { size: 4 mm2   length: 10 m }
  run Aft: Shore.dc -> Bank { size: 16 mm2   length: 2 m }`;

const SOUND: readonly (readonly [string, Parts])[] = [
  [
    'a stop by charge with a longest run',
    { rules: auto('start when soc(Bank) < 40 %   stop when soc(Bank) > 90 %   maximumRun: 8 h') },
  ],
  [
    'a stop by a tail that lasts as long as its dwell',
    {
      charger: 'tailCurrent: 8 A   tailTime: 30 min',
      rules: auto('start when soc(Bank) < 40 %   stop when current(Bank) < 8 A and voltage(Bank) > 55.5 V for 5 min'),
    },
  ],
  [
    'an hour of the day and a longest run',
    {
      rules: auto(
        'start when hour >= 8 h and hour < 9 h and soc(Bank) < 75 %   start when soc(Bank) < 30 %   maximumRun: 5 h',
      ),
    },
  ],
  [
    'a small differential held by a least run',
    { rules: auto('start when soc(Bank) < 60 %   stop when soc(Bank) > 61 %   minimumRun: 2 h') },
  ],
  [
    'a charger held between two charges',
    {
      rest: GRID,
      rules: `${auto('start when soc(Bank) < 30 %   stop when soc(Bank) > 90 %')}\n  ${auto('off when soc(Bank) > 95 %   on when soc(Bank) < 80 %', 'Hold', 'Shore')}`,
    },
  ],
  [
    'two sets that share the year',
    {
      rest: SECOND,
      rules: `${auto('start when soc(Bank) < 40 % and day < 183   stop when soc(Bank) > 85 %')}\n  ${auto('start when soc(Bank) < 40 % and day >= 183   stop when soc(Bank) > 85 %', 'Winter', 'Spare')}`,
    },
  ],
  [
    'two sets that take turns by the week, both for a peak',
    {
      rest: SECOND,
      rules: `${auto('start when soc(Bank) < 40 % and onDuty(Genset, Spare, 7 d)   start when soc(Bank) < 30 %   stop when soc(Bank) > 85 %')}\n  ${auto('start when soc(Bank) < 40 % and onDuty(Spare, Genset, 7 d)   start when soc(Bank) < 30 %   stop when soc(Bank) > 85 %', 'Turn', 'Spare')}`,
    },
  ],
  [
    'quiet hours with an exception',
    {
      rules: auto(
        'start when soc(Bank) < 40 %   stop when soc(Bank) > 85 %   quiet: 22:00..06:00 unless soc(Bank) < 20 %',
      ),
    },
  ],
  [
    'a fallback whose dwell ends before the charger floats',
    {
      rest: LINK,
      charger: 'tailTime: 20 min',
      rules: auto(
        'start when soc(Bank) < 40 %   stop when soc(Bank) > 85 %   without BmsLink { start when voltage(Bank) < 51 V for 3 min   stop when voltage(Bank) > 55.2 V for 5 min }',
      ),
    },
  ],
  [
    'a stop when the BMS allows no more charge',
    {
      rest: 'link BmsLink: Bank -> Rect { medium: can   timeOut: 30 s }',
      charger: 'endOfCharge: limits   lostLink: stop',
      bank: 'chargeBySoc: { 85 %: 140 A, 95 %: 0 A }',
      rules: auto('start when voltage(Bank) < 51 V for 3 min   stop when not mayCharge(Bank)   maximumRun: 12 h'),
    },
  ],
  [
    'a load that is shed and comes back',
    {
      rules: `${auto('start when soc(Bank) < 30 %   stop when soc(Bank) > 80 %')}\n  ${auto('off when soc(Bank) < 20 %   on when soc(Bank) > 40 %', 'Shed', 'Fan')}`,
    },
  ],
];

const FAULTY: readonly (readonly [string, Parts, string])[] = [
  // It floats a minute after the tail, long before 40 min are over.
  [
    'a dwell longer than the absorption',
    { rules: auto('start when soc(Bank) < 40 %   stop when voltage(Bank) > 55.8 V for 40 min') },
    'stop-unreachable',
  ],
  // A set at rest gives 0 W: the stop always holds then, and wins.
  [
    'a stop that holds of a set at rest',
    { rules: auto('start when soc(Bank) < 40 %   stop when power(Genset) < 500 W for 5 min') },
    'rule-livelock',
  ],
  // The direct load alone takes 645 W from it.
  [
    'a stop by a power that the loads never go below',
    {
      rules: auto('start when soc(Bank) < 40 %   stop when power(Genset) > 0 W and power(Genset) < 500 W for 5 min'),
    },
    'stop-unreachable',
  ],
  // The inverter cuts off at 50 V: the house is dark before.
  [
    'a start below the cut-off of the inverter',
    { rest: INVERTER, rules: auto('start when voltage(Bank) < 48 V for 5 min   stop when soc(Bank) > 85 %') },
    'rule-livelock',
  ],
  // 16 h of 600 W are 9.6 kWh of 14.3 kWh: from 31 % nothing is left.
  [
    'quiet hours longer than what is left',
    { rules: auto('start when soc(Bank) < 30 %   stop when soc(Bank) > 85 %   quiet: 18:00..10:00') },
    'rule-livelock',
  ],
  [
    'a second control that stops below its start',
    {
      rules: `${auto('start when soc(Bank) < 40 %   stop when soc(Bank) > 80 %')}\n  ${auto('start when soc(Bank) < 20 %   stop when soc(Bank) > 35 %   priority: 1', 'Reserve')}`,
    },
    'rule-livelock',
  ],
  [
    'a least run beyond the full bank',
    { rules: auto('start when soc(Bank) < 60 %   stop when soc(Bank) > 85 %   minimumRun: 12 h') },
    'stop-unreachable',
  ],
  [
    'a window that is never open',
    { rules: auto('start when soc(Bank) < 40 % and hour >= 20 h and hour < 6 h   stop when soc(Bank) > 85 %') },
    'rules-shadowed',
  ],
  // Cells between 15 and 25 °C never get that hot.
  [
    'a temperature that the cells never have',
    { rules: auto('start when soc(Bank) < 40 %   stop when soc(Bank) > 85 %   stop when temperature(Bank) > 40 degC') },
    'rules-shadowed',
  ],
  [
    'a fallback that stops above the absorption',
    {
      rest: LINK,
      rules: auto(
        'start when soc(Bank) < 40 %   stop when soc(Bank) > 85 %   without BmsLink { start when voltage(Bank) < 51 V for 3 min   stop when voltage(Bank) > 56.4 V }',
      ),
    },
    'stop-unreachable',
  ],
  // Nothing limits the charge but the voltage, and the protection opens far above it.
  [
    'a stop by a permission that is never withdrawn',
    { rules: auto('start when soc(Bank) < 40 %   stop when not mayCharge(Bank)') },
    'stop-unreachable',
  ],
  // For the weeks of the other set nothing starts.
  [
    'a turn for a set that nothing starts',
    {
      rest: SECOND,
      rules: auto('start when soc(Bank) < 40 % and onDuty(Genset, Spare, 7 d)   stop when soc(Bank) > 85 %'),
    },
    'rule-livelock',
  ],
  [
    'a least run over the longest',
    { rules: auto('start when soc(Bank) < 40 %   stop when soc(Bank) > 85 %   minimumRun: 6 h   maximumRun: 4 h') },
    'control-times',
  ],
];

const told = async (parts: Parts): Promise<string[]> => {
  const { findings } = await analyseText(site(parts));
  expect(
    findings
      .filter(({ check, severity }) => severity !== 'info' && findCheck(check)?.group === 'text')
      .map(({ headline }) => headline),
  ).toEqual([]);
  return findings.filter(({ check }) => CONTROL.includes(check)).map(({ check, headline }) => `${check}: ${headline}`);
};

describe('sound rules', () => {
  it.each(SOUND)('with %s are accused of nothing', async (_, parts) => {
    expect(await told(parts)).toEqual([]);
  });
});

describe('faulty rules', () => {
  it.each(FAULTY)('with %s are told', async (_, parts, check) => {
    expect((await told(parts)).join('\n')).toContain(`${check}: `);
  });
});
