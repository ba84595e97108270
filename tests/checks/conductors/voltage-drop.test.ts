import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { analyseText, applyFix, findingsOf, lacking } from '../../helpers/analyse.js';

const findings = async (text: string) => findingsOf(await analyseText(text), 'voltage-drop');

describe('voltage-drop', () => {
  // Licence-preparation lesson: 20 A over 100 ft of 12 AWG at 120 V loses 7.9 V (6.6 %); 8 AWG 3.1 V (2.6 %), inside 3 %.
  const line = (size: string): string => `design Hut {
  basis: nec 2023
  grid Mains { voltage: 120 V   rating: 200 A }
  load Heater { power: 2400 W   continuous: no }
  run Line: Mains -> Heater { size: ${size}   type: THHN   length: 100 ft }
}
`;
  it('finds the lesson’s 12 AWG and passes its 8 AWG', async () => {
    const [finding] = await findings(line('12 AWG'));
    expect(numberIn(finding!.numbers.drop!, 'V')).toBeCloseTo(7.9, 1);
    expect(lacking(finding?.told, 'advised')).toEqual([]);
    expect(finding?.fixes[0]?.title).toBe('Change size of Line to 8 AWG');
    expect(await findings(line('8 AWG'))).toEqual([]);
    // 3.6 V is reached at 3.6 / 7.92 of 100 ft.
    expect(numberIn(finding!.numbers.longest!, 'ft')).toBeCloseTo(45.5, 0);
  });

  it('takes the limit of the run before that of the design', async () => {
    const text = line('12 AWG');
    expect(await findings(text.replace('length:', 'dropLimit: 7 %   length:'))).toEqual([]);
    expect(await findings(text.replace('basis: nec 2023', 'basis: nec 2023\n  acDropLimit: 7 %'))).toEqual([]);
    expect(
      await findings(
        text
          .replace('basis: nec 2023', 'basis: nec 2023\n  acDropLimit: 7 %')
          .replace('length:', 'dropLimit: 2 %   length:'),
      ),
    ).toHaveLength(1);
  });

  const surge = (size: string, length: string): string => `design Hut {
  basis: nec
  dcDropLimit: 20 %
  battery Bank { chemistry: lfp   voltage: 25.6 V   cells: 8   capacity: 200 Ah   resistance: 4 mohm }
  inverter Inv { rated: 1 kW   surge: 4 kW   efficiency: 80 %   cutOff: 22 V   dcVoltage: 21..30 V }
  run Feed: Bank -> Inv.dc { size: ${size}   type: THHN   length: ${length} }
}
`;
  it('finds an inverter that its cables would stop at surge', async () => {
    // 4000 W / (80 % · 22 V) = 227.3 A; the bank takes 0.909 V, 25.6 − 0.909 − 22 = 2.69 V are left.
    // 2 AWG: 0.194 ohm per 1000 ft (NEC Chapter 9 Table 8) = 0.6365 mohm/m; out and back over 10 m 12.73 mohm, 2.89 V.
    const text = surge('2 AWG', '10 m');
    const [finding] = await findings(text);
    expect(lacking(finding?.told, /surge Inv draws 227 A.*2\.89 V.*2\.69 V/)).toEqual([]);
    expect(await findings(applyFix(text, finding!.fixes[0]!))).toEqual([]);
    expect(await findings(surge('2 AWG', '9 m'))).toEqual([]);
  });

  // The operating current of the array, not 125 % of its short-circuit current: 9.4 A · 2 strings over 20 m of 10 AWG, 1.24 ohm per 1000 ft
  // (NEC Chapter 9 Table 8): 2 · 18.8 A · 20 m · 4.068 mohm/m = 3.06 V of 62 V.
  it('takes an array at its maximum power', async () => {
    const text = (current: string): string => `design Hut {
  basis: nec
  dcDropLimit: 5 %
  solar Array { power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 10 A   maximumPowerVoltage: 31 V   ${current}   series: 2   parallel: 2 }
  chargeController Tracker { maximumVoltage: 150 V   maximumCurrent: 60 A   absorb: 28 V   efficiency: 97 % }
  battery Bank : Lfp24V200Ah
  run Line: Array -> Tracker.solar { size: 10 AWG   type: USE-2   length: 20 m }
  run Feed: Bank -> Tracker.dc { size: 4 AWG   length: 1 m }
}
`;
    expect(await findings(text('maximumPowerCurrent: 9.4 A'))).toEqual([]);
    const [operating] = await findings(text('maximumPowerCurrent: 9.6 A'));
    expect(lacking(operating?.told, /at 19\.2 A, at maximum power/)).toEqual([]);
    // 25 A, the design current, where the current at maximum power is not stated.
    const [design] = await findings(text(''));
    expect(numberIn(design!.numbers.drop!, 'V')).toBeCloseTo(2 * 25 * 20 * (1.24 / 304.8), 2);
  });

  // IEC 60364-5-52 Table G.52.1: public supply 3 % for lighting and 5 % else, private supply 6 % and 8 %.
  describe('under iec', () => {
    const line = (source: string, load: string, percent: number): string => `design Hut {
  basis: iec
  battery Bank : Lfp48V280Ah
  ${source}
  load Any { power: 1150 W   ${load} }
  run Line: Source.ac -> Any { size: 1.5 mm2   type: H07V-U   method: B1   length: ${(percent * 230) / 100 / (2 * 5 * 12.1e-3 * (1 + 0.00393 * 55))} m   earth: 1.5 mm2 }
}
`;
    const grid = 'grid Source { voltage: 230 V   rating: 63 A }';
    const set = 'generator Source { rated: 5 kW   voltage: 230 V }';
    // 5 A in 1.5 mm² solid, 12.1 ohm/km at 20 °C (IEC 60228), at 75 °C; lengths for just under and just over each limit.
    it.each([
      ['a public supply', grid, '', 5],
      ['lighting on a public supply', grid, 'lighting: yes', 3],
      ['a private supply', set, '', 8],
      ['lighting on a private supply', set, 'lighting: yes', 6],
    ])('allows %s %s%s %d %', async (_name, source, load, limit) => {
      expect(await findings(line(source, load, limit - 0.02))).toEqual([]);
      const [finding] = await findings(line(source, load, limit + 0.02));
      expect(numberIn(finding!.numbers.limit!, '')).toBeCloseTo(limit / 100, 9);
      expect(lacking(finding?.told, 'Table G.52.1')).toEqual([]);
    });
  });

  const charge = (sense: string): string => `design Hut {
  basis: nec
  dcDropLimit: 10 %
  battery Bank : Lfp24V200Ah
  bus Bar {}
  charger Rect { currentLimit: 60 A   absorb: 28 V   ${sense} }
  run Main: Bank -> Bar { size: 2 AWG   type: THHN   length: 2 m }
  run Feed: Bar -> Rect.dc { size: 6 AWG   type: THHN   length: 3 m }
}
`;
  it('adds up the way to the bank for a charger that does not measure there', async () => {
    // 6 AWG 0.491, 2 AWG 0.194 ohm per 1000 ft: 60 A · 2 · (3 m · 1.611 + 2 m · 0.6365) mohm/m = 0.733 V; 2 % of 28 V is 0.56 V.
    const text = charge('');
    const [finding] = await findings(text);
    expect(lacking(finding?.told, /At 60 A.*733 mV.*560 mV/)).toEqual([]);
    for (const fix of finding!.fixes) expect(await findings(applyFix(text, fix)), fix.title).toEqual([]);
    expect(await findings(charge('remoteSense: yes'))).toEqual([]);
    // 0.733 V of 28 V is 2.62 %.
    const limited = (share: string): string => text.replace('basis: nec', `basis: nec\n  chargeDropLimit: ${share}`);
    expect(await findings(limited('2.7 %'))).toEqual([]);
    expect(lacking((await findings(limited('2.6 %')))[0]?.told, 'set in the design')).toEqual([]);
  });
});

