import { describe, expect, it } from 'vitest';
import {
  type Analysis,
  type Condition,
  type Rule,
  comparisonsOf,
  conditionHolds,
  formatQuantity,
  signalKey,
  signalsOf,
} from '../../../language/src/index.js';
import { analyseText, findingsOf } from '../../helpers/analyse.js';

const design = (rules: string, more = ''): string => `design D {
  generator Genset { rated: 5 kW   voltage: 230 V }
  battery A { voltage: 51.2 V   capacity: 280 Ah }
  battery B { voltage: 51.2 V   capacity: 100 Ah }
  inverter Inv { rated: 4 kW }
  inverter Bare { }
  load Pump { power: 500 W }
  grid Mains { voltage: 230 V }
  grid Unknown { }
  link Wire: A -> Genset { medium: rs485 }
  run Feed: A -> Inv.dc { size: 35 mm2   length: 1 m }
  let low = 30 %
  let isDown = lost(Mains)
  let surplus = power(Inv) - power(Bare)
  let empty = soc(A) < low or soc(B) < low
  ${more}
  control Autostart of Genset { ${rules} }
}
`;

const rulesOf = ({ designs }: Analysis): readonly Rule[] => designs[0]!.system.controls[0]!.rules;

/** A condition as text, in the form in which it was understood. */
function shown(condition: Condition | undefined): string {
  if (!condition) return 'none';
  if (condition.type === 'not') return `not(${shown(condition.of)})`;
  if (condition.type !== 'comparison') return `${condition.type}(${condition.of.map(shown).join(', ')})`;
  const { terms, comparison, limit } = condition;
  const sum = terms.map(({ factor, signal }) => (factor === 1 ? '' : `${factor} `) + signalKey(signal)).join(' + ');
  return `${sum} ${comparison} ${formatQuantity(limit)}`;
}

const ruleOf = async (condition: string, more = ''): Promise<{ rule: Rule; analysis: Analysis; text: string }> => {
  const text = design(`start when ${condition}`, more);
  const analysis = await analyseText(text);
  return { rule: rulesOf(analysis)[0]!, analysis, text };
};

/** What is wrong with the text; what other checks find is not the matter here. */
const TEXT = ['syntax-error', 'unknown-name', 'duplicate-name', 'wrong-dimension', 'wrong-type', 'value-out-of-range'];
const faults = ({ findings }: Analysis): string[] =>
  findings.filter(({ check }) => TEXT.includes(check)).map(({ check, message }) => `${check}: ${message}`);

