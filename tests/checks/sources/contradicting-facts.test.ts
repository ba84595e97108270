import { describe, expect, it } from 'vitest';
import { analyseText, findingsOf, lacking } from '../../helpers/analyse.js';
import { valueOf } from '../../helpers/quantities.js';

const ID = 'contradicting-facts';
const one = (kind: string, facts: string): string =>
  `design D {\n  site { altitude: 0 m   ambient: 15..25 degC }\n  ${kind} One { ${facts} }\n}\n`;
const findings = async (kind: string, facts: string) => findingsOf(await analyseText(one(kind, facts)), ID);
const severities = async (kind: string, facts: string) => (await findings(kind, facts)).map(({ severity }) => severity);

describe(ID, () => {
  it('holds active power against apparent power and power factor, and counts with the smaller', async () => {
    const set = 'apparent: 5 kVA   powerFactor: 0.8   voltage: 230 V';
    const [finding] = await findings('generator', `rated: 5 kW   ${set}`);
    expect(finding?.severity).toBe('error');
    expect(lacking(finding?.told, '`rated` 5 kW, `apparent` 5 kVA and `powerFactor` 0.8')).toEqual([]);
    expect(lacking(finding?.told, '4 kW')).toEqual([]);
    // 5 kVA · 0.8 = 4 kW; 2 % for the rounding of plates.
    expect(await findings('generator', `rated: 4.08 kW   ${set}`)).toEqual([]);
    expect(await findings('generator', `rated: 3 kW   ${set}`)).toEqual([]);
    expect(await valueOf(one('generator', `rated: 5 kW   ${set}`), 'One', 'usablePower', 'W')).toBeCloseTo(4000, 6);
    expect(await valueOf(one('generator', `rated: 3 kW   ${set}`), 'One', 'usablePower', 'W')).toBeCloseTo(3000, 6);
    // No power factor is more than 1.
    expect(await severities('generator', 'rated: 6 kW   apparent: 5 kVA   voltage: 230 V')).toEqual(['error']);
    // That of an inverter is of its charger's input.
    const inverter = 'powerFactor: 0.7   currentLimit: 20 A   voltage: 230 V';
    expect(await severities('inverter', `rated: 5 kW   apparent: 5 kVA   ${inverter}`)).toEqual([]);
    expect(await severities('inverter', `rated: 5.5 kW   apparent: 5 kVA   ${inverter}`)).toEqual(['error']);
  });

  it('holds the power of modules against voltage times current, and counts with the worse', async () => {
    // 31 V · 12.9 A = 399.9 W.
    const module = 'maximumPowerVoltage: 31 V   maximumPowerCurrent: 12.9 A';
    expect(await severities('solar', `power: 400 W   ${module}`)).toEqual([]);
    expect(await severities('solar', `power: 480 W   ${module}`)).toEqual(['warning']);
    expect(await severities('solar', `power: 350 W   ${module}`)).toEqual(['warning']);
    expect(await valueOf(one('solar', `power: 480 W   ${module}`), 'One', 'arrayPower', 'W')).toBeCloseTo(399.9, 6);
    expect(await valueOf(one('solar', `power: 350 W   ${module}`), 'One', 'arrayPower', 'W')).toBeCloseTo(350, 6);
    const swapped = `power: 400 W   ${module}   shortCircuitCurrent: 12 A   openCircuitVoltage: 30 V`;
    expect(await severities('solar', swapped)).toEqual(['error', 'error']);
    // 125 % of the larger current, as NEC 690.8(A)(1) has it of the short-circuit current.
    expect(await valueOf(one('solar', swapped), 'One', 'arrayCurrent', 'A')).toBeCloseTo(1.25 * 12.9, 6);
  });

  it('holds what things give for seconds against what they give for hours', async () => {
    expect(await severities('generator', 'rated: 5 kW   surge: 4 kW   voltage: 230 V')).toEqual(['error']);
    expect(await severities('inverter', 'rated: 5 kW   surge: 5 kW   voltage: 230 V')).toEqual([]);
    expect(await severities('battery', 'maximumDischarge: 100 A   peakDischarge: 80 A')).toEqual(['error']);
  });

  it('holds the voltages of a battery, an outlet and a load against each other', async () => {
    expect(await severities('battery', 'voltage: 12.8 V   protectionLow: 13 V')).toEqual(['error']);
    expect(await severities('battery', 'voltage: 12.8 V   protectionHigh: 12 V   chargeLimit: 12.6 V')).toEqual([
      'error',
      'error',
    ]);
    expect(
      await severities(
        'battery',
        'voltage: 12.8 V   protectionLow: 10 V   protectionHigh: 14.6 V   chargeLimit: 14.4 V',
      ),
    ).toEqual([]);
    // 240 V · 20 A = 4.8 kW.
    expect(await severities('vehicle', 'rated: 4.8 kW   voltage: 240 V   rating: 20 A')).toEqual([]);
    expect(await severities('vehicle', 'rated: 7.2 kW   voltage: 240 V   rating: 20 A')).toEqual(['warning']);
    expect(await severities('load', 'power: 10 W   voltage: 12 V   minimumVoltage: 13 V')).toEqual(['error']);
    expect(await severities('load', 'power: 10 W   voltage: 12 V   minimumVoltage: 10.5 V')).toEqual([]);
  });
});
