import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { governingText } from '../../../language/src/glossary/reason-text.js';
import { burnAt } from '../../../language/src/calculate/sources/index.js';
import { amount, callFunction, findFunction, stated } from '../../../language/src/calculate/index.js';
import { displayValue } from '../../../language/src/derivation/index.js';
import { quantity, range } from '../../../language/src/quantity/index.js';
import { call, derivationOf, numberOf, of } from '../../reference/energy/call.js';

const watts = fc.double({ min: 1, max: 5e4, noNaN: true });
const share = fc.double({ min: 0.05, max: 1, noNaN: true });
const volts = fc.double({ min: 6, max: 480, noNaN: true });

describe('converters', () => {
  test('input power times efficiency is the output again', () => {
    fc.assert(
      fc.property(watts, share, (output, efficiency) => {
        const drawn = numberOf(call('inputPower', { output: of(output, 'W'), efficiency: of(efficiency) }), 'W');
        expect(drawn * efficiency).toBeCloseTo(output, 6);
      }),
    );
  });

  test('half the power factor doubles the current and leaves the power as it is', () => {
    fc.assert(
      fc.property(watts, volts, share, (output, voltage, efficiency) => {
        const at = (powerFactor: number) =>
          call('inputCurrent', {
            output: of(output, 'W'),
            voltage: of(voltage, 'V'),
            efficiency: of(efficiency),
            powerFactor: of(powerFactor),
          });
        expect(numberOf(at(0.45), 'A') / numberOf(at(0.9), 'A')).toBeCloseTo(2, 9);
        expect(numberOf(at(0.45), 'W', 'power')).toBeCloseTo(numberOf(at(0.9), 'W', 'power'), 6);
      }),
    );
  });

  test('three phases share the current by √3', () => {
    const at = (system: string) =>
      numberOf(call('inputCurrent', { output: of(5, 'kW'), voltage: of(208, 'V'), efficiency: of(0.9), system }), 'A');
    expect(at('single') / at('three')).toBeCloseTo(Math.sqrt(3), 9);
  });

  test('a power factor on a DC supply is refused by name', () => {
    const result = call('inputCurrent', {
      output: of(1, 'kW'),
      voltage: of(48, 'V'),
      efficiency: of(0.9),
      powerFactor: of(0.9),
      system: 'dc',
    });
    expect(result).toMatchObject({ kind: 'refused', argument: 'powerFactor' });
  });

  test('an inverter draws more the lower its voltage: volts times amperes stay the DC power', () => {
    fc.assert(
      fc.property(watts, volts, share, (power, voltage, efficiency) => {
        const result = call('inverterCurrent', {
          power: of(power, 'W'),
          voltage: of(voltage, 'V'),
          efficiency: of(efficiency),
        });
        expect(numberOf(result, 'A') * voltage).toBeCloseTo(numberOf(result, 'W', 'power'), 6);
      }),
    );
  });

  test('the derivation of an inverter current lists power, efficiency and voltage', () => {
    const derivation = derivationOf(
      call('inverterCurrent', { power: of(3, 'kW'), voltage: of(10.5, 'V'), efficiency: of(0.9) }),
    );
    expect(derivation.inputs.map((input) => input.name)).toEqual(['power', 'efficiency', 'voltage']);
    expect(derivation.formula).toBe('P/(η·U_min)');
  });

  test('a range of voltages is taken at its lowest, and the corner is said', () => {
    const definition = findFunction('inverterCurrent')!;
    const result = callFunction(definition, {
      power: amount('power', 3, 'kW'),
      voltage: stated('voltage', range(quantity(10.5, 'V'), quantity(14, 'V'))),
      efficiency: amount('efficiency', 0.9, ''),
    });
    expect(numberOf(result, 'A')).toBeCloseTo(3000 / (0.9 * 10.5), 9);
    expect(governingText(derivationOf(result))).toBe('at voltage 10.5 V');
  });
});

