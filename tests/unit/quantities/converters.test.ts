import { describe, expect, it } from 'vitest';
import { governingText } from '../../../language/src/glossary/reason-text.js';
import { derivationOf, valueOf } from '../../helpers/quantities.js';

const charger = (facts: string, supply = 'voltage: 120 V', charger_ = ''): string => `design D {
  grid Shore { ${supply}   rating: 30 A }
  charger Rect { ${facts} }
  battery Bank { chemistry: lfp   voltage: 12.8 V   cells: 4   capacity: 400 Ah   ${charger_} }
  run Cord: Shore -> Rect.ac { size: 10 AWG   length: 8 m }
  run Feed: Rect.dc -> Bank { size: 4/0 AWG   length: 1 m }
}
`;

describe('input of a charger', () => {
  // RV electricity column: 240 A · 14.4 V / 0.88 / 120 V = 32.7 A.
  it('reproduces the published 32.7 A of a 240 A charger at nominal voltage', async () => {
    const text = charger(
      'input: 95..135 V   currentLimit: 240 A   absorb: 14.4 V   efficiency: 88 %   powerFactor: 1',
      'voltage: 120 V   tolerance: 0 %',
    );
    expect(await valueOf(text, 'Rect', 'inputCurrent', 'A')).toBeCloseTo(32.73, 2);
    expect(await valueOf(text, 'Rect', 'outputPower', 'W')).toBeCloseTo(3456, 9);
    expect(await valueOf(text, 'Rect', 'inputPower', 'W')).toBeCloseTo(3927.3, 1);
  });

  const usual = 'currentLimit: 100 A   absorb: 14.4 V   efficiency: 90 %   powerFactor: 0.8';

  it('is taken at the lowest voltage of the supply', async () => {
    // 1440 W / 0.9 / 0.8 = 2000 VA at 120 V − 5 % = 114 V.
    const current = await derivationOf(charger(`input: 95..135 V   ${usual}`), 'Rect', 'inputCurrent');
    expect((current.value as { value: number }).value).toBeCloseTo(2000 / 114, 9);
  });

  it('is taken no lower than the window in which the charger works', async () => {
    // The supply may fall to 102 V, the charger drops out below 110 V.
    const text = charger(`input: 110..135 V   ${usual}`, 'voltage: 120 V   tolerance: 15 %');
    expect(await valueOf(text, 'Rect', 'inputCurrent', 'A')).toBeCloseTo(2000 / 110, 9);
  });

  it('halves across both legs of a split-phase supply', async () => {
    const text = charger(`input: 200..264 V   ${usual}`, 'voltage: 120/240 V   tolerance: 0 %');
    expect(await valueOf(text, 'Rect', 'inputCurrent', 'A')).toBeCloseTo(2000 / 240, 9);
  });

  it('stands on one leg where its legs say so', async () => {
    const text = charger(`input: 90..264 V   legs: L2   ${usual}`, 'voltage: 120/240 V   tolerance: 0 %');
    const current = await derivationOf(text, 'Rect', 'inputCurrent');
    expect((current.value as { value: number }).value).toBeCloseTo(2000 / 120, 9);
    expect(current.notes.join()).toContain('L2');
  });

  it('divides by √3 on three phases', async () => {
    const text = charger(`phases: three   ${usual}`, 'voltage: three 400 V   tolerance: 0 %');
    expect(await valueOf(text, 'Rect', 'inputCurrent', 'A')).toBeCloseTo(2000 / (Math.sqrt(3) * 400), 9);
  });

  it('is bounded by an input limit and by the highest input current of the data sheet', async () => {
    const limited = await derivationOf(
      charger(`input: 95..135 V   inputLimit: 12 A   ${usual}`),
      'Rect',
      'inputCurrent',
    );
    expect(limited.value).toMatchObject({ value: 12 });
    expect(governingText(limited)).toBe('its input limit');
    const sheet = charger(`input: 95..135 V   maximumInputCurrent: 16 A   ${usual}`);
    expect(await valueOf(sheet, 'Rect', 'inputCurrent', 'A')).toBe(16);
    const both = charger(`input: 95..135 V   maximumInputCurrent: 16 A   inputLimit: 18 A   ${usual}`);
    expect(await valueOf(both, 'Rect', 'inputCurrent', 'A')).toBe(16);
  });

  it('takes the low end of an efficiency and the highest set point', async () => {
    const text = charger(
      'input: 95..135 V   currentLimit: 100 A   absorb: 14.2 V   float: 13.6 V   equalise: 15 V   efficiency: 88 %   powerFactor: 1',
      'voltage: 120 V   tolerance: 0 %',
    );
    expect(await valueOf(text, 'Rect', 'inputPower', 'W')).toBeCloseTo(1500 / 0.88, 6);
  });

  it('gives no more than its power limit, whatever the current limit says', async () => {
    const text = charger(`input: 95..135 V   maximumPower: 720 W   ${usual}`);
    expect(await valueOf(text, 'Rect', 'outputPower', 'W')).toBe(720);
    expect(await valueOf(text, 'Rect', 'inputApparentPower', 'VA')).toBeCloseTo(1000, 9);
  });

  it('names each fact that lacks', async () => {
    expect(
      await valueOf(charger('currentLimit: 100 A   absorb: 14.4 V   input: 95..135 V'), 'Rect', 'inputCurrent', 'A'),
    ).toBe('missing efficiency of Rect, powerFactor of Rect');
    expect(
      await valueOf(charger('efficiency: 90 %   powerFactor: 1   absorb: 14.4 V'), 'Rect', 'inputCurrent', 'A'),
    ).toBe('missing currentLimit or maximumCurrent of Rect');
    expect(await valueOf(charger(usual, 'voltage: 120/240 V'), 'Rect', 'inputCurrent', 'A')).toBe(
      'missing input or legs of Rect',
    );
    expect(await valueOf(charger(usual, ''), 'Rect', 'inputCurrent', 'A')).toBe('missing voltage of Shore');
  });
});

