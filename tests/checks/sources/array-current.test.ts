import { describe, expect, it } from 'vitest';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'array-current';

const hut = (controller: string, parallel: number, rest = ''): string => `design D {
  ${rest}
  solar Array { power: 128 W   openCircuitVoltage: 22 V   shortCircuitCurrent: 8 A   parallel: ${parallel} }
  chargeController Box { maximumVoltage: 50 V   window: 15..45 V   maximumInputCurrent: 100 A   absorb: 14.2 V   ${controller} }
  battery Bank : Lfp12V200Ah { cellTemperature: 15..30 degC }
  run Line: Array -> Box.solar { size: 16 mm2   length: 5 m }
  run Out: Box.dc -> Bank { size: 25 mm2   length: 2 m }
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it('holds the whole current of the strings against a switching controller', async () => {
    // Four strings of 8 A: 32 A, 40 A in strong sun.
    expect(await findings(hut('tracking: pwm   maximumCurrent: 40 A', 4))).toEqual([]);
    const [warned] = await findings(hut('tracking: pwm   maximumCurrent: 32 A', 4));
    expect(warned?.severity).toBe('warning');
    const text = hut('tracking: pwm   maximumCurrent: 31 A', 4);
    const [failed] = await findings(text);
    expect(failed?.severity).toBe('error');
    expect(lacking(failed?.told, '40 A')).toEqual([]);
    // 31 A / 10 A each
    expect(failed?.fixes.map(({ title }) => title)).toEqual(['Put 3 strings in parallel in Array']);
    expect(await afterFix(text, ID, failed!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('lets an array exceed a tracking controller by 30 %, and warns above', async () => {
    // 128 W at 12.8 V are 10 A each: four of them 40 A, up to 130 % of 30.8 A.
    expect(await findings(hut('tracking: mppt   maximumCurrent: 30.8 A', 4))).toEqual([]);
    const text = hut('tracking: mppt   maximumCurrent: 30 A', 4);
    const [finding] = await findings(text);
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, '40 A')).toEqual([]);
    expect(lacking(finding?.told, '512 W')).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Put 3 strings in parallel in Array']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
    expect(await findings(hut('tracking: mppt   maximumCurrent: 20 A', 4, 'arrayExcess: 200 %'))).toEqual([]);
    expect(await findings(hut('tracking: mppt   maximumCurrent: 19.9 A', 4, 'arrayExcess: 200 %'))).toHaveLength(1);
  });

  it('divides an array between the tracking controllers on it', async () => {
    // 512 W on two controllers are 20 A each.
    const text = (most: string): string =>
      hut(`tracking: mppt   maximumCurrent: ${most}`, 4).replace(
        'battery Bank',
        `chargeController Other { tracking: mppt   maximumVoltage: 50 V   window: 15..45 V   maximumInputCurrent: 100 A   absorb: 14.2 V   maximumCurrent: ${most} }
  run Branch: Array -> Other.solar { size: 16 mm2   length: 5 m }
  run OtherOut: Other.dc -> Bank { size: 25 mm2   length: 2 m }
  battery Bank`,
      );
    expect(await findings(text('15.4 A'))).toEqual([]);
    expect(await findings(text('15.3 A'))).toHaveLength(2);
  });

  it('asks for what lacks', async () => {
    expect(askedBy(await analyseText(hut('', 4)), ID)).toEqual(['maximumCurrent of Box', 'tracking of Box']);
    const open = hut('tracking: mppt   maximumCurrent: 30 A', 4).replace('power: 128 W', '');
    expect(askedBy(await analyseText(open), ID)).toEqual(['power of Array']);
  });
});
