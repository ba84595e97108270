import { describe, expect, it } from 'vitest';
import { analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'charger-window';

const hut = (source: string, charger: string): string => `design D {
  ${source}
  charger Rect { ${charger}   currentLimit: 20 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah { cellTemperature: 15..30 degC }
  run Cord: Supply -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 16 mm2   length: 2 m }
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);
const grid = (facts: string): string => `grid Supply { voltage: 230 V   rating: 16 A   ${facts} }`;
const set = (facts: string): string => `generator Supply { rated: 5 kW   voltage: 230 V   tolerance: 2 %   ${facts} }`;

describe(ID, () => {
  it('passes a supply whose whole tolerance lies inside the window, and fails one that leaves it on either side', async () => {
    // 230 V ± 10 %: 207 to 253 V.
    expect(await findings(hut(grid('tolerance: 10 %'), 'input: 207..253 V'))).toEqual([]);
    const [low] = await findings(hut(grid('tolerance: 10 %'), 'input: 208..253 V'));
    expect(low?.severity).toBe('error');
    expect(lacking(low?.told, '207 to 253 V')).toEqual([]);
    expect(lacking(low?.told, 'drops out while the voltage is low')).toEqual([]);
    const [high] = await findings(hut(grid('tolerance: 10 %'), 'input: 207..252 V'));
    expect(lacking(high?.told, 'shuts down while the voltage is high')).toEqual([]);
  });

  it('only warns where the tolerance is the usual one', async () => {
    // ± 5 % unless stated: 218.5 to 241.5 V.
    expect(await findings(hut(grid(''), 'input: 218.5..241.5 V'))).toEqual([]);
    const [finding] = await findings(hut(grid(''), 'input: 219..250 V'));
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'no `tolerance` is stated')).toEqual([]);
  });

  it('leaves voltages that do not meet at all to unlike-terminals', async () => {
    const analysis = await analyseText(hut(grid('tolerance: 5 %'), 'input: 90..132 V'));
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(findingsOf(analysis, 'unlike-terminals')).toHaveLength(1);
  });

  it('counts the droop of a governor, half above and half below nominal', async () => {
    // 4 % of 50 Hz: 49 to 51 Hz.
    const steady = 'frequency: 50 Hz   waveform: conventional   droop: 4 %';
    expect(await findings(hut(set(steady), 'input: 180..264 V   frequency: 49..51 Hz'))).toEqual([]);
    const [finding] = await findings(hut(set(steady), 'input: 180..264 V   frequency: 49.1..51 Hz'));
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, '49 to 51 Hz')).toEqual([]);
    expect(lacking(finding?.told, 'droop 4 %')).toEqual([]);
  });

  it('takes 8 % of a conventional set that states none (ISO 8528-5 class G1), as a warning', async () => {
    // 60 Hz: 57.6 to 62.4 Hz.
    const sixty = (waveform: string): string => set(`frequency: 60 Hz   ${waveform}`);
    expect(
      await findings(hut(sixty('waveform: conventional'), 'input: 180..264 V   frequency: 57.6..62.4 Hz')),
    ).toEqual([]);
    const [finding] = await findings(hut(sixty('waveform: conventional'), 'input: 180..264 V   frequency: 59..61 Hz'));
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'class G1')).toEqual([]);
    expect(await findings(hut(sixty('waveform: inverter'), 'input: 180..264 V   frequency: 59..61 Hz'))).toEqual([]);
    expect(
      await findings(hut(sixty('waveform: conventional   droop: 0 %'), 'input: 180..264 V   frequency: 59..61 Hz')),
    ).toEqual([]);
    const unsaid = await analyseText(hut(sixty(''), 'input: 180..264 V   frequency: 59..61 Hz'));
    expect(findingsOf(unsaid, ID)).toEqual([]);
    expect(askedBy(unsaid, ID)).toEqual(['droop or waveform of Supply']);
  });

  it('takes a range of frequency as it is stated', async () => {
    const ranged = set('frequency: 48..52 Hz   waveform: conventional');
    expect(await findings(hut(ranged, 'input: 180..264 V   frequency: 48..52 Hz'))).toEqual([]);
    expect(await findings(hut(ranged, 'input: 180..264 V   frequency: 48.5..52 Hz'))).toHaveLength(1);
  });

  it('does not feed a charger that needs a sine from a stepped wave', async () => {
    const text = (waveform: string, accepts: string): string => `design D {
  battery Big : Lfp48V280Ah
  inverter Inv { rated: 3 kW   voltage: 230 V   frequency: 50 Hz   efficiency: 92 %   dcVoltage: 44..60 V   waveform: ${waveform} }
  charger Small { input: 180..264 V   frequency: 47..63 Hz   accepts: ${accepts}   currentLimit: 10 A   absorb: 14.2 V   efficiency: 90 %   powerFactor: 0.98 }
  battery Tool : Lfp12V100Ah
  run Feed: Big -> Inv.dc { size: 35 mm2   length: 1 m }
  run Line: Inv.ac -> Small.ac { size: 2.5 mm2   length: 5 m }
  run Out: Small.dc -> Tool { size: 6 mm2   length: 1 m }
}
`;
    const [finding] = await findings(text('modified', 'sine'));
    expect(lacking(finding?.told, 'stepped wave')).toEqual([]);
    expect(await findings(text('sine', 'sine'))).toEqual([]);
    expect(await findings(text('modified', 'any'))).toEqual([]);
  });

  it('looks at every supply, through transfer gear too', async () => {
    const text = (tolerance: string): string => `design D {
  grid Mains { voltage: 230 V   rating: 16 A   tolerance: 5 % }
  generator Supply { rated: 5 kW   voltage: 230 V   tolerance: ${tolerance} }
  transfer Ats { switches: phases-and-neutral   rating: 32 A }
  charger Rect { input: 210..250 V   currentLimit: 20 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah { cellTemperature: 15..30 degC }
  run A: Mains -> Ats.normal { size: 4 mm2   length: 5 m }
  run B: Supply -> Ats.standby { size: 4 mm2   length: 5 m }
  run Cord: Ats.out -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 16 mm2   length: 2 m }
}
`;
    expect(await findings(text('8 %'))).toEqual([]);
    const [finding] = await findings(text('10 %'));
    expect(lacking(finding?.told, 'Supply gives 207 to 253 V')).toEqual([]);
  });

  it('speaks of an inverter that passes its supply on in its own words', async () => {
    const text = `design D {
  ${set('').replace('tolerance: 2 %', 'tolerance: 10 %')}
  inverter Inv { rated: 3 kW   voltage: 230 V   passThrough: yes   input: 210..255 V   efficiency: 92 %   dcVoltage: 44..60 V }
  battery Bank : Lfp48V280Ah
  load Shop { power: 1 kW }
  run Cord: Supply -> Inv.input { size: 4 mm2   length: 10 m }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
  run Line: Inv.ac -> Shop { size: 4 mm2   length: 5 m }
}
`;
    const [finding] = await findings(text);
    expect(finding?.subject).toBe('D.Inv');
    expect(lacking(finding?.told, 'falls back on the battery')).toEqual([]);
    expect(lacking(finding?.told, 'Widen its window to 207 to 253 V')).toEqual([]);
  });

  it('asks for what lacks', async () => {
    expect(askedBy(await analyseText(hut(grid(''), 'frequency: 45..65 Hz')), ID).sort()).toEqual([
      'frequency of Supply',
      'input of Rect',
    ]);
    expect(askedBy(await analyseText(hut('grid Supply { rating: 16 A }', 'input: 180..264 V')), ID)).toEqual([
      'voltage of Supply',
    ]);
  });
});
