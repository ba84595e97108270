import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { type TestedFinding, afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'fault-clearing';

const findings = async (text: string): Promise<TestedFinding[]> => findingsOf(await analyseText(text), ID);

interface Hut {
  readonly device?: string;
  readonly line?: string;
  readonly source?: string;
  readonly load?: string;
  readonly basis?: string;
}

const hut = ({
  device = 'breaker B1 { class: MiniatureBreaker10k   rating: 16 A   curve: C }',
  line = 'size: 2.5 mm2   type: H07V-U   length: 50 m   method: B1   dropLimit: 10 %',
  source = 'grid Mains { voltage: 230 V   rating: 63 A   faultCurrent: 1 kA   neutralBond: bonded }',
  load = 'power: 1 kW',
  basis = 'iec',
}: Hut): string => `design Hut {
  basis: ${basis}
  ${source}
  ${device}
  load Lamps { ${load} }
  run Line: ${/^\w+ (\w+)/.exec(source)![1]!} -> B1 -> Lamps { ${line} }
}
`;

const numberOf = (finding: TestedFinding, name: string): number => numberIn(finding.numbers![name]!, 'A');

describe('the smallest fault at the end of a cable', () => {
  it('is the supply voltage over the hot loop and the impedance of the supply', async () => {
    const [finding, ...rest] = await findings(
      hut({ line: 'size: 1.5 mm2   type: H07V-U   length: 60 m   method: B1   dropLimit: 10 %' }),
    );
    expect(rest).toEqual([]);
    // IEC 60228 class 1, 1.5 mm2: 12.1 ohm/km at 20 °C, at 70 °C (PVC) times 1 + 0.00393 · 50. 2 · 60 m and 230 V / 1 kA.
    const loop = 120 * 12.1e-3 * (1 + 0.00393 * 50);
    expect(numberOf(finding!, 'fault')).toBeCloseTo(230 / (0.23 + loop), 0);
    // IEC 60898-1: curve C trips at 10 times its rating.
    expect(numberOf(finding!, 'needed')).toBeCloseTo(160, 9);
    expect(finding!.severity).toBe('warning');
  });

  // IEC 60898-1: curve B trips at 5 times its rating, C at 10 times, D at 20 times. 110 A at the end.
  it('is that of the quickest of several devices, whichever stands first', async () => {
    const line = 'size: 1.5 mm2   type: H07V-U   length: 60 m   method: B1   dropLimit: 10 %';
    const two = (first: string, second: string): string =>
      hut({
        line,
        device: `breaker B1 { class: MiniatureBreaker10k   rating: 16 A   curve: ${first} }
  breaker B2 { class: MiniatureBreaker10k   rating: 16 A   curve: ${second} }`,
      }).replace('-> B1 ->', '-> B1 -> B2 ->');
    expect(await findings(two('C', 'B'))).toEqual([]);
    expect(await findings(two('B', 'C'))).toEqual([]);
    for (const text of [two('C', 'D'), two('D', 'C')]) {
      const [finding] = await findings(text);
      expect(numberOf(finding!, 'needed')).toBeCloseTo(160, 9);
    }
  });

  it('returns through the earth conductor where that is thinner', async () => {
    const thin = hut({
      device: 'breaker B1 { class: MiniatureBreaker10k   rating: 32 A   curve: C }',
      line: 'size: 6 mm2   earth: 2.5 mm2   type: H07V-U   length: 50 m   method: B1',
    });
    // Class 1: 6 mm2 3.08, 2.5 mm2 7.41 ohm/km; hot 1.1965: 50 m · 10.49 = 0.628 ohm and 0.23 ohm: 268 A < 320 A.
    const [finding] = await findings(thin);
    expect(numberOf(finding!, 'fault')).toBeCloseTo(268, 0);
    expect(await findings(thin.replace('earth: 2.5 mm2   ', ''))).toEqual([]);
  });

  it('holds for a fuse up to its published 5 s and 0.4 s currents', async () => {
    const fuse = (length: number, load = 'power: 1 kW'): string =>
      hut({
        device: 'fuse B1 { class: gG   rating: 20 A }',
        line: `size: 2.5 mm2   type: H07V-U   length: ${length} m   method: B1   dropLimit: 10 %`,
        load,
      });
    // 147 A in 0.4 s for a final circuit of 20 A: 230 V / 147 A − 0.23 ohm = 1.335 ohm; 2 · 8.866 mohm/m: 75.3 m.
    expect(await findings(fuse(75))).toEqual([]);
    expect(await findings(fuse(76))).toHaveLength(1);
  });

  it('is held against 0.4 s in final circuits up to 32 A, and against 5 s above', async () => {
    // gG (IEC 60269-2): 32 A opens at 275 A in 0.4 s and at 150 A in 5 s, 40 A at 190 A in 5 s. 6 mm², 3.08 ohm/km hot 3.69: 230 V over 0.23 ohm
    // and 2 · 40 m is 438 A, over 2 · 100 m 237 A.
    const fuse = (rating: number, metres: number): string =>
      hut({
        device: `fuse B1 { class: gG   rating: ${rating} A }`,
        line: `size: 6 mm2   type: H07V-U   length: ${metres} m   method: B1   dropLimit: 20 %`,
      });
    expect(await findings(fuse(32, 40))).toEqual([]);
    expect(await findings(fuse(32, 100))).toHaveLength(1);
    expect(await findings(fuse(40, 100))).toEqual([]);
  });

  it('is mended by the rating or the size that are offered, and they raise nothing new', async () => {
    const text = hut({ line: 'size: 1.5 mm2   type: H07V-U   length: 60 m   method: B1   dropLimit: 10 %' });
    const [finding] = await findings(text);
    expect(finding!.fixes!.map(({ title }) => title)).toEqual([
      'Change rating of B1 to 10 A',
      'Change size of Line to 2.5 mm2',
    ]);
    for (const fix of finding!.fixes!)
      expect(await afterFix(text, ID, fix), fix.title).toEqual({ left: [], fresh: [] });
  });
});

describe('weak sources', () => {
  it('a generator drives its rated current over its reactance', async () => {
    const source =
      'generator Genset { rated: 3 kW   apparent: 3 kVA   voltage: 230 V   reactance: 0.25   waveform: conventional   neutralBond: bonded }';
    const [finding] = await findings(hut({ source, line: 'size: 2.5 mm2   type: H07V-U   length: 1 m   method: B1' }));
    // 3 kVA / 230 V / 0.25 = 52 A, less the cable.
    expect(numberOf(finding!, 'fault')).toBeGreaterThan(51);
    expect(numberOf(finding!, 'fault')).toBeLessThan(52.2);
    expect(lacking(finding!.told, 'from Genset')).toEqual([]);
  });

  // A published exercise in its numbers: 20 kVA at 400 V, x' 0.2: 28.9 A rated, 144 A behind x', less with no forced excitation.
  describe('a set whose fault current decays', () => {
    const farm = (device: string, facts: string): string =>
      hut({
        source: `generator Genset { rated: 16 kW   apparent: 20 kVA   voltage: three 400 V   reactance: 0.2   waveform: conventional   neutralBond: bonded   ${facts} }`,
        device,
        line: 'size: 2.5 mm2   type: H07V-U   length: 1 m   method: B1',
      });
    const outcome = async (device: string, facts: string): Promise<string> => {
      const analysis = await analyseText(farm(device, facts));
      const [asked] = askedBy(analysis, ID);
      return asked ?? (findingsOf(analysis, ID).length > 0 ? 'fails' : 'passes');
    };
    const breaker = (amperes: number, curve: string): string =>
      `breaker B1 { class: MiniatureBreaker10k   rating: ${amperes} A   curve: ${curve} }`;
    const fuse = (amperes: number): string => `fuse B1 { class: gG   rating: ${amperes} A }`;

    it('opens a breaker that trips at once by its transient reactance, whatever lasts', async () => {
      // B16 trips at 80 A, C16 at 160 A, C32 at 320 A (IEC 60898-1); 141 A arrive.
      expect(await outcome(breaker(16, 'B'), '')).toBe('passes');
      expect(await outcome(breaker(16, 'B'), 'sustainedFault: 50 %')).toBe('passes');
      expect(await outcome(breaker(16, 'C'), '')).toBe('fails');
      expect(await outcome(breaker(32, 'C'), 'sustainedFault: 300 %')).toBe('fails');
    });

    it('opens what takes longer only by what lasts, which is asked for', async () => {
      // IEC 60269-2: a gG fuse of 16 A opens at 110 A in 0.4 s, one of 32 A at 275 A.
      expect(await outcome(fuse(16), '')).toBe('sustainedFault of Genset');
      expect(await outcome(fuse(16), 'sustainedFault: 300 %')).toBe('fails');
      expect(await outcome(fuse(16), 'sustainedFault: 400 %')).toBe('passes');
      // Where not even the first tenth of a second is enough, nothing is asked.
      expect(await outcome(fuse(32), '')).toBe('fails');
    });
  });

  it('asks for the reactance of a set, and leaves sets alone whose output stage shuts down', async () => {
    const set = (waveform: string): string =>
      hut({
        source: `generator Genset { rated: 3 kW   apparent: 3 kVA   voltage: 230 V   waveform: ${waveform}   neutralBond: bonded }`,
      });
    expect(askedBy(await analyseText(set('conventional')), ID)).toEqual(['reactance of Genset']);
    expect(askedBy(await analyseText(set('inverter')), ID)).toEqual([]);
  });

  it('a bank counts at its lowest voltage and highest resistance; breakers trip at 1.5 times on direct current', async () => {
    const text = (length: number): string => `design Boat {
  basis: iec
  battery Bank { chemistry: agm   voltage: 12 V   cells: 6   protectionLow: 10.5 V   resistance: 5..10 mohm   shortCircuitCurrent: 2 kA   capacity: 100 Ah }
  breaker B1 { class: MiniatureBreaker10k   dcVoltage: 60 V   rating: 10 A   curve: B }
  load Lamps { power: 60 W   supply: dc }
  run Line: Bank -> B1 @ 150 mm -> Lamps { size: 2.5 mm2   type: H07V-K   length: ${length} m   method: C   dropLimit: 20 % }
}
`;
    // 75 A: 10.5 V / 75 A − 10 mohm = 130 mohm; class 5, 2.5 mm2, 7.98 ohm/km hot 9.548: 2 · 6.81 m.
    expect(await findings(text(6.8))).toEqual([]);
    const [finding] = await findings(text(6.9));
    expect(numberOf(finding!, 'needed')).toBeCloseTo(75, 9);
  });
});

describe('devices without data', () => {
  it('are told once for the design, and not guessed', async () => {
    const analysis = await analyseText(hut({ device: 'fuse B1 { rating: 16 A }', basis: 'nec' }));
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(askedBy(analysis, ID)).toEqual(['class or openingTimes of B1']);
  });

  it('a breaker under iec is asked for its curve', async () => {
    const analysis = await analyseText(hut({ device: 'breaker B1 { class: MiniatureBreaker10k   rating: 16 A }' }));
    expect(askedBy(analysis, ID)).toEqual(['curve of B1']);
  });

  it('a service without a stated fault current is asked for it', async () => {
    const analysis = await analyseText(
      hut({ source: 'grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }' }),
    );
    expect(askedBy(analysis, ID)).toEqual(['faultCurrent of Mains']);
  });
});

describe('a curve that the design or its class states', () => {
  // 10 V over 5 mohm and 2 AWG hot, 0.6365 mohm/m at 75 °C (NEC Chapter 9 Table 8): 40 m give 179 A.
  const van = (fuse: string, length = '40 m', ohms = '3..5 mohm'): string => `design Van {
  battery Bank { voltage: 12.8 V   capacity: 100 Ah   resistance: ${ohms}   chargeLimit: 14.4 V   protectionLow: 10 V }
  fuse F1 { ${fuse} }
  load Pump { power: 100 W   supply: dc }
  run Line: Bank -> F1 @ 0 m -> Pump { size: 2 AWG   length: ${length}   insulation: 75 degC   dropLimit: 50 % }
}
`;

  it('decides on direct current too, at 5 s', async () => {
    expect(await findings(van('rating: 100 A   openingTimes: { 150 A: 60 s, 175 A: 5 s }'))).toEqual([]);
    const [finding] = await findings(van('rating: 100 A   openingTimes: { 150 A: 60 s, 185 A: 5 s }'));
    expect(lacking(finding?.told, 'needs 185 A to open within 5 s')).toEqual([]);
  });

  it('asks what aged units have where the one figure that is stated decides', async () => {
    // 10 V over 50.9 mohm and 5 mohm: 179 A; over half more resistance 171 A.
    const asked = async (amperes: number): Promise<string[]> =>
      askedBy(
        await analyseText(van(`rating: 100 A   openingTimes: { 150 A: 60 s, ${amperes} A: 5 s }`, '40 m', '5 mohm')),
        ID,
      );
    expect(await asked(171)).toEqual([]);
    expect(await asked(172)).toEqual(['resistance of Bank from new to aged, as a range']);
    expect(await asked(178)).toEqual(['resistance of Bank from new to aged, as a range']);
    // Beyond what new units give it fails, and nothing is asked.
    expect(await asked(180)).toEqual([]);
  });

  it('takes multiples of the rating, so that a smaller rating mends it', async () => {
    const text = van('class: LargeBladeFuse32V   rating: 100 A');
    const [finding] = await findings(text);
    // ISO 8820-3 (from memory): 350 % within 7 s, 600 % within 1 s; 5 s lie between them on a straight line in logarithms.
    expect(lacking(finding?.told, 'needs 384 A to open within 5 s')).toEqual([]);
    const share = Math.log(5 / 7) / Math.log(1 / 7);
    expect(numberOf(finding!, 'needed')).toBeCloseTo(350 * (600 / 350) ** share, 6);
    const smaller = finding!.fixes!.find(({ title }) => title.startsWith('Change rating'));
    expect(smaller).toBeDefined();
    expect((await afterFix(text, ID, smaller!)).left).toEqual([]);
  });

  it('leaves a curve that ends before 5 s open', async () => {
    const analysis = await analyseText(van('rating: 100 A   openingTimes: { 200 %: 60 s }'));
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(askedBy(analysis, ID).join()).toContain('no time-current data for F1 at 5 s');
  });
});
