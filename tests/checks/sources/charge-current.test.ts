import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'charge-current';

/** A 280 Ah pack that takes 140 A, or any other bank, with one charger. */
const hut = (
  limit: string,
  bank = 'battery Bank : Lfp48V280Ah { cellTemperature: 20..30 degC }',
  rest = '',
): string => `design D {
  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  charger Rect { input: 180..264 V   currentLimit: ${limit}   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  ${bank}
  bus Dc {}
  run In: Mains -> Rect.ac { size: 16 mm2   length: 5 m }
  run Out: Rect.dc -> Dc { size: 70 mm2   length: 1 m }
  run Feed: Bank -> Dc { size: 70 mm2   type: WeldingCable   length: 1 m }
  ${rest}
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('stands at the data sheet’s current, all strings together', async () => {
    expect(await findings(hut('140 A'))).toEqual([]);
    const [finding] = await findings(hut('141 A'));
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, '141 A')).toEqual([]);
    expect(lacking(finding?.told, '140 A')).toEqual([]);
    const two = 'battery Bank : Lfp48V280Ah { parallel: 2   cellTemperature: 20..30 degC }';
    expect(await findings(hut('280 A', two))).toEqual([]);
    expect(await findings(hut('281 A', two))).toHaveLength(1);
  });

  it('warns against the usual rate of the chemistry where no limit is stated', async () => {
    // 0.5 C of 100 Ah (common practice, no source).
    const bank = 'battery Bank { chemistry: lfp   voltage: 51.2 V   capacity: 100 Ah   cellTemperature: 20..30 degC }';
    expect(await findings(hut('50 A', bank))).toEqual([]);
    const [finding] = await findings(hut('51 A', bank));
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'no `maximumCharge` is stated')).toEqual([]);
  });

  // Charge current by cell temperature, lithium iron phosphate (pack manual, cell data sheet): none below 0 °C, 0.1 C to 5 °C or 10 °C,
  // 0.2 C to 15 °C or 25 °C, 0.5 C above.
  it('warns in the cold, at the lowest temperature at which charging is allowed', async () => {
    const bank = (facts: string): string => `battery Bank : Lfp48V280Ah { ${facts} }`;
    const [cold] = await findings(hut('60 A', bank('cellTemperature: -10..30 degC')));
    expect(cold?.severity).toBe('warning');
    expect(lacking(cold?.told, 'at 0 °C')).toEqual([]);
    expect(lacking(cold?.told, '28 A')).toEqual([]);
    // Where the pack may only be charged above 20 °C, colder cells draw no current at all.
    expect(await findings(hut('56 A', bank('cellTemperature: -10..30 degC   chargeTemperature: 20..55 degC')))).toEqual(
      [],
    );
    // A heated pack is warm before it charges.
    expect(await findings(hut('60 A', bank('cellTemperature: -10..30 degC   heater: yes')))).toEqual([]);
  });

  it('asks how cold the cells get, unless heated, managed or lead', async () => {
    const asked = async (text: string): Promise<string[]> => askedBy(await analyseText(text), ID);
    expect(await asked(hut('60 A', 'battery Bank : Lfp48V280Ah'))).toEqual(['cellTemperature of Bank']);
    expect(await asked(hut('60 A', 'battery Bank : Lfp48V280Ah { heater: yes }'))).toEqual([]);
    expect(await asked(hut('60 A', 'battery Bank : Lfp48V280Ah', 'link Bus: Bank -> Rect { medium: can }'))).toEqual(
      [],
    );
    expect(await asked(hut('40 A', 'battery Bank : Agm12V200Ah { series: 4 }'))).toEqual([]);
    expect(await asked(hut('40 A', 'battery Bank { voltage: 48 V }'))).toEqual(['maximumCharge of Bank']);
  });

  it('only warns where the bank lowers the current over a link, and says that links die', async () => {
    const [finding] = await findings(hut('160 A', undefined, 'link Bus: Bank -> Rect { medium: can }'));
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'only while it works')).toEqual([]);
  });

  it('adds everything that charges at once, and names the state', async () => {
    const text = hut(
      '100 A',
      undefined,
      `solar Array { power: 500 W   parallel: 8 }
  chargeController Mppt { maximumCurrent: 100 A   absorb: 56 V }
  run Line: Array -> Mppt.solar { size: 10 mm2   length: 5 m }
  run Sun: Mppt.dc -> Dc { size: 35 mm2   type: WeldingCable   length: 1 m }`,
    );
    // 4000 W over 51.2 V are 78.1 A; with 100 A from the charger 178.1 A.
    const [finding] = await findings(text);
    expect(lacking(finding?.told, '178')).toEqual([]);
    expect(lacking(finding?.told, 'with Mains connected, Array charging')).toEqual([]);
    expect(lacking(finding?.told, 'Rect 100 A, Mppt 78.1 A')).toEqual([]);
    // Either of them turned down: 100 − 38.125 and 78.125 − 38.125.
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Limit Rect to 61 A', 'Limit Mppt to 40 A']);
    for (const fix of finding!.fixes) expect(await afterFix(text, ID, fix)).toEqual({ left: [], fresh: [] });
  });

  it('counts a controller with what its modules give, not with what it could pass', async () => {
    // Hut of an expedition blog: two modules of 75 W on 44 Ah.
    const text = `design D {
  solar Array { power: 75 W   parallel: 2 }
  chargeController Pwm { maximumCurrent: 60 A   absorb: 14.1 V }
  battery Bank { chemistry: gel   voltage: 12 V   capacity: 22 Ah   parallel: 4   maximumCharge: 4.4 A }
  run Line: Array -> Pwm.solar { size: 4 mm2   length: 5 m }
  run Sun: Pwm.dc -> Bank { size: 6 mm2   length: 1 m }
}
`;
    // 150 W / 12 V = 12.5 A of 17.6 A.
    expect(await findings(text)).toEqual([]);
  });

  it('judges each of two banks by its own chargers', async () => {
    const text = hut(
      '100 A',
      undefined,
      `charger Small { input: 180..264 V   currentLimit: 80 A   absorb: 14.2 V   efficiency: 90 %   powerFactor: 0.98 }
  battery Start : Lfp12V100Ah { cellTemperature: 20..30 degC }
  run InSmall: Mains -> Small.ac { size: 2.5 mm2   length: 5 m }
  run OutSmall: Small.dc -> Start { size: 25 mm2   length: 1 m }`,
    );
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(finding?.subject).toBe('D.Start');
    expect(lacking(finding?.told, '50 A')).toEqual([]);
  });

  it('counts with the most that one of several banks gets: a new one beside an aged one', async () => {
    // 40 A into 10..30 mohm twice: 40 A · 30/(10 + 30) = 30 A, the leads next to nothing.
    const pair = (limit: string): string => `design D {
  charger Rect { currentLimit: 40 A   absorb: 28 V   efficiency: 93 % }
  grid Mains { voltage: 230 V   rating: 16 A }
  battery A { voltage: 25.6 V   chemistry: lfp   cells: 8   capacity: 200 Ah   resistance: 10..30 mohm   cellTemperature: 20..25 degC   maximumCharge: ${limit} }
  battery B { voltage: 25.6 V   chemistry: lfp   cells: 8   capacity: 200 Ah   resistance: 10..30 mohm   cellTemperature: 20..25 degC   maximumCharge: ${limit} }
  bus Bar {}
  run In: Mains -> Rect.ac { size: 4 mm2   length: 1 m }
  run Charge: Rect.dc -> Bar { size: 25 mm2   length: 1 mm }
  run One: A -> Bar { size: 25 mm2   length: 1 mm }
  run Two: B -> Bar { size: 25 mm2   length: 1 mm }
}
`;
    const subjects = async (limit: string): Promise<string[]> =>
      findingsOf(await analyseText(pair(limit)), ID).map(({ subject }) => subject);
    expect(await subjects('30.5 A')).toEqual([]);
    expect(await subjects('29.5 A')).toEqual(['D.A', 'D.B']);
    const [finding] = findingsOf(await analyseText(pair('29.5 A')), ID);
    for (const fix of finding!.fixes) expect((await afterFix(pair('29.5 A'), ID, fix)).left).toEqual([]);
  });
});
