import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'leg-balance';
/** A set of 6 kVA: 25 A on each leg. Loads in W on legs. */
const camp = (loads: readonly (readonly [string, number])[], settings = '', source = ''): string => `design Camp {
  ${settings}
  ${source || 'generator Genset { rated: 6 kW   apparent: 6 kVA   voltage: 120/240 V   neutralBond: bonded }'}
  bus Panel { rating: 60 A }
${loads
  .map(([legs, watts], index) => {
    const volts = legs === 'L1, L2' ? 240 : 120;
    return `  load Load${index} { power: ${watts} W   voltage: ${volts} V   legs: ${legs} }
  run Line${index}: Panel -> Load${index} { size: 10 AWG   length: 10 m }`;
  })
  .join('\n')}
  run Cord: Genset.ac -> Panel { size: 6 AWG   type: SOOW   length: 10 m }
}
`;
const findings = async (...texts: Parameters<typeof camp>) => findingsOf(await analyseText(camp(...texts)), ID);

describe(ID, () => {
  it('passes the rating of a leg and fails above it', async () => {
    // 3000 W / 120 V = 25 A on L1, 15 A on L2.
    expect(
      await findings([
        ['L1', 3000],
        ['L2', 1800],
      ]),
    ).toEqual([]);
    const [finding] = await findings([
      ['L1', 3012],
      ['L2', 1800],
    ]);
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, '25.1 A on one leg')).toEqual([]);
    expect(lacking(finding?.told, 'gives 25 A on each')).toEqual([]);
    // One load that is too large for a leg cannot be moved anywhere.
    expect(finding?.fixes).toEqual([]);
  });

  it('counts loads between the legs on both', async () => {
    // 2400 W / 240 V = 10 A on each leg, and 1800 W / 120 V = 15 A on L1 make 25 A.
    expect(
      await findings([
        ['L1, L2', 2400],
        ['L1', 1800],
        ['L2', 600],
      ]),
    ).toEqual([]);
    expect(
      await findings([
        ['L1, L2', 2412],
        ['L1', 1800],
        ['L2', 600],
      ]),
    ).toHaveLength(1);
  });

  it('moves one load where that is enough, and the finding is gone', async () => {
    const text = camp([
      ['L1', 1800],
      ['L1', 1500],
    ]);
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(lacking(finding?.told, '27.5 A on L1, 0 A on L2')).toEqual([]);
    expect(finding?.fixes[0]?.title).toBe('Put Load1 on L2');
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('moves several where one is not enough', async () => {
    const loads = [1000, 1000, 1000, 900, 900, 900].map((watts) => ['L1', watts] as const);
    const text = camp(loads);
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(finding!.fixes[0]!.edits.length).toBeGreaterThan(1);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('moves none that may stay', async () => {
    // Four loads of 12.5 A on L2, 25 A a leg: the first and third stay, so that each leg has two.
    const [finding] = await findings([
      ['L2', 1500],
      ['L2', 1500],
      ['L2', 1500],
      ['L2', 1500],
    ]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Put Load1 on L1 and Load3 on L1']);
  });

  it('leaves loads whose run states its legs where they are', async () => {
    const text = camp([
      ['L1', 1800],
      ['L1', 1500],
    ]).replaceAll('length: 10 m }\n  load', 'length: 10 m   legs: L1 }\n  load');
    const bound = text.replace(/(run Line\d: .*length: 10 m) \}/g, '$1   legs: L1 }');
    expect(findingsOf(await analyseText(bound), ID)[0]?.fixes).toEqual([]);
  });

  it('finds legs that differ by more than half of what one gives, or what the design allows', async () => {
    // 12.5 A of 25 A is the limit: 1500 W against nothing.
    expect(await findings([['L1', 1500]])).toEqual([]);
    const [finding] = await findings([['L1', 1512]]);
    expect(lacking(finding?.told, 'differ by more than 50 %')).toEqual([]);
    expect(await findings([['L1', 1512]], 'legDifference: 60 %')).toEqual([]);
    expect(await findings([['L1', 600]], 'legDifference: 10 %')).toHaveLength(1);
  });

  it('leaves a set that is asked for more than all of it to the check of its load', async () => {
    const text = camp([
      ['L1', 3600],
      ['L2', 3600],
    ]);
    expect(findingsOf(await analyseText(text), ID)).toEqual([]);
    expect(findingsOf(await analyseText(text), 'generator-overload')).toHaveLength(1);
  });

  it('judges services and inverters, each in its own state', async () => {
    const grid = 'grid Genset { voltage: 120/240 V   rating: 20 A   neutralBond: bonded }';
    expect(
      await findings(
        [
          ['L1', 2400],
          ['L2', 1800],
        ],
        '',
        grid,
      ),
    ).toEqual([]);
    expect(
      await findings(
        [
          ['L1', 2412],
          ['L2', 1800],
        ],
        '',
        grid,
      ),
    ).toHaveLength(1);
    const inverter = `battery Bank : Lfp48V280Ah
  inverter Genset { rated: 6 kW   voltage: 120/240 V   efficiency: 93 %   dcVoltage: 44..60 V   neutralBond: bonded }
  run Feed: Bank -> Genset.dc { size: 2/0 AWG   length: 1 m }`;
    const [finding] = await findings(
      [
        ['L1', 3012],
        ['L2', 1800],
      ],
      '',
      inverter,
    );
    expect(finding?.subject).toBe('Camp.Genset');
    expect(
      await findings(
        [
          ['L1', 3000],
          ['L2', 1800],
        ],
        '',
        inverter,
      ),
    ).toEqual([]);
  });

  it('judges single-phase inverters by the loads on their own leg', async () => {
    const pair = (watts: number): string => `design Camp {
  battery Bank : Lfp48V280Ah
  inverter InvA { rated: 2.4 kW   voltage: 120 V   legs: L1   dcVoltage: 44..60 V   neutralBond: bonded }
  inverter InvB { rated: 2.4 kW   voltage: 120 V   legs: L2   dcVoltage: 44..60 V   neutralBond: floating }
  bus Panel { voltage: 120/240 V   rating: 60 A }
  load Kettle { power: ${watts} W   voltage: 120 V   legs: L1 }
  load Lights { power: 1200 W   voltage: 120 V   legs: L2 }
  run FeedA: Bank -> InvA.dc { size: 2 AWG   length: 1 m }
  run FeedB: Bank -> InvB.dc { size: 2 AWG   length: 1 m }
  run OutA: InvA.ac -> Panel { size: 10 AWG   length: 2 m   legs: L1 }
  run OutB: InvB.ac -> Panel { size: 10 AWG   length: 2 m   legs: L2 }
  run LineA: Panel -> Kettle { size: 12 AWG   length: 3 m }
  run LineB: Panel -> Lights { size: 12 AWG   length: 3 m }
}
`;
    expect(findingsOf(await analyseText(pair(2400)), ID)).toEqual([]);
    expect(findingsOf(await analyseText(pair(2412)), ID).map(({ subject }) => subject)).toEqual(['Camp.InvA']);
  });

  it('asks for what it needs', async () => {
    const silent = camp([['L1', 1500]], '', 'grid Genset { voltage: 120/240 V   neutralBond: bonded }');
    expect(askedBy(await analyseText(silent), ID)).toEqual(['rating of Genset']);
  });
});

/** 15 kVA at 400 V on three phases. */
const barn = (watts: number): string => `design Barn {
  basis: iec
  legDifference: 100 %
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 15 kW   apparent: 15 kVA   voltage: three 400 V   efficiency: 95 %   dcVoltage: 44..60 V   neutralBond: bonded }
  bus Panel {}
  load Saw { power: ${watts} W   voltage: 230 V   legs: L1 }
  run Feed: Bank -> Inv.dc { size: 185 mm2   length: 1 m }
  run Out: Inv.ac -> Panel { size: 10 mm2   length: 3 m }
  run Line: Panel -> Saw { size: 6 mm2   length: 3 m }
}
`;

describe('legs, at the edges', () => {
  // 15 kVA over √3 · 400 V are 21.65 A on each phase: 4.9 kW at 230 V are 21.3 A, 5.1 kW 22.2 A.
  it('of three phases count by √3', async () => {
    expect(findingsOf(await analyseText(barn(4900)), ID)).toEqual([]);
    expect(findingsOf(await analyseText(barn(5100)), ID)).toHaveLength(1);
  });

  it('count although one leg has a load that draws nothing', async () => {
    expect(
      await findings([
        ['L1', 3012],
        ['L2', 0],
      ]),
    ).toHaveLength(1);
  });

  it('name their state only where there are several', async () => {
    const [running] = await findings([['L1', 3012]]);
    expect(running?.why).toContain('with Genset running');
    const [only] = findingsOf(await analyseText(barn(5100)), ID);
    expect(only?.why).not.toContain('with ');
  });

  it('are mended whatever is wrong at another source for reasons of its own', async () => {
    const text = camp([
      ['L1', 1800],
      ['L1', 1500],
    ]).replace(
      '  bus Panel',
      `  generator Spare { rated: 6 kW   apparent: 6 kVA   voltage: 120/240 V   neutralBond: bonded }
  bus Other { rating: 60 A }
  load Kiln { power: 3.6 kW   voltage: 120 V   legs: L1 }
  run SpareCord: Spare -> Other { size: 6 AWG   type: SOOW   length: 10 m }
  run KilnLine: Other -> Kiln { size: 8 AWG   length: 10 m }
  bus Panel`,
    );
    const own = findingsOf(await analyseText(text), ID).find(({ subject }) => subject === 'Camp.Genset');
    expect(own?.fixes[0]?.title).toBe('Put Load1 on L2');
  });

  // 10 A on L2 stay; nine loads of 4 A come to 24 A and 22 A.
  it('are shared out around what has to stay where it is', async () => {
    const loads = [['L2', 1200] as const, ...Array.from({ length: 9 }, () => ['L1', 480] as const)];
    const text = camp(loads).replace('run Line0: Panel -> Load0 {', 'run Line0: Panel -> Load0 { legs: L2  ');
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(finding?.fixes).toHaveLength(1);
    expect(finding!.fixes[0]!.title).not.toContain('Load0');
    expect((await afterFix(text, ID, finding!.fixes[0]!)).left).toEqual([]);
  });
});
