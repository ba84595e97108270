import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { analyseText, applyFix, findingsOf, lacking } from '../../helpers/analyse.js';

/** A heater of `watts` at 120 V through one run of the NEC. */
const line = (watts: number, run: string, load = ''): string => `design Hut {
  basis: nec 2023
  grid Mains { voltage: 120 V   rating: 200 A }
  load Heater { power: ${watts} W   ${load} }
  run Line: Mains -> Heater { ${run} }
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), 'run-ampacity');

describe('run-ampacity', () => {
  // Trade magazine quiz on NEC article 310: nine 12 AWG THHN in one raceway carry 21 A each.
  it('accepts exactly the corrected ampacity and rejects a little more', async () => {
    const run = 'size: 12 AWG   type: THHN   length: 2 m   conductors: 9';
    expect(await findings(line(21 * 120, run, 'continuous: no'))).toEqual([]);
    const [finding] = await findings(line(21.1 * 120, run, 'continuous: no'));
    expect(lacking(finding?.told, '21.1 A')).toEqual([]);
    expect(lacking(finding?.told, /may carry 21 A after bundling 0\.7/)).toEqual([]);
    expect(numberIn(finding!.numbers.limit!, 'A')).toBeCloseTo(21, 6);
  });

  // Wire derating page, recomputed: 12 AWG THHN, nine conductors, 45 °C: 30 A · 0.87 · 0.7 = 18.27 A (the page printed 17.22 A).
  it('corrects the 90 °C ampacity with the 90 °C factor', async () => {
    const run = 'size: 12 AWG   type: THHN   length: 2 m   conductors: 9   ambient: 45 degC';
    expect(await findings(line(18.2 * 120, run, 'continuous: no'))).toEqual([]);
    expect(await findings(line(18.4 * 120, run, 'continuous: no'))).toHaveLength(1);
  });

  // Fire-engineering training academy: 95 A continuous on 75 °C conductors asks 118.75 A before correction: 1 AWG, not 2 AWG.
  it('asks 125 % of a continuous load before correction, not after it', async () => {
    const text = line(95 * 120, 'size: 2 AWG   insulation: 75 degC   terminals: 75 degC   length: 2 m');
    const [finding] = await findings(text);
    expect(lacking(finding?.told, /carries 95 A, so that it must be good for 119 A .*115 A before correction/)).toEqual(
      [],
    );
    expect(finding?.fixes[0]?.title).toBe('Change size of Line to 1 AWG');
    expect(await findings(applyFix(text, finding!.fixes[0]!))).toEqual([]);
    expect(
      await findings(
        line(95 * 120, 'size: 2 AWG   insulation: 75 degC   terminals: 75 degC   length: 2 m', 'continuous: no'),
      ),
    ).toEqual([]);
  });

  it('offers one size that passes ampacity, device, terminals and drop together', async () => {
    const text = `design Hut {
  basis: nec 2023
  dcDropLimit: 1 %
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 6 kW   voltage: 120/240 V   efficiency: 92 %   dcVoltage: 44..60 V   cutOff: 46 V }
  fuse F1 { class: T   rating: 200 A }
  run Feed: Bank -> F1 @ 150 mm -> Inv.dc { size: 4 AWG   type: THWN-2   length: 4 m }
}
`;
    const [finding] = await findings(text);
    // 6000 W / (92 % · 46 V) = 141.8 A; 125 % is 177.2 A: 3/0 AWG at 75 °C (200 A). 1 % of 51.2 V over
    // 4 m allows 0.512 V / (2 · 141.8 A · 4 m) = 0.451 mohm/m or 0.1376 ohm per 1000 ft, which 1/0 AWG meets (0.122, NEC Chapter 9 Table 8).
    expect(finding?.fixes[0]?.title).toBe('Change size of Feed to 3/0 AWG');
    const after = await analyseText(applyFix(text, finding!.fixes[0]!));
    for (const check of ['run-ampacity', 'terminal-temperature', 'run-protection', 'voltage-drop'])
      expect(findingsOf(after, check), check).toEqual([]);
  });

  it('multiplies by conductors in parallel', async () => {
    // NEC Table 310.16, 1/0 AWG at 75 °C: 150 A; two of them 300 A, each pair in a raceway of its own.
    const apart = 'size: 1/0 AWG   parallel: 2   conductors: 2   length: 2 m';
    expect(await findings(line(280 * 120, apart, 'continuous: no'))).toEqual([]);
    expect(await findings(line(280 * 120, 'size: 1/0 AWG   length: 2 m', 'continuous: no'))).toHaveLength(1);
  });

  // NEC Tables 310.16, 310.15(C)(1): 1/0 AWG THHN 170 A at 90 °C; four conductors of two poles in one raceway 0.8, eight 0.7.
  it.each([
    ['parallel: 2', 272],
    ['parallel: 2   conductors: 2', 340],
    ['parallel: 4', 476],
    ['parallel: 4   conductors: 3', 680],
  ])('counts conductors in parallel as lying together where nothing else is said: %s', async (parallel, most) => {
    const run = `size: 1/0 AWG   type: THHN   terminals: 90 degC   length: 2 m   ${parallel}`;
    expect(await findings(line((most - 0.5) * 120, run, 'continuous: no'))).toEqual([]);
    const [finding] = await findings(line((most + 0.5) * 120, run, 'continuous: no'));
    expect(numberIn(finding!.numbers.limit!, 'A')).toBeCloseTo(most, 6);
  });

  it('counts runs side by side between the same ends as one', async () => {
    const two = (facts: string): string => `design Hut {
  basis: nec 2023
  grid Mains { voltage: 120 V   rating: 400 A }
  load Heater { power: ${300 * 120} W   continuous: no }
  run Left: Mains -> Heater { size: 1/0 AWG   type: THHN   length: 9 m   ${facts} }
  run Right: Mains -> Heater { size: 1/0 AWG   type: THHN   length: 9 m   ${facts} }
}
`;
    // 150 A each: 170 A · 0.8 = 136 A in one raceway, 170 A in two.
    expect(await findings(two(''))).toHaveLength(2);
    expect(await findings(two('conductors: 2'))).toEqual([]);
  });

  it('counts three poles of three phases, and says that it took them', async () => {
    const text = line(400_000, 'size: 1/0 AWG   type: THHN   parallel: 2   length: 2 m', 'continuous: no').replace(
      'voltage: 120 V',
      'voltage: 120/208 V',
    );
    const [finding] = await findings(text);
    // Six conductors: 0.8.
    expect(numberIn(finding!.numbers.limit!, 'A')).toBeCloseTo(2 * 170 * 0.8, 6);
    expect(lacking(finding?.told, 'conductors 6 taken; not stated')).toEqual([]);
  });

  // IEC 60364-5-52 Tables B.52.4 (25 mm², PVC, B1, two loaded: 101 A) and B.52.17 (bunched: two circuits 0.8); 523.7 counts each as a circuit.
  it('iec: counts conductors in parallel as circuits grouped together', async () => {
    const text = (watts: number, facts: string): string =>
      line(watts, `size: 25 mm2   type: H07V-R   method: B1   length: 2 m   ${facts}`, 'continuous: no').replace(
        'nec 2023',
        'iec',
      );
    expect(await findings(text(161 * 120, 'parallel: 2'))).toEqual([]);
    expect(await findings(text(162 * 120, 'parallel: 2'))).toHaveLength(1);
    expect(await findings(text(201 * 120, 'parallel: 2   circuits: 1'))).toEqual([]);
  });

  // NEC 334.80: 12/2 NM-B, 30 A at 90 °C, held to 20 A at 60 °C; five cables (ten conductors) 30 A · 0.5 = 15 A.
  it.each([
    ['conductors: 9', 20],
    ['conductors: 10', 15],
    ['conductors: 9   ambient: 45 degC', 18.27],
  ])('corrects NM-B from 90 °C and holds it to 60 °C at the end: %s', async (facts, most) => {
    const run = `size: 12 AWG   type: NM-B   length: 2 m   ${facts}`;
    expect(await findings(line((most - 0.1) * 120, run, 'continuous: no'))).toEqual([]);
    expect(await findings(line((most + 0.1) * 120, run, 'continuous: no'))).toHaveLength(1);
  });

  it('holds 125 % of a continuous load on NM-B against its 60 °C ampacity', async () => {
    const run = 'size: 12 AWG   type: NM-B   length: 2 m   terminals: 75 degC';
    expect(await findings(line(16 * 120, run))).toEqual([]);
    expect(await findings(line(16.1 * 120, run))).toHaveLength(1);
  });

  // NEC 710.15(B): conductors of a stand-alone source by its output ratings, not by what is connected.
  describe('at the output of a stand-alone inverter', () => {
    const output = (size: string, gear = '', basis = 'nec 2023'): string => `design Hut {
  basis: ${basis}
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 6 kW   voltage: 120 V   efficiency: 92 %   dcVoltage: 44..60 V   cutOff: 46 V }
  breaker D { rating: 60 A }
  bus Panel { rating: 100 A }
  load Lamp { power: 600 W }
  run Out: Inv.ac ${gear} -> Panel { size: ${size}   insulation: 75 degC   length: 2 m   earth: 10 AWG   terminals: 75 degC }
  run Line: Panel -> Lamp { size: 14 AWG   insulation: 75 degC   length: 2 m   earth: 14 AWG }
}
`;
    it('asks for its rated output whatever is connected', async () => {
      // 6000 VA / 120 V = 50 A: 8 AWG at 75 °C (50 A), not 10 AWG (35 A); NEC Table 310.16.
      expect(await findings(output('8 AWG'))).toEqual([]);
      const [finding] = await findings(output('10 AWG'));
      expect(
        lacking(finding?.told, /Out must be good for 50 A, rated output of Inv, whatever is connected.*710\.15\(B\)/),
      ).toEqual([]);
      expect(finding?.fixes[0]?.title).toBe('Change size of Out to 8 AWG and ground of Out to 8 AWG');
      expect(await findings(applyFix(output('10 AWG'), finding!.fixes[0]!))).toEqual([]);
    });

    it('asks for the sum of inverters that are joined, before anything hangs on them', async () => {
      const joined = (size: string, load = ''): string => `design Hut {
  basis: nec 2023
  battery Bank : Lfp48V280Ah
  inverter A { rated: 3 kW   voltage: 120 V   efficiency: 92 %   dcVoltage: 44..60 V   cutOff: 46 V }
  inverter B { rated: 3 kW   voltage: 120 V   efficiency: 92 %   dcVoltage: 44..60 V   cutOff: 46 V }
  bus Join { rating: 100 A }
  bus Panel { rating: 100 A }
  load Lamp { power: 600 W }
  run OutA: A.ac -> Join { size: 8 AWG   insulation: 75 degC   length: 1 m   earth: 8 AWG }
  run OutB: B.ac -> Join { size: 8 AWG   insulation: 75 degC   length: 1 m   earth: 8 AWG }
  run Out: Join -> Panel { size: ${size}   insulation: 75 degC   length: 2 m   earth: 8 AWG }
  run Line: Panel -> Lamp { size: 14 AWG   insulation: 75 degC   length: 2 m   earth: 14 AWG }
  ${load}
}
`;
      // 2 · 3000 VA / 120 V = 50 A: 8 AWG at 75 °C; the 25 A of each need 10 AWG (35 A).
      expect(await findings(joined('8 AWG'))).toEqual([]);
      const [finding] = await findings(joined('10 AWG'));
      expect(lacking(finding?.told, /50 A, rated output of A and B/)).toEqual([]);
      // A load beside the inverters takes its part before the run: what is connected decides then.
      const beside =
        'load Fan { power: 100 W }   run Aside: Join -> Fan { size: 14 AWG   length: 1 m   earth: 14 AWG }';
      expect(await findings(joined('10 AWG', beside))).toEqual([]);
    });

    it('asks for less where a device holds it to less, and only under nec', async () => {
      const held = output('10 AWG', '-> D').replace('rating: 60 A', 'rating: 30 A');
      expect(await findings(held)).toEqual([]);
      expect(await findings(output('10 AWG', '-> D'))).toHaveLength(1);
      expect(await findings(output('6 mm2', '', 'iec'))).toEqual([]);
    });
  });

  it('reads a table of the design before that of the practice, and says so', async () => {
    const text = (table: string): string => `design Hut {
  basis: nec 2023
  grid Mains { voltage: 120 V   rating: 200 A }
  load Heater { power: 3000 W   continuous: no }
  run Line: Mains -> Heater { size: 10 AWG   type: Special   length: 2 m   terminals: 90 degC   earth: 10 AWG }
}
part conductor Special { insulation: 90 degC   ${table} }
`;
    // 25 A; NEC Table 310.16 has 40 A for 10 AWG at 90 °C.
    expect(await findings(text(''))).toEqual([]);
    expect(await findings(text('ampacities: { 10 AWG: 25 A, 8 AWG: 38 A }'))).toEqual([]);
    const [finding] = await findings(text('ampacities: { 10 AWG: 24.9 A, 8 AWG: 38 A }'));
    expect(lacking(finding?.told, 'own table of the design ampacities of Special')).toEqual([]);
    expect(finding?.severity).toBe('error');
    // The service of 200 A asks for 6 AWG by Table 250.122, but never for more than the line (250.122(A)).
    expect(finding?.fixes[0]?.title).toBe('Change size of Line to 8 AWG and ground of Line to 8 AWG');
  });

  it('lifts a value from memory to one of the design', async () => {
    // XLPE under iec (Table B.52.3) is from memory: 10 mm², method C, 80 A; 84 A are asked.
    const text = (table: string): string => `design Barn {
  basis: iec
  grid Mains { voltage: 230 V   rating: 100 A }
  load Press { power: 19320 W }
  run Line: Mains -> Press { size: 10 mm2   type: Cable   method: C   length: 1 m   earth: 10 mm2 }
}
part conductor Cable extends PowerXlpe90 { ${table} }
`;
    expect((await findings(text('')))[0]?.severity).toBe('warning');
    expect((await findings(text('ampacities: { 10 mm2: 80 A }')))[0]?.severity).toBe('error');
    expect(await findings(text('ampacities: { 10 mm2: 84 A }'))).toEqual([]);
  });

  it('asks for the size that lacks instead of guessing', async () => {
    const analysis = await analyseText(line(1000, 'length: 2 m'));
    expect(findingsOf(analysis, 'run-ampacity')).toEqual([]);
    expect(analysis.questions.find(({ check }) => check === 'run-ampacity')?.missing).toEqual(['size of Line']);
  });

  it('warns only, and says so, where the table is from memory', async () => {
    const text = `design Boot {
  basis: craft
  battery Bank : Lfp12V200Ah
  fuse F1 { class: T   rating: 60 A }
  load Winch { power: 700 W   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Winch { size: 6 mm2   type: FineStranded105   length: 1 m }
}
`;
    // 700 W / 10 V = 70 A on 6 mm², 105 °C: 60 A by ISO 13297, which is from memory.
    const [finding] = await findings(text);
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'from memory')).toEqual([]);
  });

  it('is silenced by a waiver on the run', async () => {
    const text = line(30 * 120, 'size: 14 AWG   type: THHN   length: 2 m').replace(
      '\n}\n',
      '\n  accept run-ampacity on Line because "old wiring, replaced next month"\n}\n',
    );
    expect(await findings(text)).toEqual([]);
  });
});

describe('what a finding of ampacity says', () => {
  it('the current and the state in which it flows, whatever else it rests on', async () => {
    const text = `design House {
  basis: nec 2023
  grid Mains { voltage: 120/240 V   rating: 100 A   neutralBond: bonded }
  generator Genset { rated: 7 kW   voltage: 240 V   neutralBond: floating }
  transfer Ats { switches: phases   rating: 100 A }
  load Heater { power: 6.6 kW   voltage: 240 V   continuous: no   legs: L1, L2 }
  run FromMains: Mains -> Ats.normal { size: 3 AWG   length: 3 m }
  run FromSet: Genset -> Ats.standby { size: 14 AWG   insulation: 75 degC   terminals: 75 degC   length: 8 m }
  run Line: Ats.out -> Heater { size: 8 AWG   length: 10 m }
}
`;
    const [finding, ...others] = await findings(text);
    expect(others).toEqual([]);
    expect(numberIn(finding!.numbers.current!, 'A')).toBeCloseTo(27.5, 6);
    expect(finding?.why).toContain('Genset');
  });

  it('the rule of conductors, not that of inverters, where 125 % of a lasting load is too much', async () => {
    const [finding] = await findings(
      line(95 * 120, 'size: 2 AWG   insulation: 75 degC   terminals: 75 degC   length: 2 m'),
    );
    expect(finding?.rule).toContain('310.16');
    expect(finding?.headline).toContain('uncorrected');
  });
});

describe('the sizes that are offered', () => {
  // IEC 60228 Table 1: copper from 0.5 mm², aluminium from 10 mm². IEC 60364-5-52 Table B.52.4, method C, 2.5 mm² PVC: 27 A, 4 mm² 36 A.
  it('are those of the metal that the type states', async () => {
    const text = `part conductor Own { metal: copper   insulation: 70 degC }
${line(30 * 120, 'size: 2.5 mm2   type: Own   method: C   length: 2 m').replace('nec 2023', 'iec')}`;
    const [finding] = await findings(text);
    expect(finding?.fixes[0]?.title).toBe('Change size of Line to 4 mm2');
  });
});