describe('generating sets', () => {
  const usable = (given: Record<string, ReturnType<typeof of>>) =>
    call('usablePower', { rated: of(10, 'kW'), ...given });

  test('a set at sea level, in mild air and on its own fuel keeps its rating', () => {
    const derivation = derivationOf(usable({}));
    expect(numberOf(usable({}), 'kW')).toBe(10);
    expect(governingText(derivation)).toBeUndefined();
    // Each assumption shows as a default in the derivation.
    const height = derivation.inputs.find((input) => input.name === 'altitude factor')!;
    expect(height.inputs.map((input) => input.origin)).toEqual(['default', 'default', 'default', 'default']);
  });

  test('higher and hotter never gives more, and never less than nothing', () => {
    const metres = fc.double({ min: -400, max: 6000, noNaN: true });
    const celsius = fc.double({ min: -40, max: 60, noNaN: true });
    fc.assert(
      fc.property(metres, metres, celsius, celsius, (h1, h2, t1, t2) => {
        const at = (h: number, t: number) => numberOf(usable({ altitude: of(h, 'm'), ambient: of(t, 'degC') }), 'W');
        const better = at(Math.min(h1, h2), Math.min(t1, t2));
        const worse = at(Math.max(h1, h2), Math.max(t1, t2));
        expect(worse).toBeLessThanOrEqual(better);
        expect(worse).toBeGreaterThanOrEqual(0);
      }),
    );
  });

  test('the largest reduction governs', () => {
    const derivation = derivationOf(usable({ altitude: of(2150, 'm'), waveformShare: of(60, '%') }));
    expect(governingText(derivation)).toBe('waveformShare 60 % is the largest reduction');
    const high = derivationOf(usable({ altitude: of(2150, 'm') }));
    expect(governingText(high)).toMatch(/^altitude factor 0\.753 is the largest reduction$/);
  });

  test('altitudes beyond the range are refused with the range', () => {
    const result = usable({ altitude: of(9, 'km') });
    expect(result).toMatchObject({ kind: 'refused', argument: 'altitude' });
    if (result.kind === 'refused') expect(result.reason).toContain('at most 6000 m');
  });

  test('a rating in VA becomes W by the power factor', () => {
    expect(numberOf(call('usablePower', { rated: of(10, 'kVA'), powerFactor: of(0.8) }), 'kW')).toBeCloseTo(8, 9);
  });

  test('conductors of a set that cannot be overloaded need its nameplate current only', () => {
    const at = (overloadPrevented: boolean) =>
      numberOf(call('generatorConductor', { apparent: of(20, 'kVA'), voltage: of(240, 'V'), overloadPrevented }), 'A');
    expect(at(true)).toBeCloseTo(83.33, 2);
    expect(at(false) / at(true)).toBeCloseTo(1.15, 9);
  });
});

describe('fuel', () => {
  const rate = (rated: number, load: number, fuel: string, waveform = 'conventional') =>
    numberOf(call('fuelRate', { rated: of(rated, 'kW'), load: of(load), fuel, waveform }), 'L/h');

  test.each([
    ['petrol', 0.5, 15],
    ['diesel', 3, 250],
    ['propane', 12, 25],
    ['naturalGas', 10, 26],
  ] as const)('%s: more load burns more', (fuel, low, high) => {
    const rated = fc.double({ min: low, max: high, noNaN: true });
    const load = fc.double({ min: 0, max: 1, noNaN: true });
    fc.assert(
      fc.property(rated, load, load, (kilowatts, one, other) => {
        const least = rate(kilowatts, Math.min(one, other), fuel);
        expect(least).toBeGreaterThanOrEqual(0);
        expect(rate(kilowatts, Math.max(one, other), fuel)).toBeGreaterThanOrEqual(least - 1e-9);
      }),
    );
  });

  test('every row of the diesel chart is met (approximate diesel fuel consumption chart)', () => {
    expect(rate(60, 0.25, 'diesel')).toBeCloseTo(6.8, 9);
    expect(rate(250, 1, 'diesel')).toBeCloseTo(68.1, 9);
    expect(rate(135, 0.5, 'diesel')).toBeCloseTo(20.4, 9);
  });

  test('load may be a power, and means the same', () => {
    const asPower = call('fuelRate', { rated: of(10, 'kW'), load: of(7, 'kW'), fuel: 'diesel' });
    expect(numberOf(asPower, 'L/h')).toBeCloseTo(rate(10, 0.7, 'diesel'), 9);
  });

  test('a 10 kW diesel at 7 kW burns 2.3 to 2.4 L/h (least-squares line through the chart by hand: 2.326)', () => {
    expect(Math.abs(rate(10, 0.7, 'diesel') / 2.326 - 1)).toBeLessThan(0.03);
  });

  test('loads above the rating and unknown sizes are refused', () => {
    expect(call('fuelRate', { rated: of(10, 'kW'), load: of(11, 'kW'), fuel: 'diesel' })).toMatchObject({
      kind: 'refused',
      argument: 'load',
    });
    expect(call('fuelRate', { rated: of(40, 'kW'), load: of(1), fuel: 'propane' })).toMatchObject({
      kind: 'refused',
      argument: 'rated',
    });
  });

  test('twice the time takes twice the fuel', () => {
    const after = (hours: number) =>
      numberOf(call('fuelFor', { rated: of(7, 'kW'), load: of(0.5), time: of(hours, 'h'), fuel: 'petrol' }), 'L');
    expect(after(10)).toBeCloseTo(2 * after(5), 9);
  });

  test('a set’s own burn figures are read by straight lines', () => {
    const points = [
      { load: 0.25, rate: 1.8 },
      { load: 0.5, rate: 2.4 },
      { load: 0.75, rate: 3.1 },
      { load: 1, rate: 4 },
    ];
    const at = (load: number) => burnAt(points, amount('load', load, ''));
    expect(numberOf(at(0.5), 'L/h')).toBe(2.4);
    expect(numberOf(at(0.625), 'L/h')).toBeCloseTo(2.75, 9);
    expect(numberOf(at(0.1), 'L/h')).toBeCloseTo(1.44, 9);
    expect(at(1.2).kind).toBe('refused');
    expect(burnAt(points.slice(0, 1), amount('load', 0.5, '')).kind).toBe('refused');
  });
});

