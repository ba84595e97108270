import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { afterFix, analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'generator-overload';

/** A set with one charger of 93 % and 0.98 at 56 V: 100 A are 5600 W out, 6021.5 W and 6144.4 VA in. */
const camp = (set: string, rest = '', limit = '100 A'): string => `design D {
  generator Genset { ${set}   neutralBond: bonded }
  charger Rect { input: 180..264 V   currentLimit: ${limit}   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah { cellTemperature: 15..30 degC }
  bus Panel {}
  run Cord: Genset -> Panel
  run In: Panel -> Rect.ac
  run Feed: Rect.dc -> Bank
  ${rest}
}
`;

describe(ID, () => {
  it('passes a set that gives exactly what is asked, and fails one that gives a watt less', async () => {
    // 6021.505 W at 0.98 are 6144.39 VA.
    expect(findingsOf(await analyseText(camp('rated: 6022 W   apparent: 6145 VA   voltage: 230 V')), ID)).toEqual([]);
    const [finding] = findingsOf(await analyseText(camp('rated: 6021 W   apparent: 6145 VA   voltage: 230 V')), ID);
    expect(lacking(finding?.told, 'active power')).toEqual([]);
    expect(numberIn(finding!.numbers['demand']!, 'W')).toBeCloseTo(6021.505, 2);
  });

  it('holds the charger against apparent power where that is clearly the tighter limit', async () => {
    // Class of uncorrected chargers: 2 · 60 A · 54.4 V / 0.87 / 0.65 = 11.5 kVA (hand calculation) on a 9 kVA alternator.
    const text = `design D {
  generator Genset { rated: 9 kW   voltage: 120/240 V   neutralBond: bonded }
  charger Rect { input: 200..264 V   currentLimit: 120 A   absorb: 54.4 V   efficiency: 87 %   powerFactor: 0.65 }
  battery Bank : Lfp48V280Ah { cellTemperature: 15..30 degC }
  run Cord: Genset -> Rect.ac
  run Feed: Rect.dc -> Bank
}
`;
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(lacking(finding?.told, '11.5 kVA')).toEqual([]);
    expect(lacking(finding?.told, '9 kVA')).toEqual([]);
    expect(finding?.fixes).toHaveLength(1);
    // 9 kVA · 0.65 · 0.87 / 54.4 V = 93.56 A.
    expect(finding?.fixes[0]?.title).toBe('Limit Rect to 93 A');
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('takes the site into account and says what it took for granted', async () => {
    // 7 kW · (1 − 0.035 · 1525/305) = 5.775 kW.
    const [high] = findingsOf(
      await analyseText(camp('rated: 7 kW   voltage: 230 V', 'site { altitude: 1525 m   ambient: 10..25 degC }')),
      ID,
    );
    expect(lacking(high?.told, '5.78 kW')).toEqual([]);
    expect(lacking(high?.told, '6.02 kW')).toEqual([]);
    expect(lacking(high?.told, 'altitude factor')).toEqual([]);
    expect(high?.told).not.toContain('assumed');
    const [flat] = findingsOf(await analyseText(camp('rated: 5 kW   voltage: 230 V')), ID);
    expect(lacking(flat?.told, 'sea level and 25 degC assumed; not stated')).toEqual([]);
    // The set's own loss by temperature: 7 kW · (1 − 0.08 · 2) = 5.88 kW at 36.2 °C.
    const hot = camp(
      'rated: 7 kW   voltage: 230 V   temperatureDerate: 8 %',
      'site { altitude: 0 m   ambient: 36.2 degC }',
    );
    expect(lacking(findingsOf(await analyseText(hot), ID)[0]?.told, '5.88 kW')).toEqual([]);
  });

  it('adds loads to chargers, names both, and turns the charger down by what is too much', async () => {
    const text = camp('rated: 7 kW   voltage: 230 V', 'load Kettle { power: 2 kW }\n  run Line: Panel -> Kettle');
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(lacking(finding?.told, 'Rect 6.02 kW, Kettle 2 kW')).toEqual([]);
    // By apparent power, the tighter one: (7000 − 2000) VA · 0.98 · 0.93 / 56 V = 81.4 A; by power (7000 − 2000) W · 0.93 / 56 V = 83.0 A.
    expect(finding?.fixes[0]?.title).toBe('Limit Rect to 81 A');
    expect(await afterFix(text, ID, finding!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('adds only loads that may run at the same time of the day, and says when', async () => {
    const loads = (hours: string): string =>
      camp(
        'rated: 9 kW   voltage: 230 V',
        `load Oven { power: 2 kW   profile: { 18:00..19:00: 100 % } }
  load Kettle { power: 1.5 kW   profile: { ${hours}: 100 % } }
  run Lines: Panel -> Oven, Kettle`,
      );
    // 6.02 kW of the charger and 2 kW; with the kettle 9.52 kW.
    expect(findingsOf(await analyseText(loads('19:00..20:00')), ID)).toEqual([]);
    const [finding] = findingsOf(await analyseText(loads('18:30..20:00')), ID);
    expect(lacking(finding?.told, '9.52 kW')).toEqual([]);
    expect(lacking(finding?.told, 'at 18:30')).toEqual([]);
  });

  it('does not propose a limit that would leave the bank nothing', async () => {
    // The kettle takes all of it.
    const text = camp('rated: 2 kW   voltage: 230 V', 'load Kettle { power: 2 kW }\n  run Line: Panel -> Kettle');
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(finding?.fixes).toEqual([]);
    expect(lacking(finding?.told, 'Run fewer loads at once, or choose a larger generator.')).toEqual([]);
  });

  it('does not propose a limit below what the loads of the bus take meanwhile', async () => {
    const text = camp(
      'rated: 3 kW   voltage: 230 V',
      `inverter Inv { rated: 5 kW   voltage: 230 V   efficiency: 90 %   dcVoltage: 42..60 V   neutralBond: bonded }
  load House { power: 2.4 kW   profile: always }
  run InvFeed: Bank -> Inv.dc
  run Line: Inv.ac -> House`,
    );
    // 3 kW give 48 A; the house takes 2400 W / 0.9 / 51.2 V = 52 A.
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(lacking(finding?.told, '3 kW')).toEqual([]);
    expect(finding?.fixes).toEqual([]);
  });

  it('turns two chargers down together where one alone is not enough', async () => {
    const text = `design D {
  generator Genset { rated: 3 kW   voltage: 230 V   neutralBond: bonded }
  charger A { input: 180..264 V   currentLimit: 50 A   absorb: 56 V   efficiency: 100 %   powerFactor: 1 }
  charger B { input: 180..264 V   currentLimit: 50 A   absorb: 56 V   efficiency: 100 %   powerFactor: 1 }
  battery Bank : Lfp48V280Ah { cellTemperature: 15..30 degC }
  bus Panel {}
  bus Dc {}
  run Cord: Genset -> Panel
  run InA: Panel -> A.ac
  run InB: Panel -> B.ac
  run OutA: A.dc -> Dc
  run OutB: B.dc -> Dc
  run Feed: Bank -> Dc
}
`;
    const [one] = findingsOf(await analyseText(text), ID);
    // 5600 W asked, 3000 W given: A alone at (2800 − 2600) / 56 = 3.6 A would do.
    expect(one?.fixes.map(({ title }) => title)).toEqual(['Limit A to 3 A', 'Limit B to 3 A']);
    expect(one?.fixes.filter(({ preferred }) => preferred)).toHaveLength(1);
    const smaller = text.replace('rated: 3 kW', 'rated: 2 kW');
    const [both] = findingsOf(await analyseText(smaller), ID);
    // 2000 W / 2 / 56 V = 17.9 A each.
    expect(both?.fixes.map(({ title }) => title)).toEqual(['Limit A to 17 A and B to 17 A']);
    expect(await afterFix(smaller, ID, both!.fixes[0]!)).toEqual({ left: [], fresh: [] });
  });

  it('finds a leg that is overloaded though the set as a whole is not', async () => {
    const text = (second: string): string => `design D {
  generator Genset { rated: 6 kW   voltage: 120/240 V   neutralBond: bonded }
  bus Panel {}
  load Heater { power: 2.4 kW   voltage: 120 V   legs: L1 }
  load Kettle { power: 1.8 kW   voltage: 120 V   legs: ${second} }
  run Cord: Genset -> Panel
  run Lines: Panel -> Heater, Kettle
}
`;
    // 4.2 kW of 6 kW; on L1 20 A + 15 A = 35 A of 6000/240 = 25 A.
    const [finding] = findingsOf(await analyseText(text('L1')), ID);
    expect(lacking(finding?.told, '25 A on one leg')).toEqual([]);
    expect(lacking(finding?.told, '35 A')).toEqual([]);
    expect(lacking(finding?.told, 'leg L1')).toEqual([]);
    expect(findingsOf(await analyseText(text('L2')), ID)).toEqual([]);
  });

  it('takes 0.8 as power factor of a three-phase set that states none', async () => {
    const text = (power: string, factor: string): string => `design D {
  generator Genset { rated: 16 kW   voltage: three 400 V   neutralBond: bonded }
  load Motor { power: ${power}   powerFactor: ${factor}   voltage: three 400 V }
  run Cord: Genset -> Motor
}
`;
    // 16 kW at 0.8 are just the 20 kVA of the set.
    expect(findingsOf(await analyseText(text('16 kW', '0.8')), ID)).toEqual([]);
    const [finding] = findingsOf(await analyseText(text('15.9 kW', '0.7')), ID);
    expect(lacking(finding?.told, '20 kVA of apparent power')).toEqual([]);
    expect(lacking(finding?.told, '22.7 kVA')).toEqual([]);
  });

  it('names the state that governs', async () => {
    // With the grid there the gear takes the grid; with the set alone it is the set.
    const text = `design D {
  grid Mains { voltage: 230 V   rating: 63 A   neutralBond: bonded }
  generator Genset { rated: 3 kW   voltage: 230 V   neutralBond: bonded }
  transfer Ats { switches: phases-and-neutral   rating: 63 A }
  load House { power: 5 kW }
  run A: Mains -> Ats.normal
  run B: Genset -> Ats.standby
  run C: Ats.out -> House
}
`;
    const [finding] = findingsOf(await analyseText(text), ID);
    expect(lacking(finding?.told, 'with Genset running')).toEqual([]);
    expect(finding?.subject).toBe('D.Genset');
  });

  it('counts a pass-through inverter with its loads and its own charger, within its input limit', async () => {
    const text = (limit: string): string => `design D {
  generator Genset { rated: 2 kW   voltage: 120 V   neutralBond: bonded }
  inverter Inv : InverterCharger12V3000 { currentLimit: 100 A   absorb: 14.4 V   ${limit}   neutralBond: switched }
  battery Bank : Lfp12V200Ah { cellTemperature: 15..30 degC }
  load Fridge { power: 600 W }
  run Cord: Genset -> Inv.input
  run Feed: Bank -> Inv.dc
  run Line: Inv.ac -> Fridge
}
`;
    // 1440 W / 0.88 = 1636 W and 600 W: 2236 W. At 15 A the limit bounds both together: 1800 VA.
    const [finding] = findingsOf(await analyseText(text('')), ID);
    expect(lacking(finding?.told, '2.2')).toEqual([]);
    expect(findingsOf(await analyseText(text('inputLimit: 15 A')), ID)).toEqual([]);
  });

  it('asks for every fact that lacks, in one go', async () => {
    const text = `design D {
  generator Genset {}
  charger Rect { input: 180..264 V   currentLimit: 100 A   absorb: 56 V }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac
  run Feed: Rect.dc -> Bank
}
`;
    const analysis = await analyseText(text);
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(askedBy(analysis, ID).sort()).toEqual([
      'efficiency of Rect',
      'powerFactor of Rect',
      'rated of Genset',
      'voltage of Genset',
    ]);
  });

  it('tells an overload in watts though the power factor is not known', async () => {
    const text = camp('rated: 5 kW   voltage: 230 V').replace('powerFactor: 0.98', '');
    const analysis = await analyseText(text);
    expect(findingsOf(analysis, ID)).toHaveLength(1);
  });

  it('is silenced by a waiver with a reason', async () => {
    const text = camp(
      'rated: 5 kW   voltage: 230 V',
      'accept generator-overload on Genset because "run by hand, one thing at a time"',
    );
    const analysis = await analyseText(text);
    expect(findingsOf(analysis, ID)).toEqual([]);
    expect(analysis.findings.filter(({ check, accepted }) => check === ID && accepted)).toHaveLength(1);
    expect(analysis.findings.filter(({ check }) => check === 'unused-accept')).toEqual([]);
  });
});
