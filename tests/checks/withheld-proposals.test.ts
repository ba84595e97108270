import { describe, expect, it } from 'vitest';
import { analyseText, findingsOf } from '../helpers/analyse.js';

/*
 * A proposal never rests on a fact that is missing and could make it worse. Each case: a design in which the proposal is made, and the same
 * without the fact.
 */
const titles = async (text: string, check: string): Promise<string[]> => {
  const found = findingsOf(await analyseText(text), check);
  expect(found.length).toBeGreaterThan(0);
  return found.flatMap(({ fixes }) => fixes.map(({ title }) => title));
};

describe('a proposal is withheld where a fact lacks that could make it worse', () => {
  it('a smaller device, where the load is not known', async () => {
    const hut = (efficiency: string): string => `design D {
  battery Bank { voltage: 51.2 V   chemistry: lfp   cells: 16   capacity: 100 Ah   resistance: 5 mohm }
  inverter Inv { rated: 2 kW   voltage: 230 V   dcVoltage: 40..60 V   cutOff: 44 V   ${efficiency} }
  fuse Main { rating: 150 A   class: T }
  run Feed: Bank -> Main @ 100 mm -> Inv.dc { size: 6 AWG   type: THHN   length: 1 m   terminals: 75 degC }
}
`;
    // 2 kW at 92 % and 44 V are 49.4 A, 61.8 A with 125 %; 6 AWG may have 70 A (NEC 240.4(B)).
    expect(await titles(hut('efficiency: 92 %'), 'run-protection')).toContain('Change rating of Main to 70 A');
    expect(await titles(hut(''), 'run-protection')).toEqual(['Change size of Feed to 1 AWG']);
  });

  it('a higher charge limit, where it is not known what the bank or the set takes', async () => {
    const shop = (bank: string, set: string): string => `design D {
  site { altitude: 0 m   ambient: 15..25 degC }
  generator Genset { ${set}   voltage: 230 V   neutralBond: bonded }
  charger Rect { input: 180..264 V   currentLimit: 30 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   maximumCurrent: 100 A }
  battery Bank { voltage: 51.2 V   chemistry: lfp   cells: 16   capacity: 280 Ah   cellTemperature: 20..30 degC   ${bank} }
  load Tools { power: 2 kW   supply: dc   profile: always }
  run Cord: Genset -> Rect.ac { size: 16 mm2   length: 10 m }
  run Out: Rect.dc -> Bank { size: 50 mm2   length: 1 m }
  run Line: Bank -> Tools { size: 50 mm2   length: 1 m }
}
`;
    const limit = 'maximumCharge: 140 A';
    expect(await titles(shop(limit, 'rated: 9 kW'), 'charge-below-load')).toHaveLength(1);
    expect(await titles(shop('', 'rated: 9 kW'), 'charge-below-load')).toEqual([]);
    expect(await titles(shop(limit, ''), 'charge-below-load')).toEqual([]);
  });

  it('a higher stop voltage, where it is not known how high the bank is charged', async () => {
    const hut = (points: string): string => `design D {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 20 A   efficiency: 93 %   powerFactor: 0.98   ${points} }
  battery Bank { voltage: 51.2 V   cells: 16   capacity: 100 Ah   resistance: 20..30 mohm   protectionLow: 44 V }
  load Fan { power: 500 W   supply: dc   profile: always }
  run In: Genset -> Rect.ac { size: 4 mm2   length: 5 m }
  run Charge: Rect.dc -> Bank { size: 16 mm2   length: 2 m }
  run Line: Bank -> Fan { size: 16 mm2   length: 2 m }
  control Autostart of Genset { start when voltage(Bank) < 50 V   stop when voltage(Bank) > 50.3 V }
}
`;
    const [known] = await titles(hut('absorb: 56 V'), 'threshold-gap');
    expect(known).toContain('Move the upper threshold');
    const open = findingsOf(await analyseText(hut('')), 'threshold-gap').flatMap(({ fixes }) => fixes);
    expect(open.filter(({ title }) => title.includes('upper'))).toEqual([]);
  });

  it('another class, where it is not known what it must interrupt', async () => {
    const hut = (bank: string): string => `design D {
  battery Bank { voltage: 51.2 V   chemistry: lfp   cells: 16   capacity: 100 Ah   ${bank} }
  load Fan { power: 500 W   supply: dc }
  fuse Main { rating: 30 A   class: BladeFuse32V }
  run Line: Bank -> Main @ 100 mm -> Fan { size: 10 AWG   length: 2 m }
}
`;
    expect(await titles(hut('resistance: 5 mohm'), 'device-voltage')).not.toEqual([]);
    expect(await titles(hut(''), 'device-voltage')).toEqual([]);
  });

  it('a reconnection, where it is not known how far the voltage comes back', async () => {
    const hut = (efficiency: string): string => `design D {
  grid Mains { voltage: 230 V   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 20 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank { voltage: 51.2 V   chemistry: lfp   cells: 16   capacity: 100 Ah   resistance: 20 mohm }
  inverter Inv { rated: 3 kW   voltage: 230 V   dcVoltage: 38..60 V   cutOff: 46.4 V   reconnect: 56 V   ${efficiency} }
  load Lamp { power: 200 W   voltage: 230 V   powerFactor: 1 }
  run In: Mains -> Rect.ac { size: 4 mm2   length: 5 m }
  run Charge: Rect.dc -> Bank { size: 10 mm2   length: 1 m }
  run Feed: Bank -> Inv.dc { size: 50 mm2   length: 1 m }
  run Line: Inv.ac -> Lamp { size: 2.5 mm2   length: 5 m }
}
`;
    expect(await titles(hut('efficiency: 92 %'), 'inverter-reconnect')).toHaveLength(1);
    expect(await titles(hut(''), 'inverter-reconnect')).toEqual([]);
  });
});
