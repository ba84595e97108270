import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'inverter-bank-current';

/** 4.6 kW at 92 % and 50 V draw 100 A. */
const hut = (bank: string, inverter = 'rated: 4.6 kW', rest = ''): string => `design D {
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   protectionLow: 40 V   resistance: 8 mohm   ${bank} }
  inverter Inv { ${inverter}   voltage: 230 V   efficiency: 92 %   cutOff: 50 V   neutralBond: bonded }
  bus Dc {}
  run Feed: Bank -> Dc
  run InvFeed: Dc -> Inv.dc
  ${rest}
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('stands at the discharge limit of the bank, all strings together', async () => {
    expect(await findings(hut('maximumDischarge: 100 A'))).toEqual([]);
    const text = hut('maximumDischarge: 99 A');
    const [finding] = await findings(text);
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, '100 A')).toEqual([]);
    expect(lacking(finding?.told, '99 A continuously')).toEqual([]);
    expect(numberIn(finding!.numbers['current']!, 'A')).toBeCloseTo(100, 9);
    // Two strings carry it; three still do with one of them out: 33.3 A each, 41.7 A with 125 %, and 50 A with one out.
    expect(finding?.fixes[0]?.title).toBe(
      'Give Bank 3 strings, which hold with one of them out, each with a fuse of 50 A',
    );
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toMatchObject({ left: [] });
  });

  it('proposes a higher cut-off where the bank still holds charge there', async () => {
    // 47 V · 106.38 A / 100 A = 50 V would do, below the reconnect voltage and within a tenth of the usual 44.8 V: not above 49.28 V.
    const text = (cutOff: string): string =>
      hut('maximumDischarge: 104 A').replace('cutOff: 50 V', `cutOff: ${cutOff}   reconnect: 52 V`);
    // 47 V: 106.4 A; at 48.1 V 103.95 A.
    const [finding] = await findings(text('47 V'));
    expect(finding?.fixes.map(({ title }) => title)).toContain('Set cutOff of Inv to 48.1 V');
    const fix = finding!.fixes.find(({ title }) => title.startsWith('Set cutOff'))!;
    expect(await afterFix(text('47 V'), ID, fix)).toEqual({ left: [], fresh: [] });
    const [far] = await findings(text('47 V').replace('104 A', '100 A'));
    expect(far?.fixes.map(({ title }) => title)).not.toContain('Set cutOff of Inv to 50 V');
  });

  it('adds direct-current loads and other inverters', async () => {
    const radio = `load Radio { power: 400 W   supply: dc }
  run L: Dc -> Radio`;
    // 400 W at 40 V, where the protection opens, are 10 A more.
    expect(await findings(hut('maximumDischarge: 110 A', undefined, radio))).toEqual([]);
    const [finding] = await findings(hut('maximumDischarge: 109 A', undefined, radio));
    expect(lacking(finding?.told, 'Inv 100 A, Radio 10 A')).toEqual([]);
  });

  it('holds the start of the largest motor against the peak current', async () => {
    const pump = (factor: string): string => `load Pump { power: 1.15 kW   startFactor: ${factor}   startTime: 1 s }
  run L: Inv.ac -> Pump`;
    const inverter = 'rated: 2.3 kW   surge: 9.2 kW   surgeTime: 5 s';
    // 1.15 kW · 4 = 4.6 kW: 100 A.
    const bank = (peak: string): string => `maximumDischarge: 60 A   peakDischarge: ${peak}`;
    expect(await findings(hut(bank('100 A'), inverter, pump('4')))).toEqual([]);
    const [finding] = await findings(hut(bank('99 A'), inverter, pump('4')));
    expect(lacking(finding?.told, 'while a motor starts')).toEqual([]);
    expect(lacking(finding?.told, '99 A for a few seconds')).toEqual([]);
    // An inverter gives no more than its surge power: 9.2 kW are 200 A.
    expect(await findings(hut(bank('200 A'), inverter, pump('10')))).toEqual([]);
    // Within the continuous limit no peak is needed.
    expect(askedBy(await analyseText(hut('maximumDischarge: 100 A', inverter, pump('4'))), ID)).toEqual([]);
    expect(askedBy(await analyseText(hut('maximumDischarge: 99 A', inverter, pump('4'))), ID)).toEqual([
      'peakDischarge of Bank',
    ]);
  });

  it('warns where the others cannot carry it with one string out', async () => {
    expect(await findings(hut('maximumDischarge: 50 A   parallel: 3'))).toEqual([]);
    const text = hut('maximumDischarge: 50 A   parallel: 2');
    const [finding] = await findings(text);
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'With one of the 2 strings of Bank out')).toEqual([]);
    expect(lacking(finding?.told, '50 A')).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Give Bank 3 strings, each with a fuse of 50 A']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toMatchObject({ left: [] });
  });

  it('does not count an inverter that passes a supply on, but the state without the supply', async () => {
    const grid = `grid Mains { voltage: 230 V   rating: 32 A   neutralBond: bonded }
  run In: Mains -> Inv.input`;
    const [finding] = await findings(
      hut('maximumDischarge: 99 A', 'rated: 4.6 kW   passThrough: yes   input: 180..264 V', grid),
    );
    expect(lacking(finding?.told, 'with battery alone')).toEqual([]);
  });

  it('asks for the limit of the bank', async () => {
    expect(askedBy(await analyseText(hut('')), ID)).toEqual(['maximumDischarge of Bank']);
  });
});
