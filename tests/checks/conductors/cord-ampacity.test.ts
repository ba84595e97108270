import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, findingsOf, lacking } from '../../helpers/analyse.js';

const set = (run: string, site = '', basis = 'nec 2023', outlet = 'L14-30', breaker = 30): string => `design Camp {
  basis: ${basis}
  ${site}
  generator Genset { rated: 7.2 kW   voltage: 120/240 V   outlet: ${outlet}   breaker: ${breaker} A   neutralBond: bonded }
  load Heater { power: 3 kW   voltage: 240 V }
  run Cord: Genset -> Heater { ${run}   length: 10 m }
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), 'cord-ampacity');

describe('cord-ampacity', () => {
  // NEC Table 400.5(A)(1): 10 AWG 30 A with two conductors that carry current, 25 A with three; 12 AWG 25 A.
  it('holds the cord against the plug by the column of its conductors', async () => {
    expect(await findings(set('size: 10 AWG   type: SOOW'))).toEqual([]);
    const [three] = await findings(set('size: 10 AWG   type: SOOW   conductors: 3'));
    expect(three?.severity).toBe('error');
    expect(lacking(three?.told, /^The outlet of Genset, L14-30, lets through 30 A.*may carry 25 A/)).toEqual([]);
    expect(three?.fixes[0]?.title).toBe('Change size of Cord to 8 AWG');
    const text = set('size: 12 AWG   type: SOOW');
    const [two] = await findings(text);
    expect(await afterFix(text, 'cord-ampacity', two!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('counts the breaker of the set where it is smaller than the outlet', async () => {
    // 12 AWG carries 25 A (the same table): enough behind a breaker of 20 A or 25 A, though the outlet is made for 30 A.
    expect(await findings(set('size: 12 AWG   type: SOOW', '', 'nec 2023', 'L14-30', 20))).toEqual([]);
    expect(await findings(set('size: 12 AWG   type: SOOW', '', 'nec 2023', 'L14-30', 25))).toEqual([]);
    const [finding] = await findings(set('size: 14 AWG   type: SOOW', '', 'nec 2023', 'L14-30', 25));
    expect(lacking(finding?.told, /^The breaker of Genset lets through 25 A/)).toEqual([]);
  });

  it('leaves a plug alone that does not say what it is rated for', async () => {
    const text = `${set('size: 14 AWG   type: SOOW', '', 'nec 2023', 'Own')}part plug Own { voltage: 250 V   phases: split }\n`;
    expect(await findings(text)).toEqual([]);
  });

  it('is told once: the outlet that feeds a cord without a device is not a second finding', async () => {
    const analysis = await analyseText(set('size: 12 AWG   type: SOOW'));
    expect(findingsOf(analysis, 'cord-ampacity')).toHaveLength(1);
    expect(findingsOf(analysis, 'run-unprotected')).toEqual([]);
  });

  // NEC 400.5(A) corrects for the ambient; 240.5(A), from memory, names the ampacity of the table. 10 AWG at 35 °C, 90 °C cord: 30 A · 0.96.
  it('warns where only the warm ambient takes it below its plug', async () => {
    const [finding] = await findings(set('size: 10 AWG   type: SOOW', 'site { ambient: -5..35 degC }'));
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, '28.8 A after ambient 0.96')).toEqual([]);
    expect(lacking(finding?.told, '240.5(A)')).toEqual([]);
    const cool = await findings(set('size: 10 AWG   type: SOOW', 'site { ambient: -5..30 degC }'));
    expect(cool).toEqual([]);
  });

  // NEC 240.5(B)(4), from memory: cords of 16 AWG and larger on circuits of 20 A.
  it('leaves cords from 16 AWG on plugs up to 20 A to their load', async () => {
    expect(await findings(set('size: 16 AWG   type: SJTW', '', 'nec', 'NEMA-5-15', 15))).toEqual([]);
    expect(await findings(set('size: 18 AWG   type: SJTW', '', 'nec', 'NEMA-5-15', 15))).toHaveLength(1);
  });

  // BS 7671 Table 4F1A: 4 mm², 60 °C rubber, one two-core cable: 30 A; below 4 mm² from memory.
  it('reads the rubber-cable tables under iec, from memory below 4 mm²', async () => {
    const text = (size: string, outlet: string): string => `design Camp {
  basis: iec
  grid Shore { voltage: 230 V   rating: 32 A   outlet: ${outlet}   neutralBond: bonded }
  load Heater { power: 2 kW }
  run Cord: Shore -> Heater { size: ${size}   type: H07RN-F   length: 5 m }
}
`;
    expect((await findings(text('4 mm2', 'IEC-60309-32')))[0]?.severity).toBe('error');
    expect(await findings(text('6 mm2', 'IEC-60309-32'))).toEqual([]);
    expect((await findings(text('1.5 mm2', 'IEC-60309-16')))[0]?.severity).toBe('warning');
    expect(await findings(text('2.5 mm2', 'IEC-60309-16'))).toEqual([]);
  });

  it('cannot be held against a plug that states no rating', async () => {
    const text = `part plug Odd { voltage: 240 V }\n${set('size: 14 AWG   type: SOOW', '', 'nec 2023', 'Odd', 25)}`;
    expect(findingsOf(await analyseText(text), 'unknown-name')).toEqual([]);
    expect(await findings(text)).toEqual([]);
  });

  it('says nothing of fixed wiring and of cords without a plug', async () => {
    expect(await findings(set('size: 12 AWG   type: THHN'))).toEqual([]);
    expect(await findings(set('size: 12 AWG   type: SOOW').replace('outlet: L14-30   ', ''))).toEqual([]);
  });
});
