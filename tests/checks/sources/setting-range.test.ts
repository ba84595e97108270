import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'setting-range';
const hut = (charger: string, inverter = ''): string => `design Hut {
  battery Bank : Lfp48V280Ah { cellTemperature: 15..30 degC }
  charger Rect { input: 180..264 V   efficiency: 93 %   powerFactor: 0.98   ${charger} }
  inverter Inv { rated: 5 kW   voltage: 230 V   efficiency: 93 %   dcVoltage: 44..60 V   ${inverter} }
  run Feed: Rect.dc -> Bank { size: 50 mm2   length: 2 m }
  run InvFeed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
}
`;
const findings = async (charger: string, inverter?: string) =>
  findingsOf(await analyseText(hut(charger, inverter)), ID);

describe(ID, () => {
  it.each([
    ['currentLimit: 80 A   maximumCurrent: 80 A   absorb: 56 V', '', 0],
    ['currentLimit: 81 A   maximumCurrent: 80 A   absorb: 56 V', '', 1],
    ['currentLimit: 60 A   inputLimit: 16 A   maximumInputCurrent: 16 A   absorb: 56 V', '', 0],
    ['currentLimit: 60 A   inputLimit: 20 A   maximumInputCurrent: 16 A   absorb: 56 V', '', 1],
    ['currentLimit: 60 A   absorb: 56 V   float: 54 V   output: 42..56 V', '', 0],
    ['currentLimit: 60 A   absorb: 56.4 V   float: 54 V   output: 42..56 V', '', 1],
    ['currentLimit: 60 A   absorb: 56 V   float: 41 V   output: 42..60 V', '', 1],
    ['currentLimit: 60 A   absorb: 56 V', 'cutOff: 44 V   reconnect: 52 V', 0],
    ['currentLimit: 60 A   absorb: 56 V', 'cutOff: 43 V   reconnect: 52 V', 1],
    ['currentLimit: 60 A   absorb: 56 V', 'cutOff: 46 V   reconnect: 61 V', 1],
  ])('%s %s: %i findings', async (charger, inverter, count) => {
    expect(await findings(charger, inverter)).toHaveLength(count);
  });

  it('says which end is crossed and what counts instead, and the fix ends it', async () => {
    const text = hut('currentLimit: 100 A   maximumCurrent: 80 A   absorb: 56 V');
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(finding?.severity).toBe('warning');
    expect(finding?.headline).toBe('currentLimit of Rect is 100 A; it can be set to 80 A at most');
    expect(finding?.why).toBe('by its `maximumCurrent`');
    expect(finding?.assumes).toContain('80 A in all calculations');
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
    const [low] = await findings('currentLimit: 60 A   absorb: 56 V', 'cutOff: 43 V   reconnect: 52 V');
    expect(lacking(low?.told, '44 V at least')).toEqual([]);
  });
});
