import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { type TestedFinding, afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'short-circuit-withstand';

const hut = (fault: string, fuse: string, size: string, more = ''): string => `design Hut {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   faultCurrent: ${fault}   neutralBond: bonded }
  fuse F1 { class: gG   rating: ${fuse} }
  load Lamps { power: 2 kW }
  run Line: Mains -> F1 -> Lamps { size: ${size}   type: H07V-U   length: 2 m   method: B1   ${more} }
}
`;

const findings = async (text: string): Promise<TestedFinding[]> => findingsOf(await analyseText(text), ID);
const numberOf = (finding: TestedFinding, name: string, unit: string): number =>
  numberIn(finding.numbers![name]!, unit);

describe('heat of a short circuit', () => {
  // gG 63 A: 320 A in 5 s, 550 A in 0.4 s (published table). k = 115 for PVC copper (IEC 60364-4-43 Table 43A).
  it('is I²t against k²S² at a point of the curve: 550 A for 0.4 s needs 3.02 mm2', async () => {
    const [finding, ...rest] = await findings(hut('550 A', '63 A', '2.5 mm2'));
    expect(rest).toEqual([]);
    // The far end draws a little less and is slower, and so it governs.
    const time = numberOf(finding!, 'time', 's');
    const fault = numberOf(finding!, 'fault', 'A');
    expect(time).toBeGreaterThan(0.4);
    expect(fault).toBeLessThan(550);
    // Straight line in logarithms between the points.
    const share = Math.log(fault / 320) / Math.log(550 / 320);
    expect(time).toBeCloseTo(5 * (0.4 / 5) ** share, 6);
    expect(numberOf(finding!, 'limit', 'A')).toBeCloseTo((115 * 2.5) / Math.sqrt(time), 3);
    expect(finding!.severity).toBe('error');
    expect(await findings(hut('550 A', '63 A', '4 mm2'))).toEqual([]);
  });

  it('is mended by the rating that is offered, and by a size only where no smaller device carries the load', async () => {
    const text = hut('500 A', '63 A', '2.5 mm2');
    const [finding] = await findings(text);
    expect(finding!.fixes.map(({ title }) => title)).toEqual(['Change rating of F1 to 20 A']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('grows with conductors in parallel', async () => {
    expect(await findings(hut('500 A', '63 A', '2.5 mm2', 'parallel: 2'))).toEqual([]);
  });

  it('uses the gate from memory below 0.4 s and is a warning then', async () => {
    // 700 A lies between 550 A (0.4 s) and 820 A (0.1 s, from memory): about 0.2 s. 1.5 mm2 survives 172.5/√0.2 = 386 A.
    const [finding] = await findings(hut('720 A', '63 A', '1.5 mm2'));
    expect(finding!.severity).toBe('warning');
    expect(lacking(finding!.told, 'from memory')).toEqual([]);
  });
});

describe('what is left open', () => {
  it('is every device of which nothing says how it opens, told once', async () => {
    const analysis = await analyseText(hut('1 kA', '16 A', '2.5 mm2').replace('class: gG', ''));
    expect(askedBy(analysis, ID)).toEqual(['class or openingTimes of F1']);
  });

  it('is the let-through of a breaker on direct current that is faster than its curve tells', async () => {
    const text = (size: string): string => `design Van {
  basis: iec
  battery Bank { voltage: 12.8 V   capacity: 100 Ah   resistance: 6 mohm   chargeLimit: 14.4 V   protectionLow: 10 V }
  breaker B1 { rating: 16 A   curve: C   dcVoltage: 60 V }
  load Pump { power: 100 W   supply: dc }
  run Line: Bank -> B1 @ 0 m -> Pump { size: ${size}   type: H07V-K   length: 0.3 m   method: C }
}
`;
    // 2.4 kA for 0.1 s needs 6.6 mm2.
    expect(askedBy(await analyseText(text('4 mm2')), ID).join()).toMatch(/letThrough of B1/);
    expect(askedBy(await analyseText(text('10 mm2')), ID)).toEqual([]);
  });
});

describe('let-through that is stated', () => {
  // k²·S² = (115 · 2.5)² = 82,656 A²s (IEC 60364-4-43 Table 43A, copper in PVC); 6 kA is faster than the gate of 16 A at 0.1 s.
  const stated = (energy: string): string =>
    hut('6 kA', '16 A', '2.5 mm2').replace('class: gG', `class: gG   letThrough: { 6 kA: ${energy} }`);

  it('passes up to k²S² and fails above it', async () => {
    const enough = await analyseText(stated('82 kA2s'));
    expect(findingsOf(enough, ID)).toEqual([]);
    expect(askedBy(enough, ID)).toEqual([]);
    const [finding] = await findings(stated('83 kA2s'));
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, 'lets 83 kA2s through F1')).toEqual([]);
    expect(numberOf(finding!, 'bearable', 'A2s')).toBeCloseTo((115 * 2.5) ** 2, 0);
  });

  it('is mended by the size that bears it', async () => {
    const text = stated('150 kA2s');
    const [finding] = await findings(text);
    const size = finding!.fixes!.find(({ title }) => title.includes('4 mm2'));
    // (115 · 4)² = 211,600 A²s.
    expect(size).toBeDefined();
    expect(await afterFix(text, ID, size!)).toEqual({ left: [], fresh: [] });
  });

  it('is not checked beyond the largest current stated', async () => {
    const analysis = await analyseText(stated('50 kA2s').replace('6 kA: 50', '5 kA: 50'));
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(askedBy(analysis, ID).join()).toContain('let-through of F1 is not stated up to 6 kA');
  });
});

describe('a curve that the design states', () => {
  it('decides like a table of the standard, and is no table from memory', async () => {
    const own = hut('550 A', '63 A', '2.5 mm2').replace('class: gG', 'openingTimes: { 400 A: 2 s, 550 A: 0.5 s }');
    const [finding] = await findings(own);
    expect(finding?.severity).toBe('error');
    expect(finding?.told).not.toContain('from memory');
    // 550 A for 0.5 s needs 550 · √0.5 / 115 = 3.38 mm2.
    expect(await findings(own.replace('2.5 mm2', '4 mm2'))).toEqual([]);
  });

  it('is a warning where it is that of a class from memory', async () => {
    const text = `design Van {
  battery Bank { voltage: 12.8 V   capacity: 100 Ah   resistance: 100 mohm   chargeLimit: 14.4 V   protectionLow: 10 V }
  fuse F1 { class: BladeFuse32V   rating: 30 A }
  load Pump { power: 100 W   supply: dc }
  run Line: Bank -> F1 @ 0 m -> Pump { size: 18 AWG   type: THHN   length: 0.3 m }
}
`;
    // Some 90 A through 0.82 mm² until 30 A blades open: 350 % is 105 A in 0.5 s, 200 % 60 A in 5 s.
    const [finding] = await findings(text);
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'from memory')).toEqual([]);
  });
});

