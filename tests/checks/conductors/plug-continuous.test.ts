import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { analyseText, applyFix, findingsOf, lacking } from '../../helpers/analyse.js';

const findings = async (text: string) => findingsOf(await analyseText(text), 'plug-continuous');
const set = (watts: number, load = ''): string => `design Camp {
  basis: nec 2023
  generator Genset { rated: 7.2 kW   voltage: 120/240 V   outlet: L14-30   neutralBond: bonded }
  load Heater { power: ${watts} W   voltage: 240 V   ${load} }
  run Cord: Genset -> Heater { size: 10 AWG   type: SOOW   length: 10 m }
}
`;

describe('plug-continuous', () => {
  // Generator information page: an L14-30 at 240 V carries 5760 VA continuously (80 %).
  it('accepts 5760 W on an L14-30 for hours and no more', async () => {
    expect(await findings(set(5760))).toEqual([]);
    const [finding] = await findings(set(5900));
    expect(numberIn(finding!.numbers.limit!, 'A')).toBeCloseTo(24, 9);
    expect(lacking(finding?.told, '80 %')).toEqual([]);
    expect(await findings(set(7200, 'continuous: no'))).toEqual([]);
  });

  /** A charger beside a fan on one cord of 30 A. */
  const beside = (watts: number, currentLimit: number, line: string): string => `design Coach {
  basis: nec 2023
  grid Shore { voltage: 120 V   rating: 30 A   outlet: TT-30 }
  charger Rect { input: 90..132 V   currentLimit: ${currentLimit} A   absorb: 28 V   efficiency: 90 %   powerFactor: 1 }
  battery Bank : Lfp24V200Ah
  bus Panel {}
  load Fan { power: ${watts} W }
  run Cord: Shore -> Panel { size: 10 AWG   type: STW   length: 8 m }
  run In: Panel -> Rect.ac { size: 10 AWG   type: THHN   length: 2 m }
  run ToFan: Panel -> Fan { size: ${line}   type: THHN   length: 2 m }
  run Feed: Rect.dc -> Bank { size: 2 AWG   type: THHN   length: 1 m }
}
`;

  it('computes the input limit to set, other loads on the cord counted', async () => {
    const text = beside(600, 70, '14 AWG');
    // 24 A (80 % of 30 A) less 600 W / 120 V = 5 A leaves 19 A for the charger.
    const [finding] = await findings(text);
    expect(finding?.fixes[0]?.title).toBe('Limit the input of Rect to 19 A');
    expect(await findings(applyFix(text, finding!.fixes[0]!))).toEqual([]);
  });

  // 24 A less what the fan takes; an input limited to less than 1 A is no limit that a charger has.
  it.each([
    [22.5, 'Limit the input of Rect to 1.5 A'],
    [22.9, 'Limit the input of Rect to 1.1 A'],
    [23.3, undefined],
  ])('proposes no limit below 1 A: %s A beside it', async (fan, title) => {
    const [finding, ...others] = await findings(beside(fan * 120, 10, '10 AWG'));
    expect(others).toEqual([]);
    if (title === undefined) expect(finding?.fixes).toEqual([]);
    else expect(finding?.fixes.map((fix) => fix.title)).toEqual([expect.stringContaining(title)]);
  });

  it('limits an input that has limits by supply only for the supply that is too weak', async () => {
    const text = `design Coach {
  basis: nec 2023
  grid Shore { voltage: 120 V   rating: 30 A   outlet: TT-30   neutralBond: bonded }
  generator Genset { rated: 6 kW   voltage: 120 V   breaker: 50 A   neutralBond: bonded }
  transfer Ats { switches: phases-and-neutral   rating: 50 A }
  charger Rect { input: 90..132 V   currentLimit: 100 A   absorb: 28 V   efficiency: 90 %   powerFactor: 1   inputLimitFrom: { Genset: 35 A } }
  battery Bank : Lfp24V200Ah
  run FromShore: Shore -> Ats.normal { size: 8 AWG   type: THHN   length: 8 m }
  run FromSet: Genset -> Ats.standby { size: 6 AWG   type: THHN   length: 8 m }
  run In: Ats.out -> Rect.ac { size: 6 AWG   type: THHN   length: 2 m }
  run Feed: Rect.dc -> Bank { size: 2 AWG   type: THHN   length: 1 m }
}
`;
    // 100 A · 28 V / 0.9 / 114 V = 27.3 A: above 80 % of a TT-30, within 80 % of the breaker of the set.
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(finding?.fixes[0]?.title).toBe('Limit the input of Rect to 24 A when fed from Shore');
  });

  describe('where no charger alone is enough', () => {
    const charger = (name: string, legs = ''): string =>
      `charger ${name} { input: 90..132 V   currentLimit: 60 A   absorb: 28 V   efficiency: 90 %   powerFactor: 1   ${legs} }
  run In${name}: Panel -> ${name}.ac { size: 10 AWG   type: THHN   length: 2 m }
  run Out${name}: ${name}.dc -> Bar { size: 2 AWG   type: THHN   length: 1 m }`;
    const coach = (supply: string, chargers: readonly string[]): string => `design Coach {
  basis: nec 2023
  grid Shore { ${supply} }
  battery Bank : Lfp24V200Ah { parallel: 3 }
  bus Panel {}
  bus Bar {}
  run Cord: Shore -> Panel { size: 8 AWG   type: STW   length: 8 m }
  run Main: Bank -> Bar { size: 4/0 AWG   length: 1 m }
  ${chargers.join('\n  ')}
}
`;
    // 60 A · 28 V / 0.9 / 114 V are 16.4 A each: beside one of them 7.6 A of 24 A are left, beside two nothing.
    it.each([
      ['one', 2, 'Limit the input of One to 7.6 A'],
      ['all', 3, 'Limit the inputs of One to 8 A, Two to 8 A and Three to 8 A'],
    ])('limits %s of %i', async (_which, count, title) => {
      const names = ['One', 'Two', 'Three'].slice(0, count);
      const text = coach(
        'voltage: 120 V   rating: 30 A   outlet: TT-30',
        names.map((name) => charger(name)),
      );
      const [finding] = (await findings(text)).filter(({ subject }) => subject === 'Coach.Cord');
      const fix = finding!.fixes.find((each) => each.title.startsWith(title));
      expect(fix, finding!.fixes.map((each) => each.title).join()).toBeDefined();
      expect(await findings(applyFix(text, fix!))).toEqual([]);
    });

    it('leaves those on the other leg as they are', async () => {
      const chargers = ['One', 'Two', 'Three'].map((name) => charger(name, 'legs: L1'));
      const text = coach('voltage: 120/240 V   rating: 30 A   outlet: L14-30', [
        ...chargers,
        charger('Other', 'legs: L2'),
      ]);
      const [finding] = (await findings(text)).filter(({ subject }) => subject === 'Coach.Cord');
      const titles = finding!.fixes.map(({ title }) => title.replace(/ \(.*/, ''));
      expect(titles).toContain('Limit the inputs of One to 8 A, Two to 8 A and Three to 8 A');
    });
  });

  it('lets a breaker that is listed for it carry all of its rating', async () => {
    const text = (facts: string): string => `design Hut {
  basis: nec 2023
  grid Mains { voltage: 120 V   rating: 100 A }
  receptacle Outlet { plug: L5-30 }
  breaker B1 { rating: 20 A   ${facts} }
  load Heater { power: 2040 W }
  run Line: Mains -> B1 -> Outlet -> Heater { size: 10 AWG   type: THHN   length: 2 m }
}
`;
    // 17 A on a breaker of 20 A.
    expect(await findings(text(''))).toHaveLength(1);
    expect(await findings(text('fullRating: yes'))).toEqual([]);
  });

  const passing = (inputLimit: number, kettle: string): string => `design Coach {
  basis: nec 2023
  grid Shore { voltage: 120 V   rating: 30 A   outlet: TT-30 }
  inverter Inv : InverterCharger12V3000 { currentLimit: 120 A   inputLimit: ${inputLimit} A   absorb: 14.2 V }
  battery House : Lfp12V300Ah
  bus Panel {}
  load Cooler { power: 1.2 kW }
  load Kettle { power: 1.2 kW   ${kettle} }
  run Cord: Shore -> Inv.input { size: 8 AWG   type: STW   length: 8 m }
  run Out: Inv.ac -> Panel { size: 10 AWG   type: THHN   length: 2 m }
  run ToCooler: Panel -> Cooler { size: 12 AWG   type: THHN   length: 2 m }
  run ToKettle: Panel -> Kettle { size: 12 AWG   type: THHN   length: 2 m }
  run Feed: House -> Inv.dc { size: 4/0 AWG   type: THHN   length: 1 m }
}
`;

  it('proposes to an inverter that passes its supply on the limit that holds its loads and its charging together', async () => {
    // Charging would take 120 A · 14.2 V / (0.88 · 0.97 · 114 V) = 17.5 A beside the 10 A of Cooler; the limit of 28 A is what flows.
    const text = passing(28, 'continuous: no');
    const [finding] = await findings(text);
    expect(numberIn(finding!.numbers.current!, 'A')).toBeCloseTo(27.51, 2);
    expect(finding?.fixes[0]?.title).toBe('Limit the input of Inv to 24 A');
    expect(await findings(applyFix(text, finding!.fixes[0]!))).toEqual([]);
  });

  it('does not let a load that is soon over take away from what charges for hours', async () => {
    // With the kettle on, 24 A of limit leave charging 4 A; with it off again charging takes 14 A, and 24 A flow for hours.
    expect(await findings(passing(24, 'continuous: no'))).toEqual([]);
    const [finding] = await findings(passing(25, 'continuous: no'));
    expect(numberIn(finding!.numbers.current!, 'A')).toBeCloseTo(25, 9);
  });

  it('counts an adapter with the smaller of its sides', async () => {
    const text = (adapter: string): string => `design Driveway {
  basis: nec 2023
  grid House { voltage: 120 V   rating: 20 A   outlet: NEMA-5-20 }
  receptacle Adapter { ${adapter} }
  charger Rect { input: 90..132 V   currentLimit: 40 A   absorb: 28 V   efficiency: 90 %   powerFactor: 1   plug: TT-30 }
  battery Bank : Lfp24V200Ah
  run Cord: House -> Adapter -> Rect.ac { size: 10 AWG   type: STW   length: 8 m }
  run Feed: Rect.dc -> Bank { size: 2 AWG   type: THHN   length: 1 m }
}
`;
    // 40 A · 28 V / 0.9 / 114 V = 10.9 A are within the 12 A of the 15 A side; 13.6 A at 50 A are not, but within 16 A.
    expect(await findings(text('plug: NEMA-5-15   outlet: TT-30'))).toEqual([]);
    const [finding] = await findings(text('plug: NEMA-5-15   outlet: TT-30').replace('40 A', '50 A'));
    expect(numberIn(finding!.numbers.limit!, 'A')).toBeCloseTo(12, 9);
    expect(await findings(text('plug: NEMA-5-20   outlet: TT-30').replace('40 A', '50 A'))).toEqual([]);
  });

  it('warns only afloat where the plug was not made to the rule', async () => {
    const boat = (outlet: string, volts: number): string => `design Boat {
  basis: craft
  grid Shore { voltage: ${volts} V   rating: 30 A   outlet: ${outlet} }
  load Heater { power: ${volts * 25} W }
  run Cord: Shore -> Heater { size: 10 AWG   type: STOW   length: 8 m }
}
`;
    // 25 A for hours: 24 A is 80 % of a TT-30; 25.6 A of a 32 A pin-and-sleeve plug is not reached, 26 A is above it.
    expect((await findings(boat('TT-30', 120)))[0]?.severity).toBe('error');
    expect(await findings(boat('IEC-60309-32', 230))).toEqual([]);
    const [finding] = await findings(boat('IEC-60309-32', 230).replace('power: 5750 W', 'power: 5980 W'));
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'afloat by common practice')).toEqual([]);
  });
});
