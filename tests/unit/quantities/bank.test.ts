import { describe, expect, it } from 'vitest';
import { governingText } from '../../../language/src/glossary/reason-text.js';
import { derivationOf, valueOf } from '../../helpers/quantities.js';

const bank = (facts: string): string => `design D {
  battery Bank { ${facts} }
  bus Dc {}
  run Feed: Bank -> Dc { size: 2/0 AWG   length: 1 m }
}
`;

describe('a bank of units in series and parallel', () => {
  it('adds voltage in series, capacity and currents in parallel', async () => {
    // Polar camp: twelve units of 12 V 100 Ah, two in series, six strings: 24 V, 600 Ah, 14.4 kWh.
    const text = bank(
      'voltage: 12 V   capacity: 100 Ah   series: 2   parallel: 6   maximumCharge: 30 A   maximumDischarge: 50 A',
    );
    expect(await valueOf(text, 'Bank', 'bankVoltage', 'V')).toBeCloseTo(24, 9);
    expect(await valueOf(text, 'Bank', 'bankCapacity', 'Ah')).toBeCloseTo(600, 9);
    expect(await valueOf(text, 'Bank', 'energy', 'kWh')).toBeCloseTo(14.4, 9);
    expect(await valueOf(text, 'Bank', 'chargeCurrentLimit', 'A')).toBeCloseTo(180, 9);
    expect(await valueOf(text, 'Bank', 'dischargeCurrentLimit', 'A')).toBeCloseTo(300, 9);
  });

  it('has resistance in series over strings', async () => {
    expect(
      await valueOf(
        bank('voltage: 12 V   resistance: 4 mohm   series: 4   parallel: 2'),
        'Bank',
        'bankResistance',
        'mohm',
      ),
    ).toBeCloseTo(8, 9);
  });

  it('names every fact that lacks', async () => {
    expect(await valueOf(bank('series: 2'), 'Bank', 'bankVoltage', 'V')).toBe('missing voltage of Bank');
    expect(await valueOf(bank('series: 2'), 'Bank', 'energy', 'Wh')).toBe('missing capacity of Bank, voltage of Bank');
  });
});

describe('cells in series', () => {
  const cells = (facts: string): Promise<number | string> => valueOf(bank(facts), 'Bank', 'cellCount', '');

  it('are those of a unit times the units, as stated', async () => {
    expect(await cells('chemistry: lfp   voltage: 12.8 V   cells: 4   series: 4')).toBe(16);
  });

  it('follow from voltage and chemistry where only one count is near', async () => {
    expect(await cells('chemistry: lfp   voltage: 51.2 V')).toBe(16);
    expect(await cells('chemistry: lfp   voltage: 12 V')).toBe(4);
    expect(await cells('chemistry: lfp   voltage: 24 V')).toBe(8);
    expect(await cells('chemistry: agm   voltage: 6 V   series: 4')).toBe(12);
    expect(await cells('chemistry: flooded   voltage: 48 V')).toBe(24);
  });

  it('are asked for where the trade name of the voltage covers two counts', async () => {
    // 48 V is said of 15 cells (48.0 V) and of 16 cells (51.2 V): charge voltages differ by 3.65 V.
    expect(await cells('chemistry: lfp   voltage: 48 V')).toBe('missing cells of Bank');
    expect(await cells('chemistry: nmc   voltage: 48 V')).toBe('missing cells of Bank');
  });

  it('are asked for where none is near', async () => {
    expect(await cells('chemistry: nmc   voltage: 12 V')).toBe('missing cells of Bank');
    expect(await cells('voltage: 12 V')).toBe('missing chemistry of Bank');
  });
});

