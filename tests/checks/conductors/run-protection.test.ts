import { describe, expect, it } from 'vitest';
import { analyseText, applyFix, findingsOf, lacking } from '../../helpers/analyse.js';

const line = (basis: string, device: string, run: string, watts = 1000): string => `design Hut {
  basis: ${basis}
  grid Mains { voltage: 230 V   rating: 400 A }
  ${device}
  load Heater { power: ${watts} W   continuous: no }
  run Line: Mains -> D -> Heater { ${run}   length: 1 m }
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), 'run-protection');

describe('run-protection', () => {
  // NEC 240.4(D): 15, 20 and 30 A for 14, 12 and 10 AWG copper.
  it.each([
    ['14 AWG', 15, 20],
    ['12 AWG', 20, 25],
    ['10 AWG', 30, 35],
  ])('caps %s copper at %i A', async (size, most, above) => {
    const run = `size: ${size}   type: THHN`;
    expect(await findings(line('nec', `breaker D { rating: ${most} A }`, run))).toEqual([]);
    const [finding] = await findings(line('nec', `breaker D { rating: ${above} A }`, run));
    expect(lacking(finding?.told, '240.4(D)')).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toContain(`Change rating of D to ${most} A`);
  });

  // NEC 240.4(D)(1) and (2): 7 and 10 A for 18 and 16 AWG, for which Table 310.16 has no ampacity at 60 °C.
  it.each([
    ['18 AWG', 6, 10],
    ['16 AWG', 10, 15],
  ])('caps %s copper without an ampacity of the table', async (size, within, above) => {
    const run = `size: ${size}   type: THHN`;
    const open = await analyseText(line('nec', `fuse D { rating: ${within} A   terminals: 60 degC }`, run, 200));
    expect(findingsOf(open, 'run-protection')).toEqual([]);
    expect(open.questions.some(({ check }) => check === 'run-protection')).toBe(true);
    const [finding] = await findings(line('nec', `fuse D { rating: ${above} A   terminals: 60 degC }`, run, 200));
    expect(lacking(finding?.told, '240.4(D)')).toEqual([]);
    expect(finding?.fixes.length).toBeGreaterThan(0);
  });

  it('leaves small conductors of cords, motors and other practices to their own rules', async () => {
    const run = 'size: 16 AWG   type: THHN';
    expect(await findings(line('iec', 'fuse D { rating: 15 A   terminals: 60 degC }', run, 200))).toEqual([]);
    const cord = 'size: 18 AWG   type: SJOOW';
    expect(await findings(line('nec', 'fuse D { rating: 10 A   terminals: 60 degC }', cord, 200))).toEqual([]);
  });

  // Contractors forum, recomputed: seven 12 AWG THHN in one raceway, 30 A · 0.7 = 21 A, 20 A device.
  it('works with the ampacity after bundling', async () => {
    const run = 'size: 12 AWG   type: THHN   conductors: 7';
    expect(await findings(line('nec', 'breaker D { rating: 20 A }', run))).toEqual([]);
  });

  // Public forum on NEC 240.4(B): 500 kcmil copper at 75 °C (380 A) may have 400 A.
  it('allows the next standard rating up to 800 A', async () => {
    const run = 'size: 500 kcmil   insulation: 75 degC';
    expect(await findings(line('nec', 'fuse D { rating: 400 A }', run))).toEqual([]);
    expect(await findings(line('nec', 'fuse D { rating: 450 A }', run))).toHaveLength(1);
  });

  it('gives cords no next size up (NEC 240.5)', async () => {
    // NEC Table 400.5(A)(1): 12 AWG, two current-carrying conductors, 25 A.
    const run = 'size: 12 AWG   type: SOOW   conductors: 2';
    expect(await findings(line('nec', 'breaker D { rating: 25 A }', run))).toEqual([]);
    expect(await findings(line('nec', 'breaker D { rating: 30 A }', run))).toHaveLength(1);
  });

  // IEC 60364-4-43 433.1: In ≤ Iz. 4 mm² PVC, method C, two loaded: 36 A (Table B.52.2).
  it('asks In ≤ Iz of breakers and fuses under iec', async () => {
    const run = 'size: 4 mm2   type: H07V-R   method: C';
    expect(await findings(line('iec', 'breaker D { rating: 32 A }', run))).toEqual([]);
    expect(await findings(line('iec', 'breaker D { rating: 40 A }', run))).toHaveLength(1);
    expect(await findings(line('iec', 'fuse D { rating: 36 A }', run))).toEqual([]);
    expect(await findings(line('iec', 'fuse D { rating: 37 A }', run))).toHaveLength(1);
  });

  it('offers the smaller device only where it still carries the load', async () => {
    // 125 % is not asked of a load that is not continuous: 4600 W / 230 V = 20 A on 12 AWG.
    const light = line('nec', 'breaker D { rating: 30 A }', 'size: 12 AWG   type: THHN', 4600);
    const heavy = line('nec', 'breaker D { rating: 30 A }', 'size: 12 AWG   type: THHN', 4830);
    const [small] = await findings(light);
    const [large] = await findings(heavy);
    expect(small?.fixes.map(({ title }) => title)).toEqual([
      'Change rating of D to 20 A',
      'Change size of Line to 10 AWG',
    ]);
    expect(large?.fixes.map(({ title }) => title)).toEqual(['Change size of Line to 10 AWG']);
    for (const fix of small?.fixes ?? []) expect(await findings(applyFix(light, fix))).toEqual([]);
  });

  it('judges the first device at the bank, not a smaller one at the far end', async () => {
    const text = `design Hut {
  battery Bank : Lfp48V280Ah
  charger Rect { currentLimit: 60 A   absorb: 56 V }
  fuse AtBank { class: T   rating: 200 A }
  fuse AtCharger { class: T   rating: 80 A }
  run Feed: Bank -> AtBank @ 100 mm -> AtCharger @ 1.9 m -> Rect.dc { size: 4 AWG   type: THWN-2   length: 2 m }
}
`;
    const [finding] = await findings(text);
    expect(lacking(finding?.told, /^AtBank \(200 A\) protects Feed/)).toEqual([]);
  });
});

describe('run-protection in the warm', () => {
  // NEC Table 310.16: 3 AWG THHN 115 A · 0.82 at 50 °C = 94.3 A, 100 A by 240.4(B). Only for cords does the table alone count.
  it('is an error for what is no cord', async () => {
    const text = `design Kiln {
  basis: nec 2023
  grid Mains { voltage: 240 V   rating: 200 A   neutralBond: bonded }
  breaker B1 { rating: 110 A }
  load Oven { power: 15 kW   continuous: no }
  run Line: Mains -> B1 -> Oven { size: 3 AWG   type: THHN   length: 3 m   ambient: 50 degC   terminals: 90 degC }
}
`;
    const found = findingsOf(await analyseText(text), 'run-protection');
    expect(found.map(({ severity }) => severity)).toEqual(['error']);
    expect(findingsOf(await analyseText(text.replace('110 A', '100 A')), 'run-protection')).toEqual([]);
  });
});

describe('the service of a dwelling', () => {
  // NEC Table 310.12 (2020), copper and aluminium at 75 °C, from a distributor's chart.
  const ROWS = [
    [100, '4 AWG', '2 AWG'],
    [110, '3 AWG', '1 AWG'],
    [125, '2 AWG', '1/0 AWG'],
    [150, '1 AWG', '2/0 AWG'],
    [175, '1/0 AWG', '3/0 AWG'],
    [200, '2/0 AWG', '4/0 AWG'],
    [225, '3/0 AWG', '250 kcmil'],
    [250, '4/0 AWG', '300 kcmil'],
    [300, '250 kcmil', '350 kcmil'],
    [350, '350 kcmil', '500 kcmil'],
    [400, '400 kcmil', '600 kcmil'],
  ] as const;
  const house = (rating: number, run: string, voltage = '120/240 V'): string => `design House {
  basis: nec 2023
  grid Mains { voltage: ${voltage}   rating: ${rating} A   neutralBond: bonded }
  breaker Main { rating: ${rating} A   poles: 2 }
  bus Panel {}
  load Stove { power: 6 kW   legs: L1, L2   continuous: no }
  run Service: Mains -> Main -> Panel { type: THWN-2   length: 5 m   terminals: 75 degC   ${run} }
  run Line: Panel -> Stove { size: 8 AWG   type: THHN   length: 5 m   terminals: 75 degC }
}
`;
  const service = async (...facts: Parameters<typeof house>) =>
    findingsOf(await analyseText(house(...facts)), 'run-protection').filter(({ subject }) =>
      subject.endsWith('Service'),
    );
  const above = [125, 150, 175, 200, 225, 250, 300, 350, 400, 450];

  it.each(ROWS)('of %i A is of %s copper or %s aluminium, and of no more', async (rating, copper, aluminium) => {
    for (const size of [`size: ${copper}`, `size: ${aluminium}   metal: aluminium`]) {
      expect(await service(rating, `dwelling: yes   ${size}`), size).toEqual([]);
      const next = above.find((each) => each > rating)!;
      expect(await service(next, `dwelling: yes   ${size}`), `${size}, ${next} A`).toHaveLength(1);
    }
  });

  it('has to be said to be one, of single-phase 120/240 V', async () => {
    const [unsaid] = await service(200, 'size: 2/0 AWG');
    expect(unsaid?.severity).toBe('error');
    expect(lacking(unsaid?.told, '310.12')).toEqual([]);
    expect((await service(200, 'size: 1/0 AWG'))[0]?.told).not.toContain('310.12');
    expect(await service(200, 'size: 2/0 AWG   dwelling: no')).toHaveLength(1);
    const [three] = await service(200, 'size: 2/0 AWG   dwelling: yes', 'three 208 V');
    expect(three?.told).not.toContain('310.12');
    // Two lines and the neutral of 120/208 V are named by 310.12 too.
    expect(await service(200, 'size: 2/0 AWG   dwelling: yes   legs: L1, L2', 'three 208 V')).toEqual([]);
  });

  // 310.12 speaks of 100 A to 400 A: 90 A on 6 AWG (65 A, 83 % of 78 A), 450 A on 500 kcmil (380 A, 84 %).
  it('is between 100 A and 400 A', async () => {
    expect(await service(90, 'dwelling: yes   size: 4 AWG')).toEqual([]);
    expect(await service(450, 'dwelling: yes   size: 500 kcmil')).toHaveLength(1);
  });
});

describe('a device on conductors of a table from memory', () => {
  it('is a warning at most', async () => {
    // IEC 60364-5-52 Table B.52.3 (XLPE), method C, 10 mm²: 80 A, from memory; Table B.52.2 (PVC): 63 A, published.
    const of = async (type: string) =>
      (
        await findings(line('iec', 'fuse D { class: gG   rating: 100 A }', `size: 10 mm2   type: ${type}   method: C`))
      ).map(({ severity }) => severity);
    expect(await of('PowerXlpe90')).toEqual(['warning']);
    expect(await of('H07V-R')).toEqual(['error']);
  });
});

describe('which of several devices protects a run', () => {
  // IEC 60364-4-43 433.2.2: the device against overload may stand anywhere along a run that is fed from one end. NEC 240.21: at the supply.
  const two = (basis: string, size: string): string => `design Hut {
  basis: ${basis}
  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  breaker Large { rating: 63 A }
  breaker Small { rating: 16 A }
  load Heater { power: 1 kW   continuous: no }
  run Line: Mains -> Large -> Small -> Heater { ${size}   length: 1 m }
}
`;
  it('the smallest under iec, the first under nec', async () => {
    expect(await findings(two('iec', 'size: 2.5 mm2   type: H07V-U   method: C'))).toEqual([]);
    const [finding, ...others] = await findings(two('nec', 'size: 12 AWG   type: THHN'));
    expect(others).toEqual([]);
    expect(finding?.headline).toContain('Large');
  });

  it('the smallest, where its source limits itself and no end needs one', async () => {
    const text = (rating: number): string => `design Hut {
  basis: nec 2023
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 2 kW   voltage: 120 V   efficiency: 92 %   dcVoltage: 44..60 V   cutOff: 46 V }
  breaker D { rating: ${rating} A }
  load Lamp { power: 600 W }
  run Feed: Bank -> Inv.dc { size: 2 AWG   length: 1 m }
  run Out: Inv.ac -> D -> Lamp { size: 12 AWG   type: THHN   length: 2 m }
}
`;
    expect(await findings(text(20))).toEqual([]);
    expect(await findings(text(25))).toHaveLength(1);
  });
});