describe('motors', () => {
  test('starting power grows with the letter', () => {
    const at = (code: string) => numberOf(call('startingPower', { power: of(5, 'hp'), code }), 'VA');
    const letters = 'ABCDEFGHJKLMNPRSTU'.split('').map(at);
    letters.slice(1).forEach((value, index) => expect(value).toBeGreaterThan(letters[index]!));
  });

  test('letter V has no upper end and is refused', () => {
    expect(call('startingPower', { power: of(1, 'hp'), code: 'V' })).toMatchObject({
      kind: 'refused',
      argument: 'code',
    });
  });

  test('letters that are no code letters are refused', () => {
    expect(call('startingPower', { power: of(1, 'hp'), code: 'I' }).kind).toBe('refused');
  });

  test('a larger set dips less', () => {
    const kilovoltAmperes = fc.double({ min: 1, max: 100, noNaN: true });
    fc.assert(
      fc.property(kilovoltAmperes, kilovoltAmperes, kilovoltAmperes, (starting, one, other) => {
        const dip = (rating: number) =>
          numberOf(call('voltageDip', { starting: of(starting, 'kVA'), rating: of(rating, 'kVA') }), '');
        expect(dip(Math.max(one, other))).toBeLessThanOrEqual(dip(Math.min(one, other)));
        expect(dip(one)).toBeLessThan(1);
      }),
    );
  });

  test('apparent power shows in VA, not in W', () => {
    const derivation = derivationOf(call('startingPower', { power: of(20, 'hp'), code: 'G' }));
    expect(displayValue(derivation)).toBe('125.8 kVA');
    expect(derivation.unit).toBe('VA');
  });
});

describe('modules', () => {
  const amperes = fc.double({ min: 0.1, max: 20, noNaN: true });
  const strings = fc.integer({ min: 1, max: 20 });

  test('ampacity is 125 % of the maximum current, and protection the next rating', () => {
    fc.assert(
      fc.property(amperes, strings, (shortCircuit, parallel) => {
        const given = { shortCircuit: of(shortCircuit, 'A'), parallel: of(parallel) };
        const most = numberOf(call('moduleCurrent', given), 'A');
        const ampacity = numberOf(call('moduleAmpacity', given), 'A');
        const rating = numberOf(call('moduleProtection', given), 'A');
        expect(most).toBeCloseTo(1.25 * shortCircuit * parallel, 9);
        expect(ampacity).toBeCloseTo(1.25 * most, 9);
        expect(rating).toBeGreaterThanOrEqual(ampacity * (1 - 1e-9));
      }),
    );
  });

  test('half a string is refused', () => {
    const given = { shortCircuit: of(9, 'A'), parallel: of(1.5) };
    for (const name of ['moduleCurrent', 'moduleAmpacity', 'moduleProtection'])
      expect(call(name, given)).toMatchObject({ kind: 'refused', argument: 'parallel' });
  });

  test('a current above the largest rating is refused', () => {
    expect(call('moduleProtection', { shortCircuit: of(20, 'A'), parallel: of(1000) }).kind).toBe('refused');
  });
});

describe('split phase and three phases', () => {
  test('the two ways to give a load agree', () => {
    const load = fc.double({ min: 0, max: 1e4, noNaN: true });
    fc.assert(
      fc.property(load, load, (leg1, leg2) => {
        fc.pre(leg1 + leg2 > 1);
        const byLegs = call('splitPhaseCurrent', { leg1: of(leg1, 'VA'), leg2: of(leg2, 'VA') });
        const byTotal = call('legCurrent', {
          total: of(leg1 + leg2, 'VA'),
          imbalance: of(Math.abs(leg1 - leg2) / (leg1 + leg2)),
        });
        expect(numberOf(byTotal, 'A')).toBeCloseTo(numberOf(byLegs, 'A'), 6);
        expect(numberOf(byTotal, 'A', 'neutral')).toBeCloseTo(numberOf(byLegs, 'A', 'neutral'), 6);
      }),
    );
  });

  test('the heavier leg governs', () => {
    const derivation = derivationOf(call('splitPhaseCurrent', { leg1: of(1, 'kVA'), leg2: of(2, 'kVA') }));
    expect(governingText(derivation)).toBe('leg 2 carries more');
  });

  test('equal voltages have no unbalance and scale does not matter', () => {
    const volt = fc.double({ min: 100, max: 500, noNaN: true });
    fc.assert(
      fc.property(volt, volt, volt, fc.double({ min: 0.1, max: 10, noNaN: true }), (a, b, c, scale) => {
        const at = (k: number) =>
          numberOf(
            call('voltageUnbalance', { first: of(a * k, 'V'), second: of(b * k, 'V'), third: of(c * k, 'V') }),
            '',
          );
        expect(at(scale)).toBeCloseTo(at(1), 9);
        const same = call('voltageUnbalance', { first: of(a, 'V'), second: of(a, 'V'), third: of(a, 'V') });
        expect(numberOf(same, '')).toBeCloseTo(0, 12);
      }),
    );
  });
});