describe('lowest and highest voltage', () => {
  it('are those of the protection and of the data sheet, times the series count', async () => {
    const text = bank(
      'chemistry: lfp   voltage: 12.8 V   cells: 4   series: 4   protectionLow: 10 V   protectionHigh: 14.6 V   chargeLimit: 14.4 V',
    );
    expect(await valueOf(text, 'Bank', 'lowestVoltage', 'V')).toBeCloseTo(40, 9);
    expect(await valueOf(text, 'Bank', 'protectionVoltage', 'V')).toBeCloseTo(58.4, 9);
    expect(await valueOf(text, 'Bank', 'chargeVoltageLimit', 'V')).toBeCloseTo(57.6, 9);
    expect(await valueOf(text, 'Bank', 'highestVoltage', 'V')).toBeCloseTo(57.6, 9);
  });

  it('are those of the chemistry where the data sheet is silent', async () => {
    // Public charts of lithium iron phosphate cells: 2.5 V to 3.65 V.
    const text = bank('chemistry: lfp   voltage: 51.2 V');
    expect(await valueOf(text, 'Bank', 'lowestVoltage', 'V')).toBeCloseTo(40, 9);
    expect(await valueOf(text, 'Bank', 'chargeVoltageLimit', 'V')).toBeCloseTo(58.4, 9);
    expect(await valueOf(text, 'Bank', 'protectionVoltage', 'V')).toBe('missing protectionHigh of Bank');
  });

  const charged = (charger: string, cells = ''): string => `design D {
  grid Mains { voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 20 A   ${charger} }
  battery Bank { chemistry: flooded   voltage: 12 V   series: 4   capacity: 200 Ah   ${cells} }
  run In: Mains -> Rect.ac { size: 2.5 mm2   length: 5 m }
  run Out: Rect.dc -> Bank { size: 6 mm2   length: 1 m }
}
`;

  it('is the highest set point of the chargers', async () => {
    expect(await valueOf(charged('absorb: 57.6 V   float: 54 V   equalise: 62 V'), 'Bank', 'highestVoltage', 'V')).toBe(
      62,
    );
  });

  it('rises in the cold with temperature compensation', async () => {
    // 57.6 V + 45 K · 0.12 V/K (24 cells · 5 mV/K) = 63 V at −20 °C.
    const text = charged('absorb: 57.6 V   temperatureCompensation: -120 mV/K', 'cellTemperature: -20..30 degC');
    const highest = await derivationOf(text, 'Bank', 'highestVoltage');
    expect((highest.value as { value: number }).value).toBeCloseTo(63, 9);
    expect(governingText(highest)).toContain('compensation');
    // Warm cells do not raise it, and no temperature means no guess.
    expect(
      await valueOf(
        charged('absorb: 57.6 V   temperatureCompensation: -120 mV/K', 'cellTemperature: 25..30 degC'),
        'Bank',
        'highestVoltage',
        'V',
      ),
    ).toBe(57.6);
  });

  it('counts the regulator of an alternator joined to the bank', async () => {
    const text = `design D {
  alternator Engine { currentLimit: 60 A   voltage: 13.8..14.7 V }
  battery House : Agm12V100Ah
  run Feed: Engine -> House { size: 6 AWG   length: 3 m }
}
`;
    expect(await valueOf(text, 'House', 'highestVoltage', 'V')).toBeCloseTo(14.7, 9);
  });
});

describe('prospective short-circuit current', () => {
  it('is the voltage over the lowest resistance of a string, strings adding', async () => {
    // 57.6 V over 4 · 4 mΩ is 3600 A a string; two strings give 7200 A. The aged end of the range gives less and does not count.
    const text = bank(
      'chemistry: lfp   voltage: 12.8 V   cells: 4   series: 4   parallel: 2   resistance: 4..10 mohm   chargeLimit: 14.4 V',
    );
    expect(await valueOf(text, 'Bank', 'faultCurrent', 'A')).toBeCloseTo(7200, 6);
  });

  it('is the stated current of a unit times the strings; units in series do not add', async () => {
    expect(
      await valueOf(
        bank('voltage: 12 V   series: 4   parallel: 3   shortCircuitCurrent: 3 kA'),
        'Bank',
        'faultCurrent',
        'kA',
      ),
    ).toBeCloseTo(9, 9);
  });

  it('asks for one of the two facts', async () => {
    expect(await valueOf(bank('chemistry: lfp   voltage: 51.2 V'), 'Bank', 'faultCurrent', 'A')).toBe(
      'missing resistance or shortCircuitCurrent of Bank',
    );
  });
});

