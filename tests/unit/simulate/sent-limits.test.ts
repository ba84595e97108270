import { describe, expect, it } from 'vitest';
import { findCheck } from '../../../language/src/index.js';
import { analyseText } from '../../helpers/analyse.js';

/* Limits that the BMS of a bank sends over its link, by state of charge. The designs are inventions; the right values are worked out by hand. */

const site = (options: {
  bank: string;
  charger: string;
  link: string;
  scenario: string;
  rest?: string;
}): string => `design D {
  site { altitude: 0 m   ambient: 15..25 degC }
  grid Mains { voltage: 230 V   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 50 A   absorb: 57.6 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes   ${options.charger} }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 100 Ah   resistance: 8 mohm   cellTemperature: 25 degC   ${options.bank} }
  run In: Mains -> Rect.ac { size: 4 mm2   length: 5 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 1 m }
  ${options.link}
  ${options.rest ?? ''}
  scenario Played { from: 2027-03-01   ${options.scenario} }
}
`;

const LINK = 'link BmsLink: Bank -> Rect { medium: can   timeOut: 30 s }';
const BY_SOC = 'chargeBySoc: { 80 %: 50 A, 100 %: 0 A }';

const holds = async (text: string): Promise<(boolean | undefined)[]> => {
  const { requirements, findings } = await analyseText(text);
  expect(
    findings
      .filter(({ check, severity }) => severity !== 'info' && findCheck(check)?.group === 'text')
      .map(({ message }) => message),
  ).toEqual([]);
  return requirements.map((each) => each.holds);
};

describe('charge limits by state of charge', () => {
  it('bring the current down along the line that the BMS sends', async () => {
    // dS/dt = η·50 A·(1 − S)/0.2/100 Ah: after an hour from 80 % on 1 − S = 0.2·exp(−2.5·0.995) = 1.66 %.
    const ends = (low: number, high: number): string =>
      site({
        bank: BY_SOC,
        charger: 'lostLink: stop',
        link: LINK,
        scenario: `duration: 1 h   soc(Bank): 80 %
    require last(soc(Bank)) >= ${low} %
    require last(soc(Bank)) <= ${high} %`,
      });
    expect(await holds(ends(98.3, 98.4))).toEqual([true, true]);
  });

  it('count only where they are heard', async () => {
    const after = (link: string, charger: string, lost: string): string =>
      site({
        bank: BY_SOC,
        charger,
        link,
        scenario: `duration: 1 h   soc(Bank): 80 %   ${lost}\n    require max(current(Bank)) > 49 A\n    require last(soc(Bank)) > 99 %`,
      });
    const lost = 'lost(BmsLink): 0 h .. 1 h';
    // 50 A for 24 min fill it; without the link it charges by its own settings, stops, or holds the last limit.
    expect(await holds(after('', '', ''))).toEqual([true, true]);
    expect(await holds(after(LINK, 'lostLink: defaults', lost))).toEqual([true, true]);
    // Until its time-out is over it hears no change.
    expect(await holds(after(LINK, 'lostLink: stop', lost))).toEqual([true, false]);
    expect(await holds(after(LINK, 'lostLink: hold', lost))).toEqual([true, true]);
    const later = after(LINK, 'lostLink: hold', 'lost(BmsLink): 30 min .. 1 h')
      .replace('max(current', 'last(current')
      .replace('duration: 1 h', 'duration: 50 min')
      .replace('> 99 %', '> 98 %');
    // Half an hour in it holds 50 A·exp(−1.244) = 14.4 A.
    expect(await holds(later.replace('> 49 A', '> 14 A'))).toEqual([true, true]);
    expect(await holds(later.replace('> 49 A', '> 15 A'))).toEqual([false, true]);
  });

  it('are what rules ask of the bank', async () => {
    const text = site({
      bank: 'chargeBySoc: { 0 %: 50 A, 85 %: 50 A, 90 %: 0 A }',
      charger: 'lostLink: stop',
      link: LINK,
      rest: `load Fan { power: 500 W   supply: dc }
  run Line: Bank -> Fan { size: 6 mm2   length: 2 m }
  control Off of Fan { off when mayCharge(Bank)   on when not mayCharge(Bank) }`,
      scenario:
        'duration: 3 h   soc(Bank): 60 %\n    require firstTime(power(Fan) > 100 W) < 3 h\n    require firstTime(power(Fan) > 100 W) > 30 min',
    });
    expect(await holds(text)).toEqual([true, true]);
  });
});

describe('discharge limits by state of charge', () => {
  const inverting = (link: string, lost: string, inverter = ''): string => `design D {
  site { altitude: 0 m   ambient: 15..25 degC }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 100 Ah   resistance: 8 mohm   cellTemperature: 25 degC   dischargeBySoc: { 20 %: 0 A, 21 %: 100 A } }
  inverter Inv { rated: 2 kW   voltage: 230 V   dcVoltage: 40..60 V   efficiency: 92 %   idle: 10 W   surge: 4 kW   ${inverter} }
  load Fan { power: 1 kW }
  run Feed: Bank -> Inv.dc { size: 25 mm2   length: 1 m }
  run Out: Inv.ac -> Fan { size: 2.5 mm2   length: 1 m }
  ${link}
  scenario Played { from: 2027-03-01   duration: 6 h   soc(Bank): 40 %   ${lost}
    require min(soc(Bank)) > 19.9 %
    require unserved(Fan) > 1 kWh
    require unserved(Fan) < 5.8 kWh
  }
}
`;
  const hears = 'link BmsLink: Bank -> Inv { medium: can   timeOut: 30 s }';

  it('stop an inverter that hears them, and no other', async () => {
    expect(await holds(inverting(hears, ''))).toEqual([true, true, true]);
    expect((await holds(inverting('', '')))[0]).toBe(false);
    expect((await holds(inverting(hears, 'lost(BmsLink): 0 h .. 6 h', 'lostLink: defaults')))[0]).toBe(false);
  });

  it('an inverter that stops without its link gives nothing', async () => {
    expect(await holds(inverting(hears, 'lost(BmsLink): 0 h .. 6 h', 'lostLink: stop'))).toEqual([true, true, false]);
  });
});
