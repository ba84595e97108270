import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';
import { valueOf } from '../../helpers/quantities.js';
import { inverterInput } from '../../helpers/inverter-input.js';

const ID = 'autonomy';

const relay = (bank: string, load = 'power: 12 W   supply: dc   profile: always', rest = ''): string => `design D {
  battery Bank ${bank}
  load Radio { ${load} }
  bus Dc {}
  run Feed: Bank -> Dc
  run Line: Dc -> Radio
  ${rest}
}
`;
/** 100 Ah, half of it kept: 50 Ah for 1 A, 50 h. */
const unit = (facts: string): string =>
  `{ chemistry: agm   voltage: 12 V   cells: 6   capacity: 100 Ah   capacityTime: 20 h   peukert: 1.1   reserve: 50 %   ${facts} }`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('is an error where a new and warm bank does not last, boundary included', async () => {
    const text = relay(unit('autonomy: 51 h   cellTemperature: 25 degC'));
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('error');
    expect(
      lacking(finding?.told, 'carries the loads for 50 h without charge, new and warm, and 51 h are asked for'),
    ).toEqual([]);
    expect(lacking(finding?.told, '50 Ah down to the reserve at a mean of 1 A. 51 Ah would do.')).toEqual([]);
    // 12 W at 10.5 V are 1.14 A; with one string out the other carries all: the next of NEC 240.6 is 3 A.
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Put 2 strings in parallel, each with a fuse of 3 A']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
    expect((await findings(relay(unit('autonomy: 50 h   cellTemperature: 25 degC'))))[0]?.severity).toBe('warning');
  });

  it('is a warning where only the aged bank does not: 80 % of capacity', async () => {
    expect(await findings(relay(unit('autonomy: 40 h   cellTemperature: 25 degC')))).toEqual([]);
    const [finding] = await findings(relay(unit('autonomy: 41 h   cellTemperature: 25 degC')));
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'for 40 h without charge, aged to 80 % of its capacity')).toEqual([]);
  });

  it('counts the coldest cells by the published table: 84 % of lead at 4.4 °C and twenty hours', async () => {
    // Handbook on uninterruptible supplies, p. 199: 0.865 at 4.4 °C for 20 h. 50 · 0.865/1.25 = 34.6 h.
    expect(await valueOf(relay(unit('cellTemperature: 4.4..30 degC')), 'Bank', 'autonomyTime', 'h')).toBeCloseTo(
      43.25,
      6,
    );
    expect(await findings(relay(unit('autonomy: 34.5 h   cellTemperature: 4.4..30 degC')))).toEqual([]);
    const [finding] = await findings(relay(unit('autonomy: 34.7 h   cellTemperature: 4.4..30 degC')));
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'cells at 4.4 °C')).toEqual([]);
  });

  it('takes the mean of profile and duty, through the inverter with its idle draw', async () => {
    const text = `design D {
  battery Bank ${unit('autonomy: 2 h   cellTemperature: 25 degC')}
  inverter Inv { rated: 1 kW   voltage: 230 V   efficiency: 90 %   dcVoltage: 10.5..15 V   cutOff: 10.5 V   idle: 6 W   neutralBond: bonded }
  load Lamp { power: 108 W   profile: { 06:00..18:00: 100 % } }
  run Feed: Bank -> Inv.dc
  run Line: Inv.ac -> Lamp
}
`;
    // 108 W half of the time, and what the inverter loses at that load and without any.
    const drawn = (output: number): number => inverterInput(output, { rated: 1000, efficiency: 0.9, idle: 6 });
    const watts = (drawn(108) + drawn(0)) / 2;
    // A little more than the 5 A at which its 100 Ah are rated: Peukert’s equation with 1.1 takes some of it.
    const amperes = watts / 12;
    expect(amperes).toBeGreaterThan(5);
    expect(await valueOf(text, 'Bank', 'autonomyTime', 'h')).toBeCloseTo((50 / amperes) * (5 / amperes) ** 0.1, 6);
  });

  it('adds the banks of a bus, and asks the longest time of them once', async () => {
    const other = `battery Other ${unit('autonomy: 90 h   cellTemperature: 25 degC')}
  run B: Other -> Dc`;
    const found = await findings(relay(unit('autonomy: 3 h   cellTemperature: 25 degC'), undefined, other));
    expect(found).toHaveLength(1);
    // 100 Ah for 1 A, aged 80 h.
    expect(lacking(found[0]?.told, 'Bank and Other carry the loads for 80 h')).toEqual([]);
    expect(found[0]?.subject).toBe('D.Other');
  });

  it('says nothing where nothing is asked, and asks for what it needs', async () => {
    const plain = await analyseText(relay(unit('')));
    expect(findingsOf(plain, ID)).toEqual([]);
    expect(askedBy(plain, ID)).toEqual([]);
    expect(askedBy(await analyseText(relay(unit('autonomy: 30 h'))), ID)).toEqual(['cellTemperature of Bank']);
    expect(askedBy(await analyseText(relay(unit('autonomy: 30 h').replace('reserve: 50 %', ''))), ID)).toEqual([
      'reserve of Bank',
    ]);
    // Already too little when warm: no need to know how cold it gets.
    expect(await findings(relay(unit('autonomy: 60 h')))).toHaveLength(1);
  });

  it('has no figures for cells colder than the tables go', async () => {
    const analysis = await analyseText(relay(unit('autonomy: 30 h   cellTemperature: -20..30 degC')));
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(askedBy(analysis, ID).join()).toContain('no figures for the capacity of lead-acid');
  });
});
