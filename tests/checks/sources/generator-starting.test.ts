import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'generator-starting';

const farm = (set: string, pump: string, rest = ''): string => `design D {
  generator Genset { ${set}   voltage: 230 V   neutralBond: bonded }
  load Pump { ${pump} }
  bus Panel {}
  run Cord: Genset -> Panel
  run Line: Panel -> Pump
  ${rest}
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);
const inverterSet = 'rated: 5 kW   surge: 6 kW   waveform: inverter';

describe(ID, () => {
  it('passes a start that the surge rating just covers, and fails one above it', async () => {
    // 1.5 kW · 4 = 6 kW; · 4.1 = 6.15 kW.
    expect(await findings(farm(inverterSet, 'power: 1.5 kW   startFactor: 4'))).toEqual([]);
    const [finding] = await findings(farm(inverterSet, 'power: 1.5 kW   startFactor: 4.1'));
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, '6 kW')).toEqual([]);
    expect(lacking(finding?.told, '6.15 kW')).toEqual([]);
    expect(lacking(finding?.told, 'a soft starter that holds Pump to 4 times')).toEqual([]);
    expect(numberIn(finding!.numbers['demand']!, 'W')).toBeCloseTo(6150, 6);
  });

  it('counts what else runs, and one piece of several', async () => {
    const rest = 'load Oven { power: 2 kW }\n  run L: Panel -> Oven';
    // 2 kW + 1 kW · 4 = 6 kW.
    expect(await findings(farm(inverterSet, 'power: 1 kW   startFactor: 4', rest))).toEqual([]);
    expect(await findings(farm(inverterSet, 'power: 1 kW   startFactor: 4.1', rest))).toHaveLength(1);
    // Two pumps of 0.5 kW: 2 kW + 0.5 kW + 0.5 kW · 7 = 6 kW.
    expect(await findings(farm(inverterSet, 'power: 500 W   count: 2   startFactor: 7', rest))).toEqual([]);
    expect(await findings(farm(inverterSet, 'power: 500 W   count: 2   startFactor: 7.1', rest))).toHaveLength(1);
  });

  it('takes the surge rating as the site leaves it', async () => {
    // 17.5 % less at 1525 m: 4.95 kW for a start.
    const site = 'site { altitude: 1525 m   ambient: 20 degC }';
    expect(await findings(farm(inverterSet, 'power: 1.5 kW   startFactor: 3.3', site))).toEqual([]);
    const [finding] = await findings(farm(inverterSet, 'power: 1.5 kW   startFactor: 3.4', site));
    expect(lacking(finding?.told, '4.95 kW')).toEqual([]);
    expect(lacking(finding?.told, 'at this site')).toEqual([]);
  });

  it('turns a charger down to leave room for the start', async () => {
    const rest = `charger Rect { input: 180..264 V   currentLimit: 50 A   absorb: 56 V   efficiency: 100 %   powerFactor: 1 }
  battery Bank : Lfp48V280Ah { cellTemperature: 15..30 degC }
  run In: Panel -> Rect.ac
  run Out: Rect.dc -> Bank`;
    const text = farm(inverterSet, 'power: 1 kW   startFactor: 4', rest);
    // 2.8 kW + 4 kW = 6.8 kW: 0.8 kW too much, (2800 − 800) W / 56 V = 35.7 A.
    const [finding] = await findings(text);
    expect(lacking(finding?.told, '6.8 kW')).toEqual([]);
    expect(finding?.fixes[0]?.title).toBe('Limit Rect to 35 A, which leaves Genset room for the start');
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('holds the dip of a conventional alternator against 20 %', async () => {
    // S·X/(S_r + S·X) with X′d = 0.25 on 7.5 kVA: 7.5 kVA at standstill dip by exactly 20 % (hand calculation).
    const set = 'rated: 7.5 kW   surge: 20 kW   waveform: conventional';
    expect(await findings(farm(set, 'power: 750 W   startFactor: 10'))).toEqual([]);
    const [finding] = await findings(farm(set, 'power: 999 W   startFactor: 10'));
    // 1 hp of code letter L: 9.99 kVA dip by 25 %.
    expect(lacking(finding?.told, '25 %')).toEqual([]);
    expect(lacking(finding?.told, '0.25, usual; not stated')).toEqual([]);
    expect(lacking(finding?.told, 'holds the start to 7.5 kVA')).toEqual([]);
    expect(lacking(finding?.told, 'a set of 10 kVA')).toEqual([]);
    // With a stiffer alternator, or where the loads take more, it passes: 9.99 · 0.18/(7.5 + 9.99 · 0.18) = 19.3 %.
    expect(await findings(farm(`${set}   reactance: 0.18`, 'power: 999 W   startFactor: 10'))).toEqual([]);
    expect(await findings(farm(set, 'power: 999 W   startFactor: 10', 'dipLimit: 25 %'))).toEqual([]);
    expect(await findings(farm(set, 'power: 999 W   startFactor: 10', 'dipLimit: 24.9 %'))).toHaveLength(1);
  });

  it('exempts sets with an output stage from the dip, and asks which kind a set is where it matters', async () => {
    const pump = 'power: 999 W   startFactor: 10';
    expect(await findings(farm('rated: 7.5 kW   surge: 20 kW   waveform: inverter', pump))).toEqual([]);
    expect(askedBy(await analyseText(farm('rated: 7.5 kW   surge: 20 kW', pump)), ID)).toEqual(['waveform of Genset']);
    expect(
      askedBy(await analyseText(farm('rated: 7.5 kW   surge: 20 kW', 'power: 700 W   startFactor: 10')), ID),
    ).toEqual([]);
  });

  it('asks for the surge rating only where the start needs it', async () => {
    const set = 'rated: 5 kW   waveform: inverter';
    expect(askedBy(await analyseText(farm(set, 'power: 1 kW   startFactor: 5')), ID)).toEqual([]);
    expect(askedBy(await analyseText(farm(set, 'power: 1 kW   startFactor: 5.1')), ID)).toEqual(['surge of Genset']);
    expect(askedBy(await analyseText(farm(set, 'startFactor: 5')), ID)).toEqual(['power of Pump']);
  });

  it('leaves a set that is overloaded without any start to generator-overload', async () => {
    const analysis = await analyseText(farm(inverterSet, 'power: 5.5 kW   startFactor: 4'));
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(findingsOf(analysis, 'generator-overload')).toHaveLength(1);
  });

  it('gives one leg of a split-phase set half of the surge, with what else stands on that leg', async () => {
    const text = (factor: string, legs: string, kind = 'inverter'): string => `design D {
  generator Genset { rated: 6 kW   surge: 8 kW   voltage: 120/240 V   waveform: ${kind}   neutralBond: bonded }
  bus Panel {}
  load Pump { power: 600 W   voltage: 120 V   legs: L1   startFactor: ${factor} }
  load Heater { power: 1 kW   voltage: 120 V   legs: ${legs} }
  run Cord: Genset -> Panel
  run Lines: Panel -> Pump, Heater
}
`;
    // 4 kW on a leg: 1 kW and 600 W · 5, or 600 W · 6.6 alone (3.96 kW).
    expect(await findings(text('5', 'L1'))).toEqual([]);
    const [finding] = await findings(text('5.1', 'L1'));
    expect(lacking(finding?.told, '4.06 kW on L1')).toEqual([]);
    expect(lacking(finding?.told, '4 kW for a few seconds on one leg')).toEqual([]);
    expect(await findings(text('6.6', 'L2'))).toEqual([]);
    expect(await findings(text('6.7', 'L2'))).toHaveLength(1);
    // A heater across both legs takes half of its power from each.
    expect(await findings(text('5.8', 'L1, L2').replace('1 kW   voltage: 120 V', '1 kW   voltage: 240 V'))).toEqual([]);
    // Half of the alternator, 3 kVA, holds the leg: 3.06 kVA dip by 20.3 %.
    const [dip] = await findings(text('5.1', 'L2', 'conventional'));
    expect(lacking(dip?.told, 'leg L1 of Genset (3 kVA, half of the generator')).toEqual([]);
    expect(lacking(dip?.told, '20.3 %')).toEqual([]);
    expect(await findings(text('5', 'L2', 'conventional'))).toEqual([]);
  });

  it('does not start motors that the grid carries, and names the state in which the set does', async () => {
    const text = (interlock: string): string => `design D {
  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  generator Genset { ${inverterSet}   voltage: 230 V   neutralBond: bonded }
  transfer Ats { switches: phases-and-neutral   rating: 63 A ${interlock} }
  load Pump { power: 1.5 kW   startFactor: 5 }
  run A: Mains -> Ats.normal
  run B: Genset -> Ats.standby
  run C: Ats.out -> Pump
}
`;
    const [finding] = await findings(text(''));
    expect(lacking(finding?.told, 'with Genset running')).toEqual([]);
    expect(finding?.subject).toBe('D.Genset');
  });
});
