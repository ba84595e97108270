import { globSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { divide, formatQuantity, multiply, quantity, reportUnit } from '../../../language/src/quantity/index.js';
import { type Derivation, displayValue } from '../../../language/src/derivation/index.js';
import { analyseText } from '../../helpers/analyse.js';

/** Units that nobody of the trade says: products of base units, names of dimensions, and a rate of charge in hertz. */
const REDUCED =
  /\b(?:kg|m|s|A)\d?[·/](?:kg|m|s|A)\d?[·/]|\bkg\/s|\/s[23]\b|\^-|·time|length·|mass·|\d(?:e-\d+)? 0\.\d+ Hz|\b0\.0\d* Hz/;

describe('values in the units of the trade', () => {
  // Hand conversions of the units table; 1 kWh is 3.6 MJ, 1 L is 1 dm³, 1 C is the capacity in an hour.
  test.each([
    [divide(quantity(12, 'L'), quantity(4, 'kWh')), '3 L/kWh'],
    [divide(quantity(20, 'kWh'), quantity(2, 'L')), '10 kWh/L'],
    [divide(quantity(100, 'A'), quantity(200, 'Ah')), '0.5 C'],
    [divide(quantity(1, '1'), quantity(1, 'h')), '1 C'],
    [divide(quantity(10, 'V'), quantity(2, 'm')), '5 V/m'],
    [divide(quantity(300, 'EUR'), quantity(1200, 'kWh')), '0.25 EUR/kWh'],
    [divide(quantity(4, 'kW'), quantity(5, 'm2')), '800 W/m2'],
    [multiply(quantity(2, 'kg'), quantity(3, 'm')), '6 kg·m'],
    [divide(quantity(3, 'kWh'), quantity(4, 'kWh')), '0.75'],
    [quantity(60, 'Hz'), '60 Hz'],
    [quantity(2, 'bar'), '2 bar'],
  ])('%#: %s', (value, text) => {
    expect(formatQuantity(value)).toBe(text);
    expect(text).not.toMatch(REDUCED);
  });

  test('are named in data by the same symbol, so that the number can be converted', () => {
    expect(reportUnit(divide(quantity(12, 'L'), quantity(4, 'kWh')).dimension)).toBe('L/kWh');
  });

  test('a reduced unit is known as one', () => {
    for (const text of ['8.3e-10 length·mass^-1·time^2', '3 kg/s2', '0.0001389 Hz', '5 kg·m2/s2'])
      expect(text).toMatch(REDUCED);
  });

  test('every quantity of every example is printed so, with all that it rests on, and no formula names its own result', async () => {
    const root = path.resolve(import.meta.dirname, '../../../examples');
    const printed = new Set<string>();
    const seen = new Set<Derivation>();
    const circular = new Set<string>();
    const print = (derivation: Derivation): void => {
      if (seen.has(derivation)) return;
      seen.add(derivation);
      printed.add(displayValue(derivation));
      // `P = P·s`: whoever reads the formula must be able to tell what is worked out from what it is worked out of.
      const { name, symbol, formula = '', inputs } = derivation;
      if (symbol && formula !== 'solution of the network' && inputs.some((input) => input.symbol === symbol))
        circular.add(`${name}: ${symbol} = ${formula}`);
      derivation.inputs.forEach(print);
    };
    for (const name of globSync('*/*.watt', { cwd: root })) {
      if (name.endsWith('parts.watt')) continue;
      const beside = globSync('*.watt', { cwd: path.join(root, path.dirname(name)) });
      const files = [path.basename(name), ...beside.filter((each) => each !== path.basename(name))];
      const texts = files.map((file) => [file, readFileSync(path.join(root, path.dirname(name), file), 'utf8')]);
      const { designs } = await analyseText(Object.fromEntries(texts) as Record<string, string>);
      for (const { system, context } of designs)
        for (const thing of [...system.instances, ...system.runs])
          for (const quantityName of context.quantityNames(thing)) {
            const result = context.quantity(thing, quantityName as never);
            if (result.kind === 'known') print(result.derivation);
          }
    }
    expect(printed.size).toBeGreaterThan(300);
    expect([...circular]).toEqual([]);
    expect([...printed].filter((text) => REDUCED.test(text))).toEqual([]);
  });
});
