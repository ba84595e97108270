import {
  CHECKS,
  CHECK_GROUPS,
  type CalculationFunction,
  type Check,
  type Derivation,
  FUNCTIONS,
  checkMarkdown,
  codeSpan,
  derive,
  deriveQuantity,
  escapeMarkdown,
  functionSignature,
  numbersInFormula,
  quantity,
  range,
  referencePages,
  shownValue,
  unitsPage,
  workedLines,
} from '@wattwright/language';
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';

const folder = path.resolve(import.meta.dirname, '../../language');

describe('reference pages', () => {
  test.each(referencePages())('$name is fresh (npm run docs writes it)', ({ name, text }) => {
    expect(readFileSync(path.join(folder, name), 'utf8')).toBe(text);
  });

  test.each(referencePages())('the tables of $name have as many cells in each row as in their head', ({ text }) => {
    let columns: number | undefined;
    for (const line of text.split('\n')) {
      if (!line.startsWith('|')) {
        columns = undefined;
        continue;
      }
      const cells = line.replaceAll('\\|', '').split('|').length;
      columns ??= cells;
      expect(cells, line).toBe(columns);
    }
  });

  test.each(referencePages())('links within $name lead somewhere', ({ text }) => {
    const prose = text.replace(/^```[\s\S]*?^```$/gm, '');
    const headings = new Set([...prose.matchAll(/^#+ (.+)$/gm)].map((match) => match[1]!.toLowerCase()));
    for (const [, target] of prose.matchAll(/\]\(#([^)]+)\)/g)) expect(headings).toContain(target);
  });

  test('every check and every function has its place', () => {
    const [checks, functions] = referencePages();
    for (const check of CHECKS) expect(checks!.text).toContain(`\n## ${check.id}\n`);
    for (const definition of FUNCTIONS) expect(functions!.text).toContain(`\n## ${definition.name}\n`);
  });

  test('a unit says what it is worth', () => {
    const units = [quantity(1, 'kWh'), quantity(1, 'degF'), quantity(1, 'EUR')].map(({ unit }) => unit!);
    const text = unitsPage(units);
    expect(text).toContain('| `kWh` |  | kilowatt-hour | 3600000 |');
    expect(text).toContain('| `degF` | `°F` | degree Fahrenheit | 5/9 · n − 17.77');
    expect(text).toContain('never converted: `EUR`.');
  });
});

describe('the documentation of a check', () => {
  const check: Check = {
    id: 'run-tidy',
    group: 'conductors',
    severity: 'warning',
    since: '0.1.0',
    docs: {
      finds: 'An untidy run.',
      guards: 'Tripping.',
      how: 'By eye.',
      fix: 'Tidy it up.',
      sources: [{ standard: 'common practice, no source', provenance: 'common practice, no source' }],
      failing: 'design A {\n  note: "```"\n}\n',
      passing: 'design B {}',
    },
    judge: () => [],
  };

  test('it says everything there is to say', () => {
    const text = checkMarkdown(check);
    expect(text).toContain(`**warning** · ${CHECK_GROUPS.conductors} · since 0.1.0`);
    for (const part of ['# run-tidy', 'An untidy run.', 'Tripping.', 'By eye.', '- common practice, no source'])
      expect(text).toContain(part);
    expect(text).toContain('accept run-tidy on NAME because');
  });

  test('an example that holds a fence does not end its block', () => {
    expect(checkMarkdown(check)).toContain('````watt\ndesign A {\n  note: "```"\n}\n````');
  });
});

describe('signatures', () => {
  test('brackets mark what may be left out, with its default', () => {
    const find = (name: string): CalculationFunction => FUNCTIONS.find((definition) => definition.name === name)!;
    expect(functionSignature(find('requiredAmpacity'))).toMatch(
      /^requiredAmpacity\(continuous, \[noncontinuous: 0 .*A\]\)$/,
    );
    expect(functionSignature(find('voltageDrop'))).toMatch(
      /^voltageDrop\(current, length, size, \[voltage\], \[system: dc\]/,
    );
  });
});

describe('worked calculations', () => {
  const current = derive('current', 80, 'A', { symbol: 'I', origin: 'stated' });
  const resistance = derive('resistance', 1.5, 'mohm', {
    symbol: 'R',
    origin: 'table',
    source: { standard: 'IEC 60228', provenance: 'published' },
  });
  const drop = derive('voltage drop', 0.24, 'V', {
    symbol: 'ΔU',
    formula: '2 · I · R',
    inputs: [current, resistance],
    governing: [
      { kind: 'state', id: 'Genset', title: 'Genset running' },
      { kind: 'leg', leg: 'L1' },
    ],
    notes: ['a note'],
    parts: { ratio: derive('share', 1, '%') },
  });
  const texts = (derivation: Derivation): string[] =>
    workedLines(derivation).map(({ depth, kind, text }) => `${'  '.repeat(depth)}${kind}: ${text}`);

  test('value, formula, numbers, parts, what governed, source, notes, then the inputs', () => {
    expect(texts(drop)).toEqual([
      'value: voltage drop ΔU = 240 mV',
      '  formula: ΔU = 2 · I · R',
      '  numbers: = 2 · 80 A · 1.5 mΩ',
      '  part: ratio = 0.01',
      '  governing: with Genset running; leg L1',
      '  note: a note',
      '  value: current I = 80 A',
      '  value: resistance R = 1.5 mΩ (table)',
      '    source: IEC 60228',
    ]);
  });

  test('what was worked out above is not repeated', () => {
    const twice = derive('sum', 0.48, 'V', { formula: 'a + b', inputs: [drop, drop] });
    const lines = texts(twice);
    expect(lines.filter((line) => line.includes('2 · I · R'))).toHaveLength(1);
    expect(lines.at(-1)).toBe('  value: voltage drop ΔU = 240 mV (worked out above)');
  });

  test('the numbers are left out unless every symbol has its value', () => {
    expect(numbersInFormula({ ...drop, formula: '2 · I · R · k' })).toBeUndefined();
    expect(numbersInFormula({ ...drop, formula: 'max(I · R, 0)' })).toBe('max(80 A · 1.5 mΩ, 0)');
    expect(numbersInFormula({ ...drop, inputs: [] })).toBeUndefined();
  });

  test('a symbol within another is not taken for it', () => {
    const inner = derive('small', 2, 'A', { symbol: 'I' });
    const outer = derive('large', 3, 'A', { symbol: 'I0' });
    expect(numbersInFormula(derive('x', 1, '', { formula: 'I0 / I', inputs: [inner, outer] }))).toBe('3 A / 2 A');
  });

  test('powers, negative values and ranges stand in parentheses', () => {
    const squared = derive('x', 1, '', {
      formula: 'I² · R',
      inputs: [current, { ...resistance, value: quantity(-1, 'mohm') }],
    });
    expect(numbersInFormula(squared)).toBe('(80 A)² · (-1 mΩ)');
  });

  test('of a range the governing end is shown, or the range where neither end governs', () => {
    const volts = range(quantity(44, 'V'), quantity(58, 'V'));
    expect(shownValue(deriveQuantity('x', volts))).toEqual({ display: '44..58 V' });
    expect(shownValue(deriveQuantity('x', { ...volts, value: volts.low }))).toEqual({
      display: '44 V',
      range: '44..58 V',
    });
  });
});

describe('Markdown', () => {
  test('text of a design stays text', () => {
    expect(escapeMarkdown('a_b*c* <img> [x](y) | `z`\n# no heading')).toBe(
      'a\\_b\\*c\\* &lt;img\\> \\[x\\](y) \\| \\`z\\` \\# no heading',
    );
    expect(codeSpan('a`b')).toBe('`` a`b ``');
  });
});
