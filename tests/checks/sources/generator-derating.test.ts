import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'generator-derating';

const hut = (
  site: string,
  set = 'rated: 5 kW   voltage: 230 V',
  load = 'power: 1 kW',
  settings = '',
): string => `design D {
  ${settings}
  site { ${site} }
  generator Genset { ${set}   neutralBond: bonded }
  load Heater { ${load} }
  run Cord: Genset -> Heater
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('asks for the set’s own figure once 3 % of the rating are lost by altitude', async () => {
    // 3.5 % for each 305 m (owner’s manual of a standby set): 3 % are lost at 261.4 m.
    expect(await findings(hut('altitude: 261 m   ambient: 0..25 degC'))).toEqual([]);
    const text = hut('altitude: 262 m   ambient: 0..25 degC');
    const [finding] = await findings(text);
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, '3.01 %')).toEqual([]);
    expect(lacking(finding?.told, '`altitudeDerate`')).toEqual([]);
    expect(finding?.told).not.toContain('temperatureDerate');
    expect(finding?.fixes.map(({ title }) => title)).toEqual([
      'Assume the usual altitudeDerate of 3.5 % for Genset until its data sheet says more',
    ]);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('asks for it by temperature, and for both in one go', async () => {
    // 1 % for each 5.6 K above 25 °C: 3 % at 41.8 °C.
    expect(await findings(hut('altitude: 0 m   ambient: 0..41.8 degC'))).toEqual([]);
    const [hot] = await findings(hut('altitude: 0 m   ambient: 0..42 degC'));
    expect(lacking(hot?.told, '`temperatureDerate`')).toEqual([]);
    const text = hut('altitude: 1525 m   ambient: 0..53 degC');
    const [both] = await findings(text);
    // 5 kW · (1 − 5 · 0.035) · (1 − 5 · 0.01) = 3.919 kW
    expect(lacking(both?.told, '3.92 kW')).toEqual([]);
    expect(lacking(both?.told, '17.5 %')).toEqual([]);
    expect(await afterFix(text, ID, both!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('is content with figures of the set, however large the loss', async () => {
    const set = 'rated: 5 kW   voltage: 230 V   altitudeDerate: 3 %   temperatureDerate: 1 %';
    expect(await findings(hut('altitude: 3000 m   ambient: 0..45 degC', set))).toEqual([]);
  });

  it('can be told to mind less', async () => {
    const rated = 'rated: 5 kW   voltage: 230 V';
    expect(
      await findings(hut('altitude: 1525 m   ambient: 20 degC', rated, 'power: 1 kW', 'deratingShare: 17.5 %')),
    ).toEqual([]);
    expect(
      await findings(hut('altitude: 1525 m   ambient: 20 degC', rated, 'power: 1 kW', 'deratingShare: 17.4 %')),
    ).toHaveLength(1);
  });

  it('finds an alternator that is cooled badly in thin air, though the engine is strong enough', async () => {
    // 3 % less for each 500 m above 1000 m (generator sizing procedure): 10 kVA give 9.4 kVA at 2000 m.
    const set = 'rated: 8 kW   apparent: 10 kVA   voltage: 230 V   altitudeDerate: 0 %   temperatureDerate: 0 %';
    const site = 'altitude: 2000 m   ambient: 0..40 degC';
    expect(await findings(hut(site, set, 'power: 7.52 kW   powerFactor: 0.8'))).toEqual([]);
    const [finding] = await findings(hut(site, set, 'power: 7.6 kW   powerFactor: 0.8'));
    expect(lacking(finding?.told, '9.4 kVA')).toEqual([]);
    expect(lacking(finding?.told, '9.5 kVA')).toEqual([]);
    // 10 kVA · 9.5/9.4
    expect(lacking(finding?.told, '10.2 kVA')).toEqual([]);
    // At 45 °C another 3 %: 9.4 · 0.97 = 9.118 kVA.
    const [hot] = await findings(
      hut('altitude: 2000 m   ambient: 0..45 degC', set, 'power: 7.4 kW   powerFactor: 0.8'),
    );
    expect(lacking(hot?.told, '9.12 kVA')).toEqual([]);
    // Above the rating it is the matter of generator-overload, anywhere.
    expect(await findings(hut(site, set, 'power: 8 kW   powerFactor: 0.75'))).toEqual([]);
  });

  it('asks where the set stands, and of gas sets what the rating is for', async () => {
    expect(askedBy(await analyseText(hut('latitude: 45 deg')), ID)).toEqual([
      'altitude of the site',
      'ambient of the site',
    ]);
    const gas = 'rated: 5 kW   voltage: 230 V   fuel: propane';
    expect(askedBy(await analyseText(hut('altitude: 0 m   ambient: 20 degC', gas)), ID)).toEqual([
      'ratedFuel of Genset',
    ]);
    const told = await analyseText(hut('altitude: 0 m   ambient: 20 degC', `${gas}   ratedFuel: petrol`));
    expect(askedBy(told, ID)).toEqual([]);
    expect(askedBy(await analyseText(hut('altitude: 0 m   ambient: 20 degC', 'voltage: 230 V')), ID)).toEqual([
      'rated of Genset',
    ]);
  });
});
