import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { governingText } from '../../../language/src/glossary/reason-text.js';
import { call, derivationOf, numberOf, of } from '../../reference/energy/call.js';

const ampereHours = fc.double({ min: 10, max: 2000, noNaN: true });
const share = fc.double({ min: 0, max: 1, noNaN: true });

describe('bank energy', () => {
  test('units in series and in parallel count alike', () => {
    const count = fc.integer({ min: 1, max: 50 });
    fc.assert(
      fc.property(ampereHours, count, count, (capacity, series, parallel) => {
        const result = call('bankEnergy', {
          capacity: of(capacity, 'Ah'),
          voltage: of(3.2, 'V'),
          series: of(series),
          parallel: of(parallel),
        });
        expect(numberOf(result, 'Wh')).toBeCloseTo(capacity * 3.2 * series * parallel, 4);
        expect(numberOf(result, 'V', 'voltage')).toBeCloseTo(3.2 * series, 9);
        expect(numberOf(result, 'Ah', 'capacity')).toBeCloseTo(capacity * parallel, 6);
      }),
    );
  });

  test('half a cell is refused', () => {
    const given = { capacity: of(100, 'Ah'), voltage: of(3.2, 'V'), series: of(15.5) };
    expect(call('bankEnergy', given)).toMatchObject({ kind: 'refused', argument: 'series' });
  });
});

describe('charging', () => {
  const charge = (given: Record<string, ReturnType<typeof of> | string>) =>
    call('chargeTime', { capacity: of(100, 'Ah'), from: of(0.2), to: of(0.9), current: of(20, 'A'), ...given });

  test('without taper it is charge over current', () => {
    expect(numberOf(charge({}), 'h')).toBeCloseTo(3.5, 9);
    const notes = derivationOf(charge({})).parts['constantCurrent']!.inputs.flatMap((input) => input.notes);
    expect(notes).toContain('no taper stated: constant current to the end');
  });

  test('a load that takes all the charger gives is said in a sentence', () => {
    const result = charge({ load: of(25, 'A') });
    expect(result).toMatchObject({ kind: 'refused', argument: 'load' });
    if (result.kind === 'refused')
      expect(result.reason).toBe('the loads draw 25 A and the chargers give 20 A: the bank never fills, it loses 5 A');
    const even = charge({ load: of(20, 'A') });
    if (even.kind === 'refused') expect(even.reason).toMatch(/the bank never fills$/);
    expect(even.kind).toBe('refused');
  });

  test('the smaller of charger and bank limit governs', () => {
    expect(governingText(derivationOf(charge({ limit: of(10, 'A') })))).toBe('the bank’s own charge limit');
    expect(numberOf(charge({ limit: of(10, 'A') }), 'h')).toBeCloseTo(7, 9);
    expect(numberOf(charge({ limit: of(50, 'A') }), 'h')).toBeCloseTo(3.5, 9);
  });

  test('the taper is the exact solution of its straight line: it agrees with small steps', () => {
    const knee = 0.8;
    const tail = 2;
    const steps = 200000;
    const step = (1 - 0.5) / steps;
    let hours = 0;
    for (let index = 0; index < steps; index += 1) {
      const state = 0.5 + (index + 0.5) * step;
      const current = state <= knee ? 20 : 20 - ((20 - tail) * (state - knee)) / (1 - knee);
      hours += (100 * step) / 0.9 / current;
    }
    const result = charge({ from: of(0.5), to: of(1), taper: of(knee), tail: of(tail, 'A'), efficiency: of(0.9) });
    expect(numberOf(result, 'h')).toBeCloseTo(hours, 6);
  });

  test('charging in two parts takes as long as in one', () => {
    fc.assert(
      fc.property(share, share, share, share, (a, b, c, knee) => {
        const [from, middle, to] = [a, b, c].sort((x, y) => x - y) as [number, number, number];
        const between = (low: number, high: number) =>
          numberOf(charge({ from: of(low), to: of(high), taper: of(knee), tail: of(1, 'A') }), 's');
        expect(between(from, middle) + between(middle, to)).toBeCloseTo(between(from, to), 3);
      }),
    );
  });

  test('more current never takes longer, more load never less', () => {
    const amperes = fc.double({ min: 1, max: 200, noNaN: true });
    fc.assert(
      fc.property(amperes, amperes, (one, other) => {
        const [less, more] = [Math.min(one, other), Math.max(one, other)];
        const withChemistry = { chemistry: 'lfp' };
        const time = (current: number, load: number) =>
          numberOf(charge({ ...withChemistry, current: of(current + 300, 'A'), load: of(load, 'A') }), 's');
        expect(time(more, 10)).toBeLessThanOrEqual(time(less, 10) * (1 + 1e-12));
        expect(time(10, more)).toBeGreaterThanOrEqual(time(10, less) * (1 - 1e-12));
      }),
    );
  });

  test('twice the bank with twice the current takes as long', () => {
    const at = (scale: number) =>
      numberOf(
        charge({
          capacity: of(100 * scale, 'Ah'),
          current: of(20 * scale, 'A'),
          to: of(1),
          chemistry: 'agm',
        }),
        's',
      );
    expect(at(2)).toBeCloseTo(at(1), 6);
  });

  test('the chemistry gives efficiency, taper and tail, each with its source', () => {
    const derivation = derivationOf(charge({ chemistry: 'flooded' }));
    const inputs = derivation.parts['tapering']!.inputs;
    const named = (name: string) => inputs.find((input) => input.name === name)!;
    expect(named('charge efficiency').origin).toBe('table');
    expect(named('charge efficiency').source!.provenance).toBe('published');
    expect(named('start of the taper').source!.provenance).toBe('common practice, no source');
    expect(named('tail current').value).toMatchObject({ value: 2 });
  });

  test('no distance to charge takes no time, even without current', () => {
    expect(numberOf(charge({ from: of(0.5), to: of(0.5), current: of(0, 'A') }), 's')).toBe(0);
  });

  test('a lower end than start is refused', () => {
    expect(charge({ from: of(0.9), to: of(0.2) })).toMatchObject({ kind: 'refused', argument: 'to' });
  });

  test('the net current says when the bank is being emptied', () => {
    const net = (charger: number, load: number) =>
      derivationOf(call('netChargeCurrent', { charger: of(charger, 'A'), load: of(load, 'A') }));
    expect(governingText(net(60, 20))).toBeUndefined();
    expect(governingText(net(20, 60))).toContain('40 A more than the chargers give');
    expect(governingText(net(20, 20))).toContain('draw all');
  });
});