describe('conditions of rules', () => {
  it.each([
    ['soc(A) < 40 %', 'soc(A) < 40 %'],
    ['40 % > soc(A)', 'soc(A) < 40 %'],
    ['lost(Mains)', 'voltage(Mains) < 115 V'],
    ['not lost(Mains) and soc(A) < 40 %', 'all(not(voltage(Mains) < 115 V), soc(A) < 40 %)'],
    ['isDown', 'voltage(Mains) < 115 V'],
    ['40 % <= soc(A)', 'soc(A) >= 40 %'],
    ['power(Inv) > 0.8 * Inv.rated', 'power(Inv) > 3.2 kW'],
    ['2 * power(Inv) > 4 kW', 'power(Inv) > 2 kW'],
    ['-power(Inv) > -4 kW', 'power(Inv) < 4 kW'],
    ['power(Inv) / -2 >= 1 kW', 'power(Inv) <= -2 kW'],
    ['power(Inv) + 1 kW > 3 kW', 'power(Inv) > 2 kW'],
    ['3 kW - power(Inv) > 1 kW', 'power(Inv) < 2 kW'],
    ['hour >= 22 h', 'hour >= 22 h'],
    ['hour < 06:30', 'hour < 6.5 h'],
    ['day == 3', 'day == 3'],
    ['soc(A) < soc(B)', 'soc(A) + -1 soc(B) < 0'],
    ['soc(A) - 5 % < soc(B)', 'soc(A) + -1 soc(B) < 0.05'],
    ['power(Inv) + power(Bare) > 5 kW', 'power(Inv) + power(Bare) > 5 kW'],
    ['power(Inv) + power(Inv) > 5 kW', 'power(Inv) > 2.5 kW'],
    ['soc(A) * A.capacity > 100 Ah', 'soc(A) > 0.3571'],
    ['soc(A) * A.capacity + soc(B) * B.capacity > 100 Ah', '1008000 soc(A) + 360000 soc(B) > 100 Ah'],
    ['temperature(A) < 5 degC', 'temperature(A) < 5 degC'],
    ['temperature(A) + 5 K < 20 degC', 'temperature(A) < 15 degC'],
    ['temperature(A) - temperature(B) > 8 K', 'temperature(A) + -1 temperature(B) > 8 K'],
    ['temperature(A) > temperature(B)', 'temperature(A) + -1 temperature(B) > 0 K'],
    ['soc(A) < low', 'soc(A) < 30 %'],
    ['surplus > 1 kW', 'power(Inv) + -1 power(Bare) > 1 kW'],
    ['empty', 'any(soc(A) < 30 %, soc(B) < 30 %)'],
    ['empty and hour > 8 h', 'all(any(soc(A) < 30 %, soc(B) < 30 %), hour > 8 h)'],
    ['soc(A) < 1 % and soc(A) < 2 % and soc(A) < 3 %', 'all(soc(A) < 1 %, soc(A) < 2 %, soc(A) < 3 %)'],
    ['soc(A) < 1 % or soc(A) < 2 % and soc(A) < 3 %', 'any(soc(A) < 1 %, all(soc(A) < 2 %, soc(A) < 3 %))'],
    ['not (soc(A) > 40 % or hour > 22 h)', 'not(any(soc(A) > 40 %, hour > 22 h))'],
    ['not soc(A) > 40 % and soc(B) != 10 %', 'all(not(soc(A) > 40 %), soc(B) != 10 %)'],
    ['soc(A) < 38 % .. 42 %', 'soc(A) < 38..42 %'],
  ])('are read: %s', async (text, form) => {
    const { rule, analysis } = await ruleOf(text);
    expect(faults(analysis)).toEqual([]);
    expect(shown(rule.condition)).toBe(form);
    expect(rule.missing).toBeUndefined();
  });

  it('keep the places of the comparison and of its limit', async () => {
    const { rule, text } = await ruleOf('soc(A) < 40 % and 0.9 * 48 V > voltage(B)');
    const comparisons = comparisonsOf(rule.condition!);
    expect(comparisons.map(({ place }) => text.slice(place.offset, place.end))).toEqual([
      'soc(A) < 40 %',
      '0.9 * 48 V > voltage(B)',
    ]);
    expect(comparisons.map(({ limitPlace }) => text.slice(limitPlace.offset, limitPlace.end))).toEqual([
      '40 %',
      '0.9 * 48 V',
    ]);
    expect(signalsOf(rule.condition!).map(signalKey)).toEqual(['soc(A)', 'voltage(B)']);
  });

  it('name the facts they rest on when these lack, every one', async () => {
    const { rule, analysis } = await ruleOf('power(Bare) > 0.8 * Bare.rated or voltage(A) < A.protectionLow');
    expect(faults(analysis)).toEqual([]);
    expect(rule.condition).toBeUndefined();
    expect(rule.missing).toEqual(['rated of Bare', 'protectionLow of A']);
    expect((await ruleOf('lost(Unknown)')).rule.missing).toEqual(['voltage of Unknown']);
  });

  it.each([
    ['soc(A) * soc(B) > 20 %', 'soc(A) * soc(B)'],
    ['soc(A) ^ 2 > 20 %', 'soc(A) ^ 2'],
    ['abs(power(Inv)) > 2 kW', 'abs(power(Inv))'],
    ['min(soc(A), soc(B)) > 20 %', 'min(soc(A), soc(B))'],
    ['1 / soc(A) > 3', '1 / soc(A)'],
    ['unserved > 1 kWh', 'unserved'],
    ['starts(Genset) > 1', 'starts(Genset)'],
    ['A.capacity > 100 Ah', 'A.capacity > 100 Ah'],
    ['soc(A) > soc(A)', 'soc(A) > soc(A)'],
    ['soc(Genset) < 20 %', 'Genset'],
    ['lost(Wire)', 'Wire'],
    ['lost(Pump)', 'Pump'],
    ['lost(Mains, Genset)', 'Genset'],
    ['current(Feed) > 100 A', 'Feed'],
    ['power(Inv) > 0.8 * Genset.usablePower', 'Genset.usablePower'],
    ['power(Inv) * (0.5 .. 0.6) > 2 kW', '(0.5 .. 0.6)'],
  ])('that do not compare signals with constants are said: %s', async (condition, place) => {
    const { rule, analysis, text } = await ruleOf(condition);
    const [found, ...others] = findingsOf(analysis, 'wrong-type');
    expect(others).toEqual([]);
    expect(text.slice(found!.place.offset, found!.place.end)).toBe(place);
    expect(rule.condition).toBeUndefined();
  });

  it('with a limit that is no finite number are said', async () => {
    expect(faults((await ruleOf('power(Inv) / 0 > 2 kW')).analysis)).toEqual([
      expect.stringContaining('not a finite number'),
    ]);
  });

  it('with a state of charge above the whole are said once', async () => {
    expect(faults((await ruleOf('soc(A) < 40')).analysis)).toEqual([expect.stringContaining('40 %')]);
    expect(faults((await ruleOf('not soc(A) < 40')).analysis)).toEqual([expect.stringContaining('40 %')]);
    expect(faults((await ruleOf('soc(A) <= 100 %')).analysis)).toEqual([]);
  });

  it('cannot run away through values that double one another', async () => {
    const doubled = Array.from({ length: 30 }, (_, index) => `let c${index + 1} = c${index} and c${index}`).join(
      '\n  ',
    );
    const { analysis } = await ruleOf('c30', `let c0 = soc(A) < 20 %\n  ${doubled}`);
    expect(faults(analysis)).toEqual([expect.stringContaining('more than 100 comparisons')]);
  });

  it('cannot exhaust the stack through a long chain of values', async () => {
    const chain = Array.from({ length: 3000 }, (_, index) => `let v${index + 1} = v${index} + 0 %`).join('\n  ');
    const { analysis } = await ruleOf('v3000 < 20 %', `let v0 = soc(A)\n  ${chain}`);
    expect(faults(analysis).length).toBeGreaterThan(0);
  });

  it('are decided by the truth of their comparisons', async () => {
    const { rule } = await ruleOf('not (soc(A) < 40 % and hour > 8 h) or soc(B) < 10 %');
    const with_ = (truths: readonly boolean[]): boolean => {
      const order = comparisonsOf(rule.condition!);
      return conditionHolds(rule.condition!, (each) => truths[order.indexOf(each)]!);
    };
    expect(with_([true, true, false])).toBe(false);
    expect(with_([true, true, true])).toBe(true);
    expect(with_([true, false, false])).toBe(true);
    expect(with_([false, true, false])).toBe(true);
  });
});

