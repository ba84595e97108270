import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { analyseText, applyFix, findingsOf } from '../../helpers/analyse.js';

const findings = async (text: string) => findingsOf(await analyseText(text), 'plug-continuous');
const set = (watts: number, load = ''): string => `design Camp {
  basis: nec 2023
  generator Genset { rated: 7.2 kW   voltage: 120/240 V   outlet: L14-30   neutralBond: bonded }
  load Heater { power: ${watts} W   voltage: 240 V   ${load} }
  run Cord: Genset -> Heater { size: 10 AWG   type: SOOW   length: 10 m }
}
`;

describe('plug-continuous', () => {
  // Generator information page: an L14-30 at 240 V carries 5760 VA continuously (80 %).
  it('accepts 5760 W on an L14-30 for hours and no more', async () => {
    expect(await findings(set(5760))).toEqual([]);
    const [finding] = await findings(set(5900));
    expect(numberIn(finding!.numbers.limit!, 'A')).toBeCloseTo(24, 9);
    expect(finding?.message).toContain('80 %');
    expect(await findings(set(7200, 'continuous: no'))).toEqual([]);
  });

  it('computes the input limit to set, other loads on the cord counted', async () => {
    const text = `design Coach {
  basis: nec 2023
  grid Shore { voltage: 120 V   rating: 30 A   outlet: TT-30 }
  charger Rect { input: 90..132 V   currentLimit: 70 A   absorb: 28 V   efficiency: 90 %   powerFactor: 1 }
  battery Bank : Lfp24V200Ah
  bus Panel {}
  load Fan { power: 600 W }
  run Cord: Shore -> Panel { size: 10 AWG   type: STW   length: 8 m }
  run In: Panel -> Rect.ac { size: 10 AWG   type: THHN   length: 2 m }
  run ToFan: Panel -> Fan { size: 14 AWG   type: THHN   length: 2 m }
  run Feed: Rect.dc -> Bank { size: 2 AWG   type: THHN   length: 1 m }
}
`;
    // 24 A (80 % of 30 A) less 600 W / 120 V = 5 A leaves 19 A for the charger.
    const [finding] = await findings(text);
    expect(finding?.fixes[0]?.title).toBe('Limit the input of Rect to 19 A');
    expect(await findings(applyFix(text, finding!.fixes[0]!))).toEqual([]);
  });

  it('lets a breaker that is listed for it carry all of its rating', async () => {
    const text = (facts: string): string => `design Hut {
  basis: nec 2023
  grid Mains { voltage: 120 V   rating: 100 A }
  receptacle Outlet { plug: L5-30 }
  breaker B1 { rating: 20 A   ${facts} }
  load Heater { power: 2040 W }
  run Line: Mains -> B1 -> Outlet -> Heater { size: 10 AWG   type: THHN   length: 2 m }
}
`;
    // 17 A on a breaker of 20 A.
    expect(await findings(text(''))).toHaveLength(1);
    expect(await findings(text('fullRating: yes'))).toEqual([]);
  });
});