describe('discharge and life', () => {
  test('at the rated current the rated time, whatever the exponent', () => {
    fc.assert(
      fc.property(ampereHours, fc.double({ min: 1, max: 1.6, noNaN: true }), (capacity, exponent) => {
        const result = call('peukertTime', {
          capacity: of(capacity, 'Ah'),
          hours: of(20, 'h'),
          exponent: of(exponent),
          current: of(capacity / 20, 'A'),
        });
        expect(numberOf(result, 'h')).toBeCloseTo(20, 6);
      }),
    );
  });

  test('an exponent of 1 gives the same charge at any current', () => {
    fc.assert(
      fc.property(fc.double({ min: 0.1, max: 500, noNaN: true }), (current) => {
        const given = { capacity: of(100, 'Ah'), hours: of(20, 'h'), exponent: of(1), current: of(current, 'A') };
        expect(numberOf(call('peukertTime', given), 'Ah', 'charge')).toBeCloseTo(100, 6);
      }),
    );
  });

  test('deeper cycles give fewer, and depths without figures are refused', () => {
    const life = (depth: number) => call('lifeAt', { depth: of(depth), chemistry: 'lfp' });
    const depths = [0.5, 0.6, 0.7, 0.8, 0.9, 1].map((depth) => numberOf(life(depth), ''));
    depths.slice(1).forEach((value, index) => expect(value).toBeLessThan(depths[index]!));
    expect(numberOf(life(0.8), '', 'high')).toBeCloseTo(6000, 6);
    const shallow = life(0.2);
    expect(shallow).toMatchObject({ kind: 'refused', argument: 'depth' });
    if (shallow.kind === 'refused') expect(shallow.reason).toContain('50 %, 80 %, 100 %');
  });
});

describe('bank size', () => {
  const size = (given: Record<string, ReturnType<typeof of>>) =>
    call('bankSize', {
      energyPerDay: of(2.4, 'kWh'),
      days: of(3),
      depth: of(0.5),
      voltage: of(24, 'V'),
      ...given,
    });

  test('days may be a number or a duration', () => {
    expect(numberOf(size({ days: of(3, 'd') }), 'Ah')).toBeCloseTo(numberOf(size({}), 'Ah'), 9);
    expect(size({ days: of(-1) }).kind).toBe('refused');
    expect(size({ days: of(400, 'd') })).toMatchObject({ kind: 'refused', argument: 'days' });
  });

  test('what asks most governs', () => {
    expect(governingText(derivationOf(size({})))).toBe('capacity by depth of discharge');
    expect(governingText(derivationOf(size({ depth: of(0.9) })))).toBe('capacity by ageing');
    expect(governingText(derivationOf(size({ dailyDepth: of(0.1) })))).toBe('capacity by daily depth');
  });

  test('twice the energy needs twice the bank', () => {
    expect(numberOf(size({ energyPerDay: of(4.8, 'kWh') }), 'Ah')).toBeCloseTo(2 * numberOf(size({}), 'Ah'), 6);
  });

  test('the cold needs more, and beyond the table there is no factor', () => {
    const factor = (temperature: number) => call('leadTemperatureFactor', { temperature: of(temperature, 'degC') });
    const factors = [50, 40, 25, 15, 0, -3.9].map((temperature) => numberOf(factor(temperature), ''));
    factors.slice(1).forEach((value, index) => expect(value).toBeGreaterThan(factors[index]!));
    expect(factor(-10)).toMatchObject({ kind: 'refused', argument: 'temperature' });
    expect(numberOf(call('leadTemperatureFactor', { temperature: of(25, 'degF') }), '')).toBeCloseTo(1.52, 2);
  });
});