describe('what is stated of a device whose class bounds it', () => {
  // NEC Chapter 9 Table 8: 14 AWG 2.08 mm²; PVC for 90 °C has k = 100: 43.3 kA²s.
  const hut = (device: string): string => `design Hut {
  basis: nec 2023
  grid Mains { voltage: 120 V   rating: 100 A   faultCurrent: 5 kA   neutralBond: bonded }
  ${device}
  load Lamp { power: 1 kW   continuous: no }
  run Line: Mains -> D -> Lamp { size: 14 AWG   type: THHN   length: 6 m   terminals: 60 degC   earth: 14 AWG }
}
`;
  const found = async (device: string) => findingsOf(await analyseText(hut(device)), 'short-circuit-withstand');
  it('goes before what the class may do, and before its rating', async () => {
    const breaker = (facts: string): string => `breaker D { class: UL489-AC   rating: 15 A   poles: 1   ${facts} }`;
    expect(await found(breaker(''))).toEqual([]);
    expect(await found(breaker('letThrough: { 5 kA: 40 kA2s }'))).toEqual([]);
    expect(await found(breaker('letThrough: { 5 kA: 100 kA2s }'))).toHaveLength(1);
    const fuse = (facts: string): string => `fuse D { class: T   rating: 15 A   ${facts} }`;
    expect(await found(fuse(''))).toEqual([]);
    expect(await found(fuse('openingTimes: { 1 kA: 3 s, 5 kA: 2 s }'))).toHaveLength(1);
  });
});

