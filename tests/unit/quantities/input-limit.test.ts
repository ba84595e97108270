import { describe, expect, it } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { analyseText, applyFix, findingsOf } from '../../helpers/analyse.js';
import { derivationOf, valueOf } from '../../helpers/quantities.js';
import { van } from '../../helpers/supplies.js';

describe('the limit to set while a supply feeds', () => {
  // NEC 210.20(A) and 210.21(B) (published): a 15 A receptacle carries 12 A continuously, a 20 A one 16 A, a 30 A one 24 A.
  it('is the continuous share of plug, breaker and conductors, less what else they carry', async () => {
    const limit = await derivationOf(van(), 'Rect', 'inputLimitToSet');
    const amperes = Object.fromEntries(
      Object.entries(limit.parts).map(([name, part]) => [name, Number(numberIn(part, 'A').toFixed(6))]),
    );
    // The heater takes 600 W / 120 V = 5 A beside the charger.
    expect(amperes).toEqual({ Post: 19, Wall: 7, Genset: 15, Truck: 11 });
    expect(numberIn(limit, 'A')).toBeCloseTo(7, 6);
  });

  it('is bounded by the power of a set', async () => {
    // 1.5 kVA at 120 V are 12.5 A, of which the heater takes 5 A; at sea level and 25 °C a set gives its rating.
    const text = van().replace('rated: 3 kW   apparent: 3 kVA', 'rated: 1.5 kW   apparent: 1.5 kVA');
    const { parts } = await derivationOf(text, 'Rect', 'inputLimitToSet');
    // Active power: 1.5 kW at the power factor of the charger, 0.97, are 12.9 A; apparent power holds it to less.
    expect(numberIn(parts['Genset']!, 'A')).toBeCloseTo(12.5 - 5, 6);
  });

  it('is the whole rating of plugs and devices under iec', async () => {
    const text = van()
      .replace('basis: nec 2023', 'basis: iec')
      .replace(/size: 10 AWG {3}type: (SOOW|THWN-2)/g, 'size: 6 mm2   type: H07RN-F   method: E')
      .replace(/conductors: 2/g, 'circuits: 1');
    const { parts } = await derivationOf(text, 'Rect', 'inputLimitToSet');
    // 15 A and 20 A of the receptacles, less the heater's 5 A; 80 % is a rule of the NEC.
    expect(numberIn(parts['Wall']!, 'A')).toBeCloseTo(10, 6);
    expect(numberIn(parts['Truck']!, 'A')).toBeCloseTo(15, 6);
  });

  it('is never below zero, and asks for what lacks', async () => {
    const { parts } = await derivationOf(van().replace('power: 600 W', 'power: 2 kW'), 'Rect', 'inputLimitToSet');
    expect(numberIn(parts['Wall']!, 'A')).toBe(0);
    const unknown = van().replace('power: 600 W   voltage', 'voltage');
    expect(await valueOf(unknown, 'Rect', 'inputLimitToSet', 'A')).toContain('missing power of Heater');
  });
});

describe('the limit that is set for a supply', () => {
  it('goes before the one for all, for the charger, its cord and its source', async () => {
    const set = (limits: string) => van({ charger: `currentLimit: 70 A   ${limits}` });
    const currents = async (text: string) => [
      await valueOf(text, 'PostCord', 'current', 'A'),
      await valueOf(text, 'WallCord', 'current', 'A'),
      await valueOf(text, 'Wall', 'legDemand', 'A'),
    ];
    expect(await currents(set('inputLimit: 8 A   inputLimitFrom: { Wall: 4 A }'))).toEqual([13, 9, 9]);
    expect(await currents(set('inputLimit: 8 A'))).toEqual([13, 13, 13]);
  });

  it('is proposed for the supply that is too weak alone, so that the others keep theirs', async () => {
    const text = van({ charger: 'currentLimit: 60 A   inputLimitFrom: { Truck: 9 A }' });
    const found = findingsOf(await analyseText(text), 'plug-continuous');
    expect(found.map(({ subject }) => subject)).toEqual(['Van.WallCord']);
    const [fix] = found[0]!.fixes;
    expect(fix?.title).toBe('Limit the input of Rect to 7 A when fed from Wall');
    const mended = applyFix(text, fix!);
    expect(mended).toContain('inputLimitFrom: { Truck: 9 A, Wall: 7 A }');
    expect(findingsOf(await analyseText(mended), 'plug-continuous')).toEqual([]);
  });

  it('speaks of supplies of the design only, each once', async () => {
    const faults = async (limits: string): Promise<string[]> =>
      (await analyseText(van({ charger: `currentLimit: 30 A   inputLimitFrom: ${limits}` }))).findings
        .filter(({ check }) => /unknown-name|wrong-type|value-out-of-range|wrong-dimension/.test(check))
        .map(({ check }) => check);
    expect(await faults('{ Pots: 8 A }')).toEqual(['unknown-name']);
    expect(await faults('{ Heater: 8 A }')).toEqual(['wrong-type']);
    expect(await faults('{ Post: 8 A, Post: 9 A }')).toEqual(['value-out-of-range']);
    expect(await faults('{ Post: 8 V }')).toEqual(['wrong-dimension']);
    expect(await faults('8 A')).toEqual(['wrong-type']);
    expect(await faults('{ Post: 8 A, Wall: assumed 4 A }')).toEqual([]);
  });
});