describe('ventilation', () => {
  test('air, hydrogen and openings grow with cells and current alike', () => {
    const cells = fc.integer({ min: 1, max: 120 });
    fc.assert(
      fc.property(cells, fc.double({ min: 0, max: 100, noNaN: true }), (count, current) => {
        const one = call('ventilation', { cells: of(count), current: of(current, 'A') });
        expect(numberOf(one, 'm3/h')).toBeCloseTo(0.05 * count * current, 6);
        expect(numberOf(one, 'cm2', 'opening')).toBeCloseTo(28 * 0.05 * count * current, 4);
        expect(numberOf(one, 'm3', 'freeVolume')).toBeCloseTo(2.5 * 0.05 * count * current, 6);
      }),
    );
  });

  test('the IEC air holds five times the dilution its hydrogen needs', () => {
    const result = call('ventilation', { cells: of(24), current: of(10, 'A') });
    expect(numberOf(result, 'm3/h') / numberOf(result, 'm3/h', 'hydrogen')).toBeCloseTo(24 * 5, -1);
  });

  test('the IEEE basis dilutes to 1 % and gives no openings', () => {
    const derivation = derivationOf(call('ventilation', { cells: of(24), current: of(10, 'A'), basis: 'ieee' }));
    expect(Object.keys(derivation.parts)).toEqual(['hydrogen']);
  });

  test('boost gasses more than float', () => {
    const gas = (cell: string, chargeMode: string) =>
      numberOf(call('gassingCurrent', { capacity: of(100, 'Ah'), cell, charge: chargeMode }), 'A');
    for (const cell of ['vented', 'valveRegulated', 'nickelCadmium'])
      expect(gas(cell, 'boost')).toBeGreaterThan(gas(cell, 'float'));
  });
});

describe('voltages and the cold', () => {
  test('compensation up and down cancels', () => {
    const kelvin = fc.double({ min: 0, max: 30, noNaN: true });
    fc.assert(
      fc.property(kelvin, (difference) => {
        const at = (temperature: number) =>
          numberOf(
            call('compensatedVoltage', {
              voltage: of(57.6, 'V'),
              cells: of(24),
              coefficient: of(-4, 'mV/K'),
              temperature: of(temperature, 'degC'),
            }),
            'V',
          );
        expect(at(25 + difference) + at(25 - difference)).toBeCloseTo(2 * 57.6, 9);
      }),
    );
  });

  test('a positive coefficient is refused', () => {
    const given = { voltage: of(28, 'V'), cells: of(12), coefficient: of(4, 'mV/K'), temperature: of(10, 'degC') };
    expect(call('compensatedVoltage', given)).toMatchObject({ kind: 'refused', argument: 'coefficient' });
  });

  test('rest voltage rises with charge, and the flat part says so', () => {
    const rest = (state: number, chemistry: string) =>
      call('openCircuitVoltage', { charge: of(state), chemistry, cells: of(16) });
    fc.assert(
      fc.property(share, share, fc.constantFrom('lfp', 'nmc', 'flooded', 'agm', 'gel'), (one, other, chemistry) => {
        const [low, high] = [Math.min(one, other), Math.max(one, other)];
        expect(numberOf(rest(high, chemistry), 'V')).toBeGreaterThanOrEqual(numberOf(rest(low, chemistry), 'V'));
      }),
    );
    expect(derivationOf(rest(0.5, 'lfp')).notes).toContain('on the flat part of the curve');
    expect(derivationOf(rest(0.05, 'lfp')).notes).toEqual([]);
    expect(derivationOf(rest(0.5, 'nmc')).notes).toEqual([]);
  });

  test('lithium iron phosphate is not charged below 0 °C or above 55 °C', () => {
    const limit = (temperature: number) =>
      numberOf(call('coldChargeCurrent', { capacity: of(100, 'Ah'), temperature: of(temperature, 'degC') }), 'A');
    expect([-20, -0.1, 0, 5, 12, 25, 50, 56].map(limit)).toEqual([0, 0, 10, 10, 20, 50, 20, 0]);
  });
});
