import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { parallelRuns } from '../../../language/src/checks/conductors/parallel-runs.js';
import { type TestedFinding, afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'parallel-runs';

const findings = async (text: string): Promise<TestedFinding[]> => findingsOf(await analyseText(text), ID);

const pair = (left: string, right: string, basis = 'nec'): string => `design Barge {
  basis: ${basis}
  battery Bank : Lfp48V280Ah
  fuse F1 { class: T   rating: 200 A }
  bus Bar {}
  load Winch { power: 6 kW   supply: dc   minimumVoltage: 40 V }
  run Main: Bank -> F1 @ 150 mm -> Bar { size: 4/0 AWG   type: WeldingCable   length: 1 m }
  run Left: Bar -> Winch { ${left} }
  run Right: Bar -> Winch { ${right} }
}
`;

describe('runs in parallel', () => {
  it('of unequal length are told with the split that Ohm’s law gives', async () => {
    const [finding, ...rest] = await findings(pair('size: 2/0 AWG   length: 2 m', 'size: 2/0 AWG   length: 6 m'));
    expect(rest).toEqual([]);
    // 6 kW at 40 V is 150 A, shared 6:2.
    expect(lacking(finding!.told, 'Left carries 112.5 A (75 %) and Right carries 37.5 A (25 %)')).toEqual([]);
    expect(lacking(finding!.told, 'lengths (2 m and 6 m)')).toEqual([]);
  });

  it('use what the one that carries most is above an equal share', async () => {
    // 150 A, shared 3:1: 112.5 A against an equal share of 75 A and 2 %.
    for (const [left, right] of [
      [2, 6],
      [6, 2],
    ]) {
      const [finding] = await findings(pair(`size: 2/0 AWG   length: ${left} m`, `size: 2/0 AWG   length: ${right} m`));
      const use = finding?.use;
      expect(use && numberIn(use.value, 'A')).toBeCloseTo(112.5, 6);
      expect(use && numberIn(use.limit, 'A')).toBeCloseTo(76.5, 6);
    }
  });

  it('of unequal size share by area', async () => {
    const [finding] = await findings(pair('size: 4/0 AWG   length: 2 m', 'size: 1/0 AWG   length: 2 m'));
    // NEC Chapter 9 Table 8: 4/0 0.0608, 1/0 0.122 ohm per 1000 ft: 66.7 % and 33.3 %.
    expect(lacking(finding!.told, /Left carries 100\.1 A \(66\.7 %\)/)).toEqual([]);
    expect(lacking(finding!.told, 'sizes (4/0 AWG and 1/0 AWG)')).toEqual([]);
  });

  it('made equal by the fix leave nothing of this check behind', async () => {
    const type = 'type: WeldingCable';
    const text = pair(`size: 2/0 AWG   length: 2 m   ${type}`, `size: 4/0 AWG   length: 6 m   ${type}`);
    const [finding] = await findings(text);
    expect((await afterFix(text, ID, finding!.fixes![0]!)).left).toEqual([]);
  });

  it('may differ by what cutting leaves: 2 %', async () => {
    expect(await findings(pair('size: 2/0 AWG   length: 2 m', 'size: 2/0 AWG   length: 2.04 m'))).toEqual([]);
    expect(await findings(pair('size: 2/0 AWG   length: 2 m', 'size: 2/0 AWG   length: 2.05 m'))).toHaveLength(1);
  });

  it('are not judged without their lengths', async () => {
    const analysis = await analyseText(pair('size: 2/0 AWG   length: 2 m', 'size: 2/0 AWG'));
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(askedBy(analysis, ID)).toContain('length of Right');
  });

  it('turned round still join the same ends', async () => {
    const text = pair('size: 2/0 AWG   length: 2 m', 'size: 2/0 AWG   length: 6 m').replace(
      'run Right: Bar -> Winch',
      'run Right: Winch -> Bar',
    );
    expect(await findings(text)).toHaveLength(1);
  });
});

describe('conductors in parallel under the NEC', () => {
  const one = (basis: string, size: string): string =>
    pair(`size: ${size}   length: 2 m   parallel: 2`, 'size: 2/0 AWG   length: 5 m', basis).replace(
      /^ {2}run Right.*\n/m,
      '',
    );

  it('start at 1/0 AWG (310.10(G))', async () => {
    expect(await findings(one('nec', '1/0 AWG'))).toEqual([]);
    const [finding, ...rest] = await findings(one('nec', '1 AWG'));
    expect(rest).toEqual([]);
    expect(lacking(finding!.told, '310.10(G)')).toEqual([]);
    const after = await afterFix(one('nec', '1 AWG'), ID, finding!.fixes![0]!);
    expect(after).toEqual({ left: [], fresh: [] });
  });

  it('have no least size elsewhere', async () => {
    expect(await findings(one('iec', '35 mm2'))).toEqual([]);
    expect(await findings(one('craft', '4 AWG'))).toEqual([]);
  });

  it('single conductors may be of any size', async () => {
    expect(parallelRuns.severity).toBe('warning');
    expect(await findings(one('nec', '1 AWG').replace('parallel: 2', ''))).toEqual([]);
  });
});
