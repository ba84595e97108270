import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'inverter-reconnect';

/** 16 cells, 40 mohm, 2 kW of loads. */
const hut = (settings: string, { resistance = '40 mohm', charger = '' } = {}): string => `design D {
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 100 Ah   ${resistance ? `resistance: ${resistance}` : ''} }
  inverter Inv { rated: 3 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 38..60 V   ${settings} }
  load Heater { power: 2 kW   voltage: 230 V   powerFactor: 1 }
  run Feed: Bank -> Inv.dc
  run Line: Inv.ac -> Heater
  ${charger}
}
`;
const RECTIFIER = `grid Mains { voltage: 230 V }
  charger Rect { absorb: 56 V   float: 54 V   currentLimit: 30 A   efficiency: 93 % }
  run In: Mains -> Rect.ac
  run Out: Rect.dc -> Bank`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  // By hand: 2 kW / (0.92 · 46.4 V) = 46.85 A; times 40 mohm are 1.874 V: 48.274 V.
  it('asks for more than the rebound of the bank between cut-off and reconnection', async () => {
    expect(await findings(hut('cutOff: 46.4 V   reconnect: 48.3 V'))).toEqual([]);
    const [finding] = await findings(hut('cutOff: 46.4 V   reconnect: 48.2 V'));
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, '1.87 V, to 48.3 V')).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Set reconnect of Inv to 49.6 V']);
  });

  it('takes the highest resistance, and proposes what lies clear of it', async () => {
    // By hand: 46.85 A · 80 mohm = 3.748 V; 46.4 V + 3.748 V + 16 · 0.05 V = 50.95 V.
    const text = hut('cutOff: 46.4 V   reconnect: 49 V', { resistance: '40..80 mohm' });
    const [finding] = await findings(text);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Set reconnect of Inv to 51 V']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('is an error where the chargers never bring the bank to the reconnection', async () => {
    const text = hut('cutOff: 46.4 V   reconnect: 56 V', { charger: RECTIFIER });
    const [finding] = await findings(text);
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, 'never comes back by itself')).toEqual([]);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
    // 56 V less 16 · 0.05 V.
    expect(await findings(hut('cutOff: 46.4 V   reconnect: 55.2 V', { charger: RECTIFIER }))).toEqual([]);
    const [near] = await findings(hut('cutOff: 46.4 V   reconnect: 55.3 V', { charger: RECTIFIER }));
    expect(near?.severity).toBe('warning');
  });

  it('leaves a reconnection at or below the cut-off to `inverter-cutoff`, and asks for what it lacks', async () => {
    expect(await findings(hut('cutOff: 46.4 V   reconnect: 46.4 V'))).toEqual([]);
    const analysis = await analyseText(hut('cutOff: 46.4 V   reconnect: 47 V', { resistance: '' }));
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(askedBy(analysis, ID)).toEqual(['resistance of Bank']);
  });
});
