import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { afterFix, analyseText, applyFix, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const findings = async (text: string) => findingsOf(await analyseText(text), 'protection-continuous');

/** A heater on one breaker at 120 V. */
const line = (
  watts: number,
  rating: number,
  load = '',
  device = '',
  basis = 'nec 2023',
  run = 'size: 10 AWG',
): string => `design Hut {
  basis: ${basis}
  grid Mains { voltage: 120 V   rating: 200 A   neutralBond: bonded }
  breaker B1 { rating: ${rating} A   ${device} }
  load Heater { power: ${watts} W   ${load} }
  run Line: Mains -> B1 -> Heater { ${run}   type: THHN   length: 2 m   earth: 10 AWG }
}
`;

describe('protection-continuous', () => {
  // NEC 210.20(A), fire-engineering training academy: 20 A continuous asks for 25 A.
  it('asks 125 % of a continuous load, to the ampere', async () => {
    expect(await findings(line(2400, 25))).toEqual([]);
    const [finding] = await findings(line(2401, 25));
    expect(numberIn(finding!.numbers.needed!, 'A')).toBeCloseTo(25.0104, 4);
    expect(lacking(finding?.told, /NEC 2023 210\.20\(A\), 215\.3/)).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Change rating of B1 to 30 A']);
  });

  it('asks no more than the load of one that does not last, and of a breaker listed for 100 %', async () => {
    expect(await findings(line(3000, 25, 'continuous: no'))).toEqual([]);
    expect(await findings(line(3001, 25, 'continuous: no'))).toHaveLength(1);
    expect(await findings(line(3000, 25, '', 'fullRating: yes'))).toEqual([]);
    expect(await findings(line(3001, 25, '', 'fullRating: yes'))).toHaveLength(1);
  });

  // Computed vector of NEC 215.3: 12 A continuous and 4 A ask for 19 A.
  it('adds what does not last to 125 % of what does', async () => {
    const text = (rating: number): string => `design Hut {
  grid Mains { voltage: 120 V   rating: 200 A   neutralBond: bonded }
  breaker B1 { rating: ${rating} A }
  load Lamps { power: 1440 W }
  load Kettle { power: 480 W   continuous: no }
  run Line: Mains -> B1 -> Lamps, Kettle { size: 10 AWG   type: THHN   length: 2 m   earth: 10 AWG }
}
`;
    expect(await findings(text(19))).toEqual([]);
    const [finding] = await findings(text(18));
    expect(numberIn(finding!.numbers.needed!, 'A')).toBeCloseTo(19, 9);
  });

  // The larger of two results, not one factor on the other: 20 A continuous at 45 °C with six conductors. 12 AWG has 30 A · 0.87 · 0.8 =
  // 20.9 A (NEC Tables 310.16, 310.15(B)(1), (C)(1)), enough for 20 A, and a device of 25 A is asked whatever the ambient.
  it('does not multiply the factor with the corrections of the conductors', async () => {
    const run = 'size: 10 AWG   ambient: 45 degC   conductors: 6';
    expect(await findings(line(2400, 25, '', '', 'nec 2023', run))).toEqual([]);
    const [finding] = await findings(line(2400, 20, '', '', 'nec 2023', run));
    expect(numberIn(finding!.numbers.needed!, 'A')).toBeCloseTo(25, 9);
  });

  it('offers rating, size and earth conductor together where the conductors are too small for a larger device', async () => {
    const text = line(2400, 20, '', '', 'nec 2023', 'size: 12 AWG').replace('earth: 10 AWG', 'earth: 12 AWG');
    const [finding] = await findings(text);
    // 25 A above 12 AWG (NEC 240.4(D)): 10 AWG, whose earth conductor is 10 AWG from 25 A (Table 250.122).
    expect(finding?.fixes.map(({ title }) => title)).toEqual([
      'Change size of Line to 10 AWG, rating of B1 to 25 A and ground of Line to 10 AWG',
    ]);
    expect(await afterFix(text, 'protection-continuous', finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('takes the devices of an array at 156.25 % of its short-circuit current', async () => {
    const text = (rating: number): string => `design Hut {
  solar Array { power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 9.5 A   maximumPowerVoltage: 31 V   maximumPowerCurrent: 9 A }
  chargeController Tracker { maximumVoltage: 150 V   maximumCurrent: 30 A   absorb: 28 V   efficiency: 97 % }
  battery Bank : Lfp24V200Ah
  fuse F1 { class: gPV   rating: ${rating} A }
  run Line: Array -> F1 @ 300 mm -> Tracker.solar { size: 10 AWG   type: USE-2   length: 5 m }
  run Feed: Bank -> Tracker.dc { size: 6 AWG   length: 1 m }
}
`;
    // Computed vector of NEC 690.9: 9.5 A asks for 14.84 A, hence 15 A.
    expect(await findings(text(15))).toEqual([]);
    const [finding] = await findings(text(12));
    expect(numberIn(finding!.numbers.needed!, 'A')).toBeCloseTo(14.84375, 9);
  });

  it('warns only of what craft practice asks, and is silent under iec', async () => {
    const text = (rating: number, basis = 'craft'): string => `design Boat {
  basis: ${basis}
  battery Bank : Lfp12V200Ah
  fuse F1 { class: T   rating: ${rating} A }
  load Heater { power: 400 W   supply: dc   minimumVoltage: 10 V }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 6 AWG   type: FineStranded105   length: 1 m }
}
`;
    // 400 W at 10 V, the lowest of the bank: 40 A; 125 % is 50 A.
    expect(await findings(text(50))).toEqual([]);
    expect((await findings(text(45)))[0]?.severity).toBe('warning');
    expect((await findings(text(35)))[0]?.severity).toBe('error');
    expect(await findings(text(35, 'iec'))).toEqual([]);
  });

  it('leaves breakers beside plugs to plug-continuous, but for what does not last', async () => {
    const text = (lasting: number, short: number): string => `design Camp {
  generator Genset { rated: 7.2 kW   voltage: 240 V   outlet: L6-30   neutralBond: bonded }
  breaker B1 { rating: 30 A }
  load Lamps { power: ${lasting} W }
  load Kettle { power: ${short} W   continuous: no }
  run Cord: Genset -> B1 -> Lamps, Kettle { size: 8 AWG   type: SOOW   length: 5 m }
}
`;
    // 25 A for hours: both the plug and the breaker carry 24 A; one finding says so.
    const lasting = await analyseText(text(6000, 0));
    expect(findingsOf(lasting, 'plug-continuous')).toHaveLength(1);
    expect(findingsOf(lasting, 'protection-continuous')).toEqual([]);
    // 20 A for hours and 8 A: 33 A.
    const mixed = await analyseText(text(4800, 1920));
    expect(findingsOf(mixed, 'plug-continuous')).toEqual([]);
    expect(findingsOf(mixed, 'protection-continuous')).toHaveLength(1);
  });

  it('takes the source state in which the run carries most', async () => {
    const text = `design Hut {
  grid Mains { voltage: 240 V   rating: 200 A   neutralBond: bonded }
  generator Genset { rated: 5 kW   voltage: 120 V   neutralBond: floating }
  transfer Switch { rating: 60 A   switches: phases-and-neutral }
  breaker B1 { rating: 20 A }
  load Heater { power: 2280 W }
  run A: Mains -> Switch.normal { size: 6 AWG   length: 1 m }
  run B: Genset -> Switch.standby { size: 6 AWG   length: 1 m }
  run Line: Switch.out -> B1 -> Heater { size: 10 AWG   type: THHN   length: 2 m }
}
`;
    const [finding] = await findings(text);
    expect(lacking(finding?.told, 'with Genset running')).toEqual([]);
  });

  it('asks for the rating that lacks', async () => {
    expect(askedBy(await analyseText(line(2400, 25).replace('rating: 25 A', '')), 'protection-continuous')).toEqual([
      'rating of B1',
    ]);
  });

  it('does not raise a device that another run needs as it is', async () => {
    const text = `design Hut {
  battery Bank : Lfp24V200Ah
  fuse F1 { class: T   rating: 40 A }
  load Heater { power: 800 W   supply: dc }
  load Lamp { power: 100 W   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 4 AWG   type: THHN   length: 1 m }
  run Branch: F1 -> Lamp { size: 10 AWG   type: THHN   length: 1 m }
}
`;
    const [finding] = await findings(text);
    expect(finding).toBeDefined();
    for (const fix of finding!.fixes) {
      const errors = (await analyseText(applyFix(text, fix))).findings.filter(({ severity }) => severity === 'error');
      expect(errors.map(({ check, subject }) => `${check} ${subject}`)).toEqual([]);
    }
  });
});
