import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { afterFix, analyseText, findingsOf, lacking } from '../../helpers/analyse.js';

const line = (watts: number, device: string, size = '4 mm2', basis = 'iec'): string => `design Hut {
  basis: ${basis}
  grid Mains { voltage: 230 V   rating: 400 A   neutralBond: bonded }
  ${device}
  load Heater { power: ${watts} W }
  run Line: Mains -> D -> Heater { size: ${size}   type: H07V-R   method: C   length: 1 m   earth: ${size} }
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), 'protection-coordination');

describe('protection-coordination', () => {
  // IEC 60364-4-43 433.1: Ib ≤ In. 230 V · 16 A = 3680 W.
  it('asks that the device carries the load, without a factor', async () => {
    expect(await findings(line(3680, 'breaker D { rating: 16 A   curve: B }'))).toEqual([]);
    const [finding] = await findings(line(3700, 'breaker D { rating: 16 A   curve: B }'));
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, 'I_b ≤ I_n')).toEqual([]);
    expect(finding?.fixes[0]?.title).toBe('Change rating of D to 20 A');
  });

  // 433.1: I2 ≤ 1.45 Iz. 4 mm² PVC, method C, two loaded: 36 A (Table B.52.2). gG fuse from 16 A: 1.6 In, so In ≤ 0.906 Iz = 32.6 A; a breaker
  // with 1.45 In may have all of Iz.
  it('asks 1.45 times the ampacity of a fuse, and nothing more of a breaker', async () => {
    expect(await findings(line(1000, 'fuse D { rating: 32 A }'))).toEqual([]);
    const [finding] = await findings(line(1000, 'fuse D { rating: 35 A }'));
    expect(numberIn(finding!.numbers.operating!, 'A')).toBeCloseTo(56, 9);
    expect(numberIn(finding!.numbers.limit!, 'A')).toBeCloseTo(52.2, 9);
    expect(finding?.severity).toBe('warning');
    expect(await findings(line(1000, 'breaker D { rating: 36 A   curve: B }'))).toEqual([]);
  });

  // Below 16 A the factor is 1.9 (IEC 60269-1, from memory): 10 A · 1.9 / 1.45 = 13.1 A.
  it('knows the higher factors of small fuses', async () => {
    // 1 mm² is below the sizes of power circuits; 1.5 mm² PVC at A1 with six circuits: 14.5 A · 0.57 = 8.3 A.
    const text = line(500, 'fuse D { rating: 6 A }', '1.5 mm2').replace('method: C', 'method: A1   circuits: 6');
    expect(await findings(text)).toEqual([]);
    const [finding] = await findings(text.replace('rating: 6 A', 'rating: 8 A'));
    expect(numberIn(finding!.numbers.operating!, 'A')).toBeCloseTo(15.2, 9);
  });

  it('leaves a device above the ampacity to run-protection', async () => {
    const analysis = await analyseText(line(1000, 'fuse D { rating: 40 A }'));
    expect(findingsOf(analysis, 'run-protection')).toHaveLength(1);
    expect(findingsOf(analysis, 'protection-coordination')).toEqual([]);
  });

  it('offers a size or a rating that end it and bring nothing', async () => {
    const text = line(1000, 'fuse D { class: gG   rating: 35 A }');
    const [finding] = await findings(text);
    expect(finding?.fixes.map(({ title }) => title)).toEqual([
      'Change rating of D to 32 A',
      'Change size of Line to 6 mm2 and earth of Line to 6 mm2',
    ]);
    for (const fix of finding!.fixes)
      expect(await afterFix(text, 'protection-coordination', fix), fix.title).toEqual({ left: [], fresh: [] });
  });

  it('is a rule of iec alone', async () => {
    expect(await findings(line(3700, 'breaker D { rating: 16 A }', '12 AWG', 'nec'))).toEqual([]);
  });
});