describe('charge current of a bank', () => {
  const sun = (controller: string, array: string): string => `design D {
  solar Array { ${array} }
  chargeController Mppt { ${controller} }
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { input: 180..264 V   currentLimit: 40 A }
  battery Bank { chemistry: lfp   voltage: 25.6 V   cells: 8   capacity: 200 Ah }
  bus Dc {}
  run Line: Array -> Mppt.solar { size: 10 AWG   length: 8 m }
  run SunFeed: Mppt.dc -> Dc { size: 6 AWG   length: 1 m }
  run Cord: Genset -> Rect.ac { size: 2.5 mm2   length: 5 m }
  run Out: Rect.dc -> Dc { size: 8 AWG   length: 1 m }
  run Feed: Bank -> Dc { size: 2 AWG   length: 1 m }
}
`;
  const modules = 'power: 400 W   shortCircuitCurrent: 13.7 A   parallel: 2';

  it('adds sun and generator where both charge at once, and names that state', async () => {
    // 800 W over 25.6 V is 31.25 A, less than the controller's 60 A; with the charger 71.25 A.
    const current = await derivationOf(sun('maximumCurrent: 60 A', modules), 'Bank', 'chargeCurrent');
    expect((current.value as { value: number }).value).toBeCloseTo(71.25, 9);
    expect(governingText(current)).toContain('Genset running');
    expect(governingText(current)).toContain('Array charging');
  });

  it('is held by the controller where the modules could give more', async () => {
    expect(await valueOf(sun('maximumCurrent: 20 A', modules), 'Bank', 'chargeCurrent', 'A')).toBeCloseTo(60, 9);
    expect(
      await valueOf(sun('maximumCurrent: 60 A   currentLimit: 10 A', modules), 'Bank', 'chargeCurrent', 'A'),
    ).toBeCloseTo(50, 9);
  });

  it('knows what the modules give where the controller is silent, and asks where both are', async () => {
    expect(await valueOf(sun('', modules), 'Bank', 'chargeCurrent', 'A')).toBeCloseTo(71.25, 9);
    expect(await valueOf(sun('', 'parallel: 2'), 'Bank', 'chargeCurrent', 'A')).toBe('missing power of Array');
  });

  it('never takes what a controller could pass for what modules give', async () => {
    const limit = 'maximumCurrent: 40 A';
    expect(await valueOf(sun(limit, 'shortCircuitCurrent: 10 A'), 'Bank', 'chargeCurrent', 'A')).toBe(
      'missing power of Array',
    );
    expect(await valueOf(sun(`${limit}   tracking: pwm`, 'power: 480 W'), 'Bank', 'chargeCurrent', 'A')).toBe(
      'missing shortCircuitCurrent of Array',
    );
    // 480 W over 25.6 V is 18.75 A, with the charger 58.75 A.
    expect(await valueOf(sun(limit, 'power: 480 W'), 'Bank', 'chargeCurrent', 'A')).toBeCloseTo(58.75, 9);
  });

  it('passes the short-circuit current of modules through a controller that only switches', async () => {
    expect(
      await valueOf(sun('tracking: pwm   maximumCurrent: 60 A', modules), 'Bank', 'chargeCurrent', 'A'),
    ).toBeCloseTo(40 + 27.4, 9);
  });

  // Trawler owners' forum: two modules of 400 W on one controller are 33 A at 24 V.
  it('reproduces two modules of 400 W on a 24 V bank', async () => {
    const text = sun('maximumCurrent: 60 A', modules).replace(
      'chemistry: lfp   voltage: 25.6 V   cells: 8',
      'chemistry: agm   voltage: 24 V',
    );
    expect(await valueOf(text, 'Bank', 'chargeCurrent', 'A')).toBeCloseTo(40 + 33.33, 2);
  });

  it('counts modules joined to the bank without a controller, and a converter from another bank', async () => {
    const direct = `design D {
  solar Array { shortCircuitCurrent: 4 A   parallel: 2 }
  battery Bank : Agm12V100Ah
  run Line: Array -> Bank { size: 10 AWG   length: 5 m }
}
`;
    // 125 % of 8 A.
    expect(await valueOf(direct, 'Bank', 'chargeCurrent', 'A')).toBeCloseTo(10, 9);
    const converter = `design D {
  battery Starter : Agm12V100Ah
  converter Booster { input: 11..15 V   output: 14.4 V   currentLimit: 30 A   efficiency: 90 % }
  battery House : Lfp12V100Ah
  run In: Starter -> Booster.in { size: 6 AWG   length: 2 m }
  run Out: Booster.out -> House { size: 6 AWG   length: 2 m }
}
`;
    expect(await valueOf(converter, 'House', 'chargeCurrent', 'A')).toBeCloseTo(30, 9);
    expect(await valueOf(converter, 'Starter', 'chargeCurrent', 'A')).toBe(0);
  });

  it('is nothing for a charger whose supply is missing', async () => {
    const text = `design D {
  charger Rect { currentLimit: 40 A }
  battery Bank : Lfp24V200Ah
  run Out: Rect.dc -> Bank { size: 8 AWG   length: 1 m }
}
`;
    expect(await valueOf(text, 'Bank', 'chargeCurrent', 'A')).toBe(0);
  });

  it('keeps two banks apart', async () => {
    const text = `design D {
  grid Mains { voltage: 230 V }
  bus Panel {}
  charger A { input: 180..264 V   currentLimit: 40 A }
  charger B { input: 180..264 V   currentLimit: 25 A }
  battery One : Lfp24V200Ah
  battery Two : Lfp48V100Ah
  run In: Mains -> Panel { size: 4 mm2   length: 5 m }
  run InA: Panel -> A.ac { size: 2.5 mm2   length: 5 m }
  run InB: Panel -> B.ac { size: 2.5 mm2   length: 5 m }
  run OutA: A.dc -> One { size: 8 AWG   length: 1 m }
  run OutB: B.dc -> Two { size: 8 AWG   length: 1 m }
}
`;
    expect(await valueOf(text, 'One', 'chargeCurrent', 'A')).toBe(40);
    expect(await valueOf(text, 'Two', 'chargeCurrent', 'A')).toBe(25);
  });
});