describe('insulation that nobody states', () => {
  // IEC 60364-4-43 Table 43A: k is 115 for PVC of 70 °C and 100 for PVC of 90 °C; 6 mm² bear 476,100 A²s and 360,000 A²s.
  const line = (seconds: number, type = ''): string => `design Hut {
  basis: iec
  grid Mains { voltage: 230 V   rating: 63 A   faultCurrent: 300 A   neutralBond: bonded }
  fuse F1 { rating: 32 A   openingTimes: { 100 A: ${seconds} s, 400 A: ${seconds} s } }
  load Lamps { power: 2 kW }
  run Line: Mains -> F1 -> Lamps { size: 6 mm2   ${type}   length: 0.01 m   method: C }
}
`;
  it('is asked for where that which bears least would not do', async () => {
    const asked = async (text: string) =>
      askedBy(await analyseText(text), ID).filter((fact) => fact.startsWith('type of'));
    // 90,000 A²·s a second.
    expect(await asked(line(3.95))).toEqual([]);
    expect(await asked(line(4.05))).toHaveLength(1);
    expect(await asked(line(4.95))).toHaveLength(1);
    expect(await asked(line(4.95, 'type: H07V-U'))).toEqual([]);
  });

  it('is asked for by what a device lets through, too', async () => {
    const van = (letThrough: number): string => `design Van {
  basis: iec
  battery Bank { voltage: 12.8 V   capacity: 100 Ah   resistance: 6 mohm   chargeLimit: 14.4 V   protectionLow: 10 V }
  breaker B1 { rating: 16 A   curve: C   dcVoltage: 60 V   letThrough: { 10 kA: ${letThrough} A2s } }
  load Pump { power: 100 W   supply: dc }
  run Line: Bank -> B1 @ 0 m -> Pump { size: 4 mm2   length: 0.3 m   method: C }
}
`;
    // (115 · 4 mm²)² = 211,600 A²s; for PVC of 90 °C (100 · 4)² = 160,000 A²s.
    const asked = async (letThrough: number) =>
      askedBy(await analyseText(van(letThrough)), ID).filter((fact) => fact.startsWith('type of'));
    expect(await asked(150_000)).toEqual([]);
    expect(await asked(165_000)).toHaveLength(1);
    expect(await asked(200_000)).toHaveLength(1);
  });
});

describe('devices before a run', () => {
  const hut = (first: string, through: string, size: string): string => `design Hut {
  basis: iec
  battery Bank { voltage: 24 V   capacity: 200 Ah   resistance: 12 mohm   chargeLimit: 28 V   protectionLow: 20 V }
  fuse F1 { rating: 200 A   ${first} }
  fuse F2 { rating: 16 A   openingTimes: { 100 A: 0.1 s, 1 kA: 0.001 s, 10 kA: 0.001 s }   letThrough: { 10 kA: 2000 A2s } }
  bus Bar {}
  load Pump { power: 100 W   supply: dc }
  run Main: Bank -> F1 @ 0 m -> Bar { size: 95 mm2   type: H07V-K   length: 0.5 m   method: C }
  run Line: Bar -> ${through} Pump { size: ${size}   type: H07V-K   length: 1 m   method: C }
}
`;
  const SLOW = 'openingTimes: { 400 A: 4.9 s, 10 kA: 4 s }';
  it('count only where it has none of its own', async () => {
    const of = async (through: string) =>
      (await findings(hut(SLOW, through, '2.5 mm2'))).filter(({ subject }) => subject === 'Hut.Line');
    expect(await of('')).toHaveLength(1);
    expect(await of('F2 @ 0 m ->')).toEqual([]);
  });

  it('are found from whichever end the run is written', async () => {
    const of = async (text: string) => {
      const [finding] = (await findings(text)).filter(({ subject }) => subject === 'Hut.Line');
      return [numberOf(finding!, 'fault', 'A'), numberOf(finding!, 'limit', 'A')];
    };
    const text = hut(SLOW, '', '2.5 mm2').replace('length: 1 m', 'length: 8 m');
    const turned = text.replace('run Line: Bar ->  Pump', 'run Line: Pump -> Bar');
    expect(turned).not.toBe(text);
    expect(await of(turned)).toEqual(await of(text));
  });

  it('of which nothing says how they open are asked for where they stand, and say nothing of the run', async () => {
    const asked = askedBy(await analyseText(hut('', '', '2.5 mm2')), ID);
    expect(asked).toEqual(['class or openingTimes of F1']);
    expect((await findings(hut('', '', '2.5 mm2'))).filter(({ subject }) => subject === 'Hut.Line')).toEqual([]);
  });
});
