import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'cold-string-voltage';

const hut = (site: string, array: string, controller = 'maximumVoltage: 150 V'): string => `design D {
  ${site}
  solar Array { power: 550 W   shortCircuitCurrent: 13 A   ${array} }
  chargeController Tracker { tracking: mppt   window: 60..1000 V   maximumCurrent: 60 A   maximumInputCurrent: 40 A   absorb: 56 V   ${controller} }
  battery Bank : Lfp48V280Ah { cellTemperature: 15..30 degC }
  run Line: Array -> Tracker.solar { size: 6 mm2   length: 10 m }
  run Out: Tracker.dc -> Bank { size: 25 mm2   length: 2 m }
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  // Tutorial page on module strings: 49.5 V, −0.28 %/K, −5 °C, 1000 V: 53.66 V each, 18 modules at most.
  const module = (series: number): string =>
    `openCircuitVoltage: 49.5 V   voltageCoefficient: -0.28 %/K   series: ${series}`;
  const site = 'site { ambient: -5..25 degC }';

  it('agrees with the published example: 18 modules stay below 1000 V, 19 do not', async () => {
    expect(await findings(hut(site, module(18), 'maximumVoltage: 1000 V'))).toEqual([]);
    const text = hut(site, `${module(19)}   maximumPowerVoltage: 41 V`, 'maximumVoltage: 1000 V');
    // Where it is not known how low the string works in the heat, fewer modules could be too few.
    expect((await findings(hut(site, module(19), 'maximumVoltage: 1000 V')))[0]?.fixes).toEqual([]);
    const [finding] = await findings(text);
    expect(finding?.severity).toBe('error');
    expect(numberIn(finding!.numbers['voltage']!, 'V')).toBeCloseTo(19 * 53.658, 6);
    expect(lacking(finding?.told, 'at -5 degC')).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Put 18 modules in series in Array']);
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('takes the lowest temperature of the site, and the voltage at exactly what the controller survives', async () => {
    // 100 V · (1 + 0.003 · 50) = 115 V at −25 °C.
    const array = 'openCircuitVoltage: 100 V   voltageCoefficient: -0.3 %/K';
    const cold = 'site { ambient: -25..45 degC }';
    expect(await findings(hut(cold, array, 'maximumVoltage: 115 V'))).toEqual([]);
    expect(await findings(hut(cold, array, 'maximumVoltage: 114.9 V'))).toHaveLength(1);
  });

  it('warns only where the table of the code stands in for the coefficient of the module', async () => {
    // NEC Table 690.7(A), from memory: 1.14 from −6 to −10 °C.
    const cold = 'site { ambient: -10..25 degC }';
    expect(await findings(hut(cold, 'openCircuitVoltage: 40 V   series: 3', 'maximumVoltage: 136.8 V'))).toEqual([]);
    const [finding] = await findings(hut(cold, 'openCircuitVoltage: 40 V   series: 3', 'maximumVoltage: 136 V'));
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, 'from memory')).toEqual([]);
  });

  it('does not propose a string that is too short to charge in the heat', async () => {
    // Two of 60 V stand 150 V, one gives too little for 56 V hot: 50 V at most.
    const array =
      'openCircuitVoltage: 60 V   maximumPowerVoltage: 50 V   voltageCoefficient: -0.3 %/K   powerCoefficient: -0.35 %/K';
    const [finding] = await findings(
      hut('site { ambient: -25..35 degC }', `${array}   series: 2`, 'maximumVoltage: 130 V'),
    );
    expect(finding?.fixes).toEqual([]);
    expect(lacking(finding?.told, 'too few to charge in the heat')).toEqual([]);
  });

  it('asks for what lacks, and leaves arrays without a controller alone', async () => {
    expect(askedBy(await analyseText(hut('', 'series: 3', '')), ID).sort()).toEqual([
      'ambient of the site',
      'maximumVoltage of Tracker',
      'openCircuitVoltage of Array',
    ]);
    const direct = `design D {
  site { ambient: -25..35 degC }
  solar Array { power: 100 W   openCircuitVoltage: 22 V   shortCircuitCurrent: 6 A }
  battery Bank : Lfp12V100Ah
  run Line: Array -> Bank { size: 6 mm2   length: 2 m }
}
`;
    const analysis = await analyseText(direct);
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(askedBy(analysis, ID)).toEqual([]);
  });

  it('says where the number of modules is not stated, and asks for it where one module cannot have the power', async () => {
    const text = (power: string): string =>
      hut(site, 'openCircuitVoltage: 160 V   voltageCoefficient: -0.28 %/K').replace('power: 550 W', power);
    expect(lacking((await findings(text('power: 550 W')))[0]?.told, '(series 1 of Array taken; not stated)')).toEqual(
      [],
    );
    const large = await analyseText(text('power: 4.8 kW'));
    expect(findingsOf(large, ID)).toEqual([]);
    expect(askedBy(large, ID)).toEqual(['series of Array']);
    expect(askedBy(large, 'string-current')).toEqual(['parallel of Array']);
    expect(askedBy(await analyseText(text('power: 4.8 kW   series: 12')), ID)).toEqual([]);
  });
});