describe('quiet hours', () => {
  it('carry their exception as a condition, in fallbacks too', async () => {
    const analysis = await analyseText(
      design(`start when soc(A) < 40 %   quiet: 22:00..06:30 unless soc(A) < 20 % or power(Inv) > 0.9 * Inv.rated
    without Wire { start when voltage(A) < 50 V for 3 min   quiet: 20:00..08:00 unless voltage(A) < 48 V   minimumRun: 2 h }`),
    );
    expect(faults(analysis)).toEqual([]);
    const control = analysis.designs[0]!.system.controls[0]!;
    const quiet = control.properties.get('quiet')!.value;
    expect(quiet.type === 'quiet' && shown(quiet.exception)).toBe('any(soc(A) < 20 %, power(Inv) > 3.6 kW)');
    const [fallback] = control.fallbacks;
    const held = fallback!.properties.get('quiet')!.value;
    expect(held.type === 'quiet' && [held.from, shown(held.exception)]).toEqual([72000, 'voltage(A) < 48 V']);
    expect([...fallback!.properties.keys()]).toEqual(['quiet', 'minimumRun']);
    expect(shown(fallback!.rules[0]!.condition)).toBe('voltage(A) < 50 V');
  });

  it('name what lacks for their exception, and say what is no condition on signals', async () => {
    const analysis = await analyseText(design('quiet: 22:00..06:30 unless power(Bare) > Bare.rated'));
    const quiet = analysis.designs[0]!.system.controls[0]!.properties.get('quiet')!.value;
    expect(quiet.type === 'quiet' && [quiet.exception, quiet.missing]).toEqual([undefined, ['rated of Bare']]);
    const wrong = await analyseText(design('quiet: 22:00..06:30 unless fuel(Genset) < 5 L'));
    expect(faults(wrong)).toEqual([expect.stringContaining('What stands after `unless` must be signals compared')]);
  });
});
