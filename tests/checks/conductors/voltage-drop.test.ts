import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { analyseText, applyFix, findingsOf } from '../../helpers/analyse.js';

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
    expect(finding?.message).toContain('advised');
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
    expect(finding?.message).toMatch(/surge Inv draws 227 A.*2\.89 V.*2\.69 V/);
    expect(await findings(applyFix(text, finding!.fixes[0]!))).toEqual([]);
    expect(await findings(surge('2 AWG', '9 m'))).toEqual([]);
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
    expect(finding?.message).toMatch(/At 60 A.*733 mV.*560 mV/);
    for (const fix of finding!.fixes) expect(await findings(applyFix(text, fix)), fix.title).toEqual([]);
    expect(await findings(charge('remoteSense: yes'))).toEqual([]);
  });
});
