import { describe, expect, it } from 'vitest';
import { analyseText, askedBy, findingsOf } from '../../helpers/analyse.js';
import { valueOf } from '../../helpers/quantities.js';

/** Two inverters side by side on one panel, each with a cable of its own. */
const pair = (load: string, more = '', size = '4 mm2'): string => `design Pair {
  basis: iec
  battery Bank { voltage: 51.2 V   capacity: 400 Ah   resistance: 4..8 mohm   protectionLow: 44 V   chargeLimit: 57 V }
  inverter A { rated: 5 kW   voltage: 230 V   efficiency: 93 %   dcVoltage: 44..60 V   cutOff: 46 V   ${more} }
  inverter B { rated: 5 kW   voltage: 230 V   efficiency: 93 %   dcVoltage: 44..60 V   cutOff: 46 V }
  bus Bar {}
  bus Panel {}
  load Hall { power: ${load} }
  run Feed: Bank -> Bar { size: 95 mm2   length: 1 m }
  run ToA: Bar -> A.dc { size: 50 mm2   length: 1 m }
  run ToB: Bar -> B.dc { size: 50 mm2   length: 1 m }
  run FromA: A.ac -> Panel { size: ${size}   type: H07V-K   length: 1 m   method: C }
  run FromB: B.ac -> Panel { size: 4 mm2   type: H07V-K   length: 1 m   method: C }
  run Line: Panel -> Hall { size: 10 mm2   type: H07V-K   length: 1 m   method: C }
}
`;

describe('sources side by side, one of them out', () => {
  it('the cable of one carries all loads as far as its own rating', async () => {
    // With B out A carries 3 kW, 13.04 A; of 6 kW no more than its 5 kW, 21.74 A.
    expect(await valueOf(pair('3 kW'), 'FromA', 'current', 'A')).toBeCloseTo(3000 / 230, 6);
    expect(await valueOf(pair('6 kW'), 'FromA', 'current', 'A')).toBeCloseTo(5000 / 230, 6);
    expect(await valueOf(pair('6 kW'), 'FromA', 'continuousCurrent', 'A')).toBeCloseTo(5000 / 230, 6);
    expect(await valueOf(pair('6 kW'), 'Line', 'current', 'A')).toBeCloseTo(6000 / 230, 6);
  });

  it('is judged by it: 1.5 mm² are too thin, 4 mm² do', async () => {
    const thin = await analyseText(pair('6 kW', '', '1.5 mm2'));
    expect(findingsOf(thin, 'run-ampacity').map(({ subject }) => subject)).toEqual(['Pair.FromA']);
    const enough = await analyseText(pair('6 kW'));
    expect(findingsOf(enough, 'run-ampacity')).toEqual([]);
    expect(askedBy(enough, 'run-ampacity').filter((fact) => fact.includes('FromA'))).toEqual([]);
  });

  it('is not bounded by a source that does not say what it gives', async () => {
    const silent = pair('6 kW').replace('inverter A { rated: 5 kW', 'inverter A {');
    expect(await valueOf(silent, 'FromA', 'current', 'A')).toBeCloseTo(6000 / 230, 6);
  });
});

describe('banks side by side, one of them out', () => {
  const shed = (a: string, b: string): string => `design Shed {
  battery A { voltage: 48 V   capacity: 100 Ah   resistance: ${a}   protectionLow: 44 V   chargeLimit: 57 V }
  battery B { voltage: 48 V   capacity: 100 Ah   resistance: ${b}   protectionLow: 44 V   chargeLimit: 57 V }
  bus Bar {}
  load Heater { power: 2.2 kW   supply: dc   minimumVoltage: 44 V }
  run FromA: A -> Bar { size: 6 AWG   length: 0.5 m }
  run FromB: B -> Bar { size: 6 AWG   length: 0.5 m }
  run Line: Bar -> Heater { size: 6 AWG   length: 1 m }
}
`;

  it('the other carries all, whatever the corners of their resistances', async () => {
    // 2.2 kW at 44 V are 50 A.
    for (const [a, b] of [
      ['10 mohm', '10 mohm'],
      ['10..30 mohm', '10..30 mohm'],
      ['30 mohm', '10 mohm'],
    ] as const)
      expect(await valueOf(shed(a, b), 'FromA', 'current', 'A')).toBeCloseTo(50, 6);
  });
});