describe('the way of an inverter at surge', () => {
  const hut = (bank: string, inverter: string, run: string): string => `design Hut {
  basis: nec
  dcDropLimit: 30 %
  battery Bank { chemistry: lfp   voltage: 25.6 V   cells: 8   capacity: 200 Ah   ${bank} }
  inverter Inv { rated: 1 kW   ${inverter}   efficiency: 80 %   dcVoltage: 21..30 V }
  ${run}
}
`;
  const line = (length: string): string => `run Feed: Bank -> Inv.dc { size: 2 AWG   type: THHN   length: ${length} }`;

  it('may lose less than a volt too', async () => {
    // 4000 W / (80 % · 24.9 V) = 200.8 A; 25.6 − 24.9 = 0.7 V; 2 AWG: 0.6365 mohm/m (NEC Chapter 9 Table 8): 2.74 m out and back.
    const of = async (length: string) =>
      findings(hut('resistance: 0.001 mohm', 'surge: 4 kW   cutOff: 24.9 V', line(length)));
    expect(await of('2.6 m')).toEqual([]);
    expect(await of('2.9 m')).toHaveLength(1);
  });

  it('is not judged where no surge is stated, no bank is wired or several ways lead there', async () => {
    const facts = 'resistance: 4 mohm';
    const surge = 'surge: 4 kW   cutOff: 22 V';
    expect(await findings(hut(facts, surge, line('10 m')))).toHaveLength(1);
    expect(await findings(hut(facts, 'cutOff: 22 V', line('10 m')))).toEqual([]);
    const bar = 'bus Bar {}   run Feed: Bar -> Inv.dc { size: 2 AWG   type: THHN   length: 10 m }';
    expect(await findings(hut(facts, surge, bar))).toEqual([]);
    const two = `${line('10 m')}   run Other: Bank -> Inv.dc { size: 2 AWG   type: THHN   length: 10 m }`;
    expect(await findings(hut(facts, surge, two))).toEqual([]);
  });

  it('is not judged where a run of the way says nothing of its length or size', async () => {
    const facts = 'resistance: 4 mohm';
    const surge = 'surge: 4 kW   cutOff: 22 V';
    expect(await findings(hut(facts, surge, 'run Feed: Bank -> Inv.dc { size: 2 AWG   type: THHN }'))).toEqual([]);
    const two = (first: string): string =>
      `bus Bar {}   run First: Bank -> Bar { type: THHN   ${first} }   run Second: Bar -> Inv.dc { size: 2 AWG   type: THHN   length: 5 m }`;
    expect((await findings(hut(facts, surge, two('size: 2 AWG   length: 5 m')))).length).toBeGreaterThan(0);
    expect(await findings(hut(facts, surge, two('size: 2 AWG')))).toEqual([]);
    expect(await findings(hut(facts, surge, two('length: 5 m')))).toEqual([]);
  });

  it('is not judged by a way that does not lead through the run', async () => {
    const beside = `${line('1 m')}   load Lamp { power: 10 W   supply: dc }   run Aside: Bank -> Lamp { size: 14 AWG   type: THHN   length: 30 m }`;
    expect(await findings(hut('resistance: 4 mohm', 'surge: 4 kW   cutOff: 22 V', beside))).toEqual([]);
  });

  it('is offered sizes of the metal of its conductors', async () => {
    // 2.69 V at 227.3 A over 20 m are 0.592 mohm/m. NEC Chapter 9 Table 8, aluminium: 1/0 AWG 0.201, 2/0 AWG 0.159 ohm per 1000 ft (0.659, 0.522).
    const [finding] = await findings(
      `part conductor Alu { metal: aluminium   insulation: 90 degC }\n${hut('resistance: 4 mohm', 'surge: 4 kW   cutOff: 22 V', line('10 m').replace('THHN', 'Alu'))}`,
    );
    expect(finding?.fixes[0]?.title).toBe('Change size of Feed to 2/0 AWG');
  });
});
