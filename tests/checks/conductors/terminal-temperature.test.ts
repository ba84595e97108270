import { describe, expect, it } from 'vitest';
import { analyseText, applyFix, findingsOf, lacking } from '../../helpers/analyse.js';

const line = (watts: number, run: string, gear = ''): string => `design Hut {
  basis: nec 2023
  grid Mains { voltage: 120 V   rating: 200 A }
  breaker B1 { class: UL489-AC   rating: 125 A   ${gear} }
  load Heater { power: ${watts} W   continuous: no }
  run Line: Mains -> B1 -> Heater { ${run}   length: 1 m }
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), 'terminal-temperature');

describe('terminal-temperature', () => {
  // Fire-engineering training academy: 95 A at a 60 °C terminal asks 2 AWG (NEC Table 310.16: 3 AWG has 85 A, 2 AWG 95 A at 60 °C).
  it('takes the column of the terminals, whatever the insulation', async () => {
    const text = line(95 * 120, 'size: 3 AWG   type: THHN   terminals: 60 degC');
    const [finding] = await findings(text);
    expect(lacking(finding?.told, /95 A.*3 AWG on 60 °?(deg)?C terminals may carry 85 A/)).toEqual([]);
    expect(lacking(finding?.told, '110.14(C)')).toEqual([]);
    expect(await findings(applyFix(text, finding!.fixes[0]!))).toEqual([]);
    expect(await findings(line(95 * 120, 'size: 2 AWG   type: THHN   terminals: 60 degC'))).toEqual([]);
  });

  it('counts the terminals of the gear when they are lower than those of the run', async () => {
    expect(await findings(line(95 * 120, 'size: 3 AWG   type: THHN'))).toEqual([]);
    expect(await findings(line(95 * 120, 'size: 3 AWG   type: THHN', 'terminals: 60 degC'))).toHaveLength(1);
  });

  it('says when the temperature was taken, not stated', async () => {
    const [finding] = await findings(line(120 * 120, 'size: 2 AWG   type: THHN'));
    expect(finding?.assumes.some((each) => each.startsWith('terminals'))).toBe(true);
  });

  it('leaves 75 °C conductors on 75 °C terminals to run-ampacity', async () => {
    const analysis = await analyseText(line(120 * 120, 'size: 2 AWG   insulation: 75 degC'));
    expect(findingsOf(analysis, 'terminal-temperature')).toEqual([]);
    expect(findingsOf(analysis, 'run-ampacity')).toHaveLength(1);
  });
});
