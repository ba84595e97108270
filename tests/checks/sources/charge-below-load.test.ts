import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'charge-below-load';

/** A workshop at 51.2 V whose inverter at its rating of 2304 W has 90 %: 50 A at the bank; at half of it 24.5 A. */
const shop = (limit: string, load: string, rest = '', charger = 'maximumCurrent: 100 A'): string => `design D {
  generator Genset { rated: 9 kW   voltage: 230 V   neutralBond: bonded }
  charger Rect { input: 180..264 V   currentLimit: ${limit}   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   ${charger} }
  battery Bank : Lfp48V280Ah { cellTemperature: 20..30 degC }
  inverter Inv { rated: 2304 W   voltage: 230 V   efficiency: 90 %   dcVoltage: 42..60 V   neutralBond: bonded }
  load Tools { ${load} }
  bus Dc {}
  run Cord: Genset -> Rect.ac
  run Out: Rect.dc -> Dc
  run Feed: Bank -> Dc
  run InvFeed: Dc -> Inv.dc
  run Line: Inv.ac -> Tools
  ${rest}
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('is an error where nothing is left, a warning below 5 % of capacity an hour, silent from there', async () => {
    // 5 % of 280 Ah is 14 A: 64 A leave just that.
    const load = 'power: 2304 W   profile: always';
    expect(await findings(shop('64 A', load))).toEqual([]);
    const [slow] = await findings(shop('63 A', load));
    expect(slow?.severity).toBe('warning');
    expect(lacking(slow?.told, '13 A')).toEqual([]);
    expect(lacking(slow?.told, '14 A')).toEqual([]);
    const [even] = await findings(shop('50 A', load));
    expect(even?.severity).toBe('error');
    const [loss] = await findings(shop('30 A', load));
    expect(lacking(loss?.told, 'the bank loses 20 A')).toEqual([]);
    expect(lacking(loss?.told, 'With Genset running')).toEqual([]);
  });

  it('counts a load by duty and profile, and says when neither is stated', async () => {
    // Half the time: 24.5 A on average, 38.5 A needed.
    expect(await findings(shop('39 A', 'power: 2304 W   duty: 50 %'))).toEqual([]);
    // In its hours the inverter loses more than twice as much as at the mean.
    const hours = 'power: 2304 W   profile: { 06:00..18:00: 100 % }';
    expect(await findings(shop('39 A', hours))).toHaveLength(1);
    expect(await findings(shop('40 A', hours))).toEqual([]);
    expect((await findings(shop('38 A', 'power: 2304 W   duty: 50 %')))[0]?.told).not.toContain('always on');
    expect(
      lacking(
        (await findings(shop('38 A', 'power: 2304 W')))[0]?.told,
        'no profile or duty is stated for Tools, which counts as always on',
      ),
    ).toEqual([]);
  });

  it('counts the idle draw of the inverter and DC loads, behind a converter, too', async () => {
    const rest = `converter Down { input: 40..60 V   output: 12 V   currentLimit: 30 A   efficiency: 80 % }
  load Radio { power: 102.4 W   supply: dc   profile: always }
  run DownFeed: Dc -> Down.in
  run RadioFeed: Down.out -> Radio`;
    // 102.4 W / 0.8 / 51.2 V = 2.5 A on top of 50 A and 14 A.
    expect(await findings(shop('66.5 A', 'power: 2304 W   profile: always', rest))).toEqual([]);
    const [finding] = await findings(shop('66 A', 'power: 2304 W   profile: always', rest));
    expect(lacking(finding?.told, 'Tools, Radio')).toEqual([]);
    const open = await analyseText(
      shop('66 A', 'power: 2304 W   profile: always', rest.replace('efficiency: 80 %', '')),
    );
    expect(askedBy(open, ID)).toEqual(['efficiency of Down']);
  });

  it('does not count loads that the source carries itself through the inverter', async () => {
    const text = `design D {
  generator Genset { rated: 9 kW   voltage: 230 V   neutralBond: bonded }
  inverter Inv : InverterCharger48V5000-230 { currentLimit: 30 A   absorb: 56 V   neutralBond: switched }
  battery Bank : Lfp48V280Ah { cellTemperature: 20..30 degC }
  load House { power: 4 kW   profile: always }
  run Cord: Genset -> Inv.input
  run Feed: Bank -> Inv.dc
  run Line: Inv.ac -> House
}
`;
    expect(await findings(text)).toEqual([]);
  });

  // RV electricity column: 900 W are about 58 A at 13.6 V and 88 %; at the highest charge voltage of 14.4 V they are 55 A.
  it('gives no more than an input limit lets through', async () => {
    const text = (load: string): string => `design D {
  generator Small { rated: 900 W   voltage: 120 V   neutralBond: bonded }
  charger Rect {
    input: 95..135 V   currentLimit: 240 A   inputLimit: 7.5 A   absorb: 14.4 V   efficiency: 88 %   powerFactor: 1
  }
  battery Bank { chemistry: lfp   voltage: 12.8 V   cells: 4   capacity: 400 Ah   maximumCharge: 240 A   cellTemperature: 20..30 degC }
  load Fridge { power: ${load}   supply: dc   profile: always }
  bus Dc {}
  run Cord: Small -> Rect.ac
  run Out: Rect.dc -> Dc
  run Feed: Bank -> Dc
  run Line: Dc -> Fridge
}
`;
    // 55 A − 20 A (5 % of 400 Ah) = 35 A · 12.8 V = 448 W.
    expect(await findings(text('448 W'))).toEqual([]);
    const [finding] = await findings(text('460 W'));
    expect(lacking(finding?.told, '55 A')).toEqual([]);
    expect(lacking(finding?.told, 'limited by its input limit')).toEqual([]);
    // A higher output limit would change nothing.
    expect(finding?.fixes).toEqual([]);
  });

  it('raises the limit only where charger, bank and set take it', async () => {
    const load = 'power: 2304 W   profile: always';
    const text = shop('40 A', load);
    const [finding] = await findings(text);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Raise the limit of Rect to 65 A']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
    expect((await findings(shop('40 A', load, '', 'maximumCurrent: 60 A')))[0]?.fixes).toEqual([]);
    expect((await findings(shop('40 A', load).replace('rated: 9 kW', 'rated: 3 kW')))[0]?.fixes).toEqual([]);
    const small = shop('40 A', load).replace(': Lfp48V280Ah', ': Lfp48V100Ah');
    expect((await findings(small))[0]?.fixes).toEqual([]);
  });

  it('is not asked of the sun, which gives less than the loads at times', async () => {
    const text = `design D {
  solar Array { power: 100 W }
  chargeController Mppt { maximumCurrent: 20 A   absorb: 56 V }
  battery Bank : Lfp48V280Ah
  load Lamp { power: 500 W   supply: dc   profile: always }
  bus Dc {}
  run Line: Array -> Mppt.solar
  run Out: Mppt.dc -> Dc
  run Feed: Bank -> Dc
  run L: Dc -> Lamp
}
`;
    expect(await findings(text)).toEqual([]);
  });

  it('asks for what lacks', async () => {
    expect(askedBy(await analyseText(shop('64 A', 'profile: always')), ID)).toEqual(['power of Tools']);
    expect(askedBy(await analyseText(shop('64 A', 'power: 1 kW').replace('efficiency: 90 %', '')), ID)).toEqual([
      'efficiency of Inv',
    ]);
  });
});