describe('output current of a charging device', () => {
  it('is its limit, else the most it can give, and never more than that', async () => {
    expect(await valueOf(charger('currentLimit: 40 A   maximumCurrent: 100 A'), 'Rect', 'outputCurrent', 'A')).toBe(40);
    expect(await valueOf(charger('currentLimit: 140 A   maximumCurrent: 100 A'), 'Rect', 'outputCurrent', 'A')).toBe(
      100,
    );
    const most = await derivationOf(charger('maximumCurrent: 100 A'), 'Rect', 'outputCurrent');
    expect(most.value).toMatchObject({ value: 100 });
    expect(most.notes.join()).toContain('no limit is set');
  });
});

describe('current of an inverter from its bank', () => {
  const inverter = (facts: string): string => `design D {
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   protectionLow: 40 V }
  inverter Inv { ${facts} }
  run Feed: Bank -> Inv.dc { size: 2/0 AWG   length: 1 m }
}
`;

  it('is P/(η·Umin), at the cut-off, else the low end of its window, else where the bank opens', async () => {
    const rated = 'rated: 5 kW   efficiency: 92 %';
    expect(
      await valueOf(inverter(`${rated}   cutOff: 44.8 V   dcVoltage: 42..60 V`), 'Inv', 'dcCurrent', 'A'),
    ).toBeCloseTo(5000 / (0.92 * 44.8), 6);
    expect(await valueOf(inverter(`${rated}   dcVoltage: 42..60 V`), 'Inv', 'dcCurrent', 'A')).toBeCloseTo(
      5000 / (0.92 * 42),
      6,
    );
    // Before the cable where the bank opens: NEC Chapter 9 Table 8, 2/0 AWG stranded copper, 0.0967 ohm per 1000 ft at 75 °C, 1 m and back.
    const watts = 5000 / 0.92;
    const ohms = (2 * 0.0967) / 304.8;
    const behind = (40 - Math.sqrt(40 * 40 - 4 * ohms * watts)) / (2 * ohms);
    expect(await valueOf(inverter(rated), 'Inv', 'dcCurrent', 'A')).toBeCloseTo(behind, 6);
    const unsized = inverter(rated).replace(/ \{ size: 2\/0 AWG.*\}/, '');
    expect(await valueOf(unsized, 'Inv', 'dcCurrent', 'A')).toBeCloseTo(5000 / (0.92 * 40), 6);
  });

  it('is worked out for surge power in the same way', async () => {
    expect(
      await valueOf(
        inverter('rated: 5 kW   surge: 10 kW   efficiency: 92 %   cutOff: 44.8 V'),
        'Inv',
        'surgeCurrent',
        'A',
      ),
    ).toBeCloseTo(10000 / (0.92 * 44.8), 6);
    expect(await valueOf(inverter('rated: 5 kW   efficiency: 92 %   cutOff: 44.8 V'), 'Inv', 'surgeCurrent', 'A')).toBe(
      'missing surge of Inv',
    );
  });
});

describe('loads', () => {
  const load = (facts: string): string => `design D {
  grid Mains { voltage: 230 V }
  load Thing { ${facts} }
  run Line: Mains -> Thing { size: 2.5 mm2   length: 5 m }
}
`;

  it('add up by count, at the high end of their range', async () => {
    expect(await valueOf(load('power: 10..15 W   count: 3'), 'Thing', 'totalPower', 'W')).toBeCloseTo(45, 9);
  });

  // Load list of a rural clinic (humanitarian engineering question and answer): 65 W for 6 h, a fridge of 1000 W a third of the time.
  it('use energy by profile and duty', async () => {
    expect(
      await valueOf(load('power: 65 W   profile: { 08:00..14:00: 100 % }'), 'Thing', 'dailyEnergy', 'Wh'),
    ).toBeCloseTo(390, 6);
    expect(await valueOf(load('power: 1000 W   duty: 33.333333 %'), 'Thing', 'dailyEnergy', 'Wh')).toBeCloseTo(8000, 3);
    expect(
      await valueOf(load('power: 100 W   profile: { 22:00..02:00: 100 % }   duty: 50 %'), 'Thing', 'dailyEnergy', 'Wh'),
    ).toBeCloseTo(200, 6);
    expect(await valueOf(load('power: 100 W'), 'Thing', 'dailyEnergy', 'Wh')).toBe('missing profile or duty of Thing');
  });
});
