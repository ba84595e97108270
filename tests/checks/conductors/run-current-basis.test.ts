import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { analyseText, findingsOf, lacking } from '../../helpers/analyse.js';

const hut = (rating: number): string => `design Hut {
  battery Bank : Lfp24V200Ah
  inverter Inv { rated: 4 kW   efficiency: 85 %   dcVoltage: 22..30 V }
  fuse F1 { class: T   rating: ${rating} A }
  run Feed: Bank -> F1 @ 150 mm -> Inv.dc { size: 300 kcmil   type: THHN   length: 1 m }
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), 'run-current-basis');

describe('run-current-basis', () => {
  // Charge-controller maker's manual: 4000 W at 22 V and 85 % is 214 A. At the nominal 25.6 V it would be 183.8 A, with the efficiency
  // multiplied 132.8 A (by hand).
  it('names the wrong formula that a fuse was chosen by', async () => {
    const [nominal] = await findings(hut(200));
    expect(lacking(nominal?.told, 'P/(η·U_nom)')).toEqual([]);
    expect(numberIn(nominal!.numbers.current!, 'A')).toBeCloseTo(213.9, 1);
    const [multiplied] = await findings(hut(150));
    expect(lacking(multiplied?.told, 'P·η/U_nom')).toEqual([]);
  });

  it('tells why only: the finding itself is that of protection-continuous', async () => {
    const analysis = await analyseText(hut(200));
    expect(findingsOf(analysis, 'run-current-basis')[0]?.severity).toBe('info');
    expect(findingsOf(analysis, 'protection-continuous')[0]?.severity).toBe('error');
  });

  it('names conductors that suit the wrong formula too', async () => {
    // 4/0 AWG at 75 °C terminals has 230 A, 3/0 AWG 200 A (NEC Table 310.16): enough for 183.8 A, not for 213.9 A.
    const text = (size: string): string => hut(300).replace('300 kcmil', size);
    expect(await findings(text('4/0 AWG'))).toEqual([]);
    const [finding] = await findings(text('3/0 AWG'));
    expect(lacking(finding?.told, /^The conductors of Feed \(3\/0 AWG, 200 A\) would do for 184 A/)).toEqual([]);
  });

  it('uses the tightest of what is large enough', async () => {
    // 300 kcmil at 75 °C has 285 A; 225 A are nearer to 213.9 A.
    const { passed } = await analyseText(hut(225));
    const use = passed.find(({ check }) => check === 'run-current-basis')?.use;
    expect(use && numberIn(use.value, 'A')).toBeCloseTo(213.9, 1);
    expect(use && numberIn(use.limit, 'A')).toBe(225);
    const wide = (await analyseText(hut(300))).passed.find(({ check }) => check === 'run-current-basis')?.use;
    expect(wide && numberIn(wide.limit, 'A')).toBe(285);
  });

  it('is silent where the device carries the right current, or is too small by any formula', async () => {
    expect(await findings(hut(225))).toEqual([]);
    expect(await findings(hut(100))).toEqual([]);
  });
});
