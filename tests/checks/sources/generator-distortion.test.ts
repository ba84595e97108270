import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'generator-distortion';

/** 50 A at 56 V and 93 % are 3010.75 W. */
const camp = (set: string, charger: string, rest = ''): string => `design D {
  generator Genset { voltage: 230 V   neutralBond: bonded   ${set} }
  charger Rect { input: 180..264 V   currentLimit: 50 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   ${charger} }
  battery Bank : Lfp48V280Ah { cellTemperature: 15..30 degC }
  bus Panel {}
  run Cord: Genset -> Panel
  run In: Panel -> Rect.ac
  run Feed: Rect.dc -> Bank
  ${rest}
}
`;
const found = async (text: string): Promise<string[]> =>
  findingsOf(await analyseText(text), ID).map(({ told }) => told);

describe(ID, () => {
  it('stands at 60 % of rated power for a conventional alternator', async () => {
    // 3010.75 W / 0.6 = 5017.9 W.
    expect(await found(camp('rated: 5018 W   waveform: conventional', 'accepts: sine'))).toEqual([]);
    const [message] = await found(camp('rated: 5017 W   waveform: conventional', 'accepts: sine'));
    expect(lacking(message, '60 %')).toEqual([]);
    expect(lacking(message, 'a rule of thumb')).toEqual([]);
  });

  it('is moved by what the maker states', async () => {
    expect(await found(camp('rated: 4 kW   waveform: conventional   cleanShare: 80 %', 'accepts: sine'))).toEqual([]);
    const [message] = await found(camp('rated: 4 kW   waveform: conventional   cleanShare: 70 %', 'accepts: sine'));
    expect(lacking(message, '70 %')).toEqual([]);
    expect(message).not.toContain('rule of thumb');
  });

  it('exempts chargers that accept any waveform, and inverter-type sets', async () => {
    expect(await found(camp('rated: 4 kW   waveform: conventional', 'accepts: any'))).toEqual([]);
    expect(await found(camp('rated: 4 kW   waveform: inverter', 'accepts: sine'))).toEqual([]);
    expect(await found(camp('rated: 4 kW   waveform: inverter', ''))).toEqual([]);
  });

  it('asks what a charger accepts only where it matters', async () => {
    const above = await analyseText(camp('rated: 4 kW   waveform: conventional', ''));
    expect(findingsOf(above, ID)).toEqual([]);
    expect(askedBy(above, ID)).toEqual(['accepts or thdLimit of Rect']);
    expect(askedBy(await analyseText(camp('rated: 6 kW   waveform: conventional', '')), ID)).toEqual([]);
    expect(askedBy(await analyseText(camp('rated: 4 kW', 'accepts: sine')), ID)).toEqual([
      'waveform or cleanShare of Genset',
    ]);
  });

  it('does not hold a set without chargers against a share that chargers spoil', async () => {
    const text = `design D {
  generator Genset { rated: 2 kW   voltage: 230 V   waveform: conventional   thd: 5 %   neutralBond: bonded }
  load Radio { power: 1.9 kW   thdLimit: 8 % }
  run Cord: Genset -> Radio
}
`;
    expect(await found(text)).toEqual([]);
  });

  it('holds distortion against what consumers accept, at the boundary and beyond', async () => {
    const load = (limit: string): string =>
      `load Radio { power: 100 W   thdLimit: ${limit} }\n  run Line: Panel -> Radio`;
    expect(await found(camp('rated: 6 kW   waveform: conventional   thd: 8 %', 'accepts: any', load('8 %')))).toEqual(
      [],
    );
    const [message] = await found(camp('rated: 6 kW   waveform: conventional   thd: 9 %', 'accepts: any', load('8 %')));
    expect(lacking(message, 'Genset distorts its voltage by 9 %; Radio accepts 8 %')).toEqual([]);
    const open = await analyseText(camp('rated: 6 kW   waveform: conventional', 'accepts: any', load('8 %')));
    expect(askedBy(open, ID)).toEqual(['thd of Genset']);
  });

  it('minds the built-in charger of an inverter like any other', async () => {
    const text = (accepts: string): string => `design D {
  generator Genset { rated: 2.5 kW   voltage: 120 V   waveform: conventional   neutralBond: bonded }
  inverter Inv : InverterCharger12V3000 { currentLimit: 100 A   absorb: 14.4 V   neutralBond: switched   ${accepts} }
  battery Bank : Lfp12V200Ah { cellTemperature: 15..30 degC }
  run Cord: Genset -> Inv.input
  run Feed: Bank -> Inv.dc
}
`;
    // 1440 W / 0.88 = 1636 W of 0.6 · 2500 W = 1500 W.
    expect(await found(text('accepts: sine'))).toHaveLength(1);
    expect(await found(text('accepts: any'))).toEqual([]);
    expect(askedBy(await analyseText(text('')), ID)).toEqual(['accepts or thdLimit of Inv']);
  });

  it('turns the charger down to what keeps the wave clean', async () => {
    const text = camp('rated: 4 kW   waveform: conventional', 'accepts: sine');
    const [finding] = findingsOf(await analyseText(text), ID);
    // 0.6 · 4000 W · 0.93 / 56 V = 39.86 A.
    expect(finding?.fixes.map(({ title }) => title)).toEqual([
      'Limit Rect to 39 A, so that Genset stays within its clean share',
    ]);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });
});
