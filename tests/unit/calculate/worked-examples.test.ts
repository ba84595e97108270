import { beforeAll, describe, expect, it } from 'vitest';
import { FUNCTIONS, displayValue } from '../../../language/src/index.js';
import { type Expressions, expressions } from '../../helpers/expressions.js';

let valueOf: Expressions['valueOf'];
beforeAll(async () => {
  ({ valueOf } = await expressions());
});

// Each function documents itself with examples from published sources; here they are read by the parser and worked out by the evaluator.
describe.each(FUNCTIONS.map(({ name, examples }) => [name, examples] as const))('%s', (_, examples) => {
  it.each(examples.map(({ call, gives, tolerance, source }) => [call, gives, tolerance ?? 1e-3, source] as const))(
    '%s is %s',
    (call, gives, tolerance, source) => {
      expect(source).not.toBe('');
      const [is, should] = [valueOf(call), valueOf(gives)];
      if (typeof is.value !== 'object' || typeof should.value !== 'object') {
        expect(displayValue(is)).toBe(displayValue(should));
        return;
      }
      expect(is.value.dimension).toBe(should.value.dimension);
      const allowed = tolerance * Math.max(Math.abs(should.value.value), 1e-12);
      expect(
        Math.abs(is.value.value - should.value.value),
        `${displayValue(is, 8)} against ${gives}`,
      ).toBeLessThanOrEqual(allowed);
    },
  );
});
