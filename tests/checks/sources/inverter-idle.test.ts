import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'inverter-idle';

const hut = (inverter: string, load: string, rest = ''): string => `design D {
  ${rest}
  battery Bank : Lfp48V280Ah { cellTemperature: 15..30 degC }
  inverter Inv { rated: 3 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   neutralBond: bonded   ${inverter} }
  load Lights { ${load} }
  run Feed: Bank -> Inv.dc
  run Line: Inv.ac -> Lights
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('passes an idle draw of exactly a tenth of what the loads use, and fails a watt more', async () => {
    // 1.2 kWh a day: 0.12 kWh idle are 5 W.
    const lights = 'power: 300 W   profile: { 18:00..22:00: 100 % }';
    expect(await findings(hut('idle: 5 W', lights))).toEqual([]);
    const text = hut('idle: 6 W', lights);
    const [finding] = await findings(text);
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, '12 % on top')).toEqual([]);
    expect(lacking(finding?.told, '0.144 kWh a day')).toEqual([]);
    // 120 Wh / 6 W = 20 h; the lights need four.
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Switch Inv on for 20 h a day at most']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
    expect(await findings(hut('idle: 6 W', lights, 'idleShare: 12 %'))).toEqual([]);
  });

  it('counts the hours it is on, also in the mean current of the bank', async () => {
    const lights = 'power: 300 W   profile: { 18:00..22:00: 100 % }';
    expect(await findings(hut('idle: 30 W   onTime: 4 h', lights))).toEqual([]);
    expect(await findings(hut('idle: 31 W   onTime: 4 h', lights))).toHaveLength(1);
    const charged = (onTime: string): string =>
      `design D {
  grid Mains { voltage: 230 V   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 20 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 3 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   idle: 51.2 W   ${onTime} }
  bus Dc {}
  run In: Mains -> Rect.ac
  run Out: Rect.dc -> Dc
  run Feed: Bank -> Dc
  run InvFeed: Dc -> Inv.dc
  require netChargeCurrent(Bank) >= 19.5 A
}
`;
    // 51.2 W at 51.2 V are 1 A all day, 0.5 A for half of it.
    expect((await analyseText(charged(''))).requirements.map(({ holds }) => holds)).toEqual([false]);
    expect((await analyseText(charged('onTime: 12 h'))).requirements.map(({ holds }) => holds)).toEqual([true]);
  });

  it('does not propose to switch off an inverter whose loads need it', async () => {
    const [finding] = await findings(hut('idle: 70 W', 'power: 60 W   profile: always'));
    expect(finding?.fixes).toEqual([]);
    expect(lacking(finding?.told, 'Choose a smaller inverter')).toEqual([]);
  });

  it('counts every load of the bank, also those on its bus', async () => {
    const lights = 'power: 300 W   profile: { 18:00..22:00: 100 % }';
    const fridge = (duty: string): string => `load Fridge { power: 50 W   supply: dc   duty: ${duty} }
  run FridgeLine: Bank -> Fridge`;
    // 1.2 kWh and 0.24 kWh: 6 W are just a tenth.
    expect(await findings(hut('idle: 6 W', lights, fridge('20 %')))).toEqual([]);
    expect(await findings(hut('idle: 6 W', lights, fridge('19 %')))).toHaveLength(1);
  });

  it('is sure of an excess where loads without profile count as always on, and asks otherwise', async () => {
    // 100 W all day are 2.4 kWh: 10 W at the most.
    expect(await findings(hut('idle: 11 W', 'power: 100 W'))).toHaveLength(1);
    const analysis = await analyseText(hut('idle: 10 W', 'power: 100 W'));
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(askedBy(analysis, ID)).toEqual(['profile or duty of Lights']);
  });

  it('takes a ranged power at its low end, and all pieces of a load', async () => {
    const lights = (power: string): string => `power: ${power}   count: 2   profile: { 18:00..22:00: 100 % }`;
    // 2 · 150 W · 4 h are 1.2 kWh at least: 5 W.
    expect(await findings(hut('idle: 5 W', lights('150..400 W')))).toEqual([]);
    expect(await findings(hut('idle: 5 W', lights('149..400 W')))).toHaveLength(1);
  });

  it('asks for an idle draw that is left out', async () => {
    expect(askedBy(await analyseText(hut('', 'power: 100 W   profile: always')), ID)).toEqual(['idle of Inv']);
  });
});
