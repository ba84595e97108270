import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Thing } from '../../model/types.js';
import { type ReadingResult, readingResults } from '../../quantities/readings/readings.js';
import { isRange } from '../../quantity/index.js';
import { defineCheck, type Fix, type Verdict, atMost, atLeast, NO_LIMIT, type UseOfLimit, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, pairText, passed, fullest } from '../verdicts.js';

const thingOf = ({ reading }: ReadingResult, { system }: DesignContext): Thing | undefined =>
  [...system.instances, ...system.runs, ...system.links, ...system.controls].find(({ name }) => name === reading.of);

/** A value that the design states, and was measured otherwise, can be written as it was measured. */
function fixesFor({ reading, measured }: ReadingResult, thing: Thing | undefined): Fix[] {
  const stated = thing?.properties.get(reading.what);
  if (!thing || reading.terminal !== undefined || stated?.value?.type !== 'quantity') return [];
  const text = displayValue(measured);
  return [
    propose(`State ${reading.what} of ${thing.name} as measured: ${text}`, [setProperty(thing, reading.what, text)]),
  ];
}

/** `44.8 V to 58.4 V`, `at most 75 A`. */
function bandText({ low, high }: ReadingResult, measured: Derivation): readonly [measured: string, band: string] {
  if (low && high) {
    const [shown] = pairText(measured, low);
    const same = numberIn(low, low.unit) === numberIn(high, high.unit);
    const [first] = pairText(low, measured);
    const [last] = pairText(high, measured);
    return [shown, same ? first : `${first} to ${last}`];
  }
  const end = (low ?? high)!;
  const [shown, limit] = pairText(measured, end);
  return [shown, `at ${low ? 'least' : 'most'} ${limit}`];
}

/** The end of the predicted band that the measured value is nearest to breaking, or has broken. */
function useOf({ measured }: ReadingResult, low: Derivation | undefined, high: Derivation | undefined): UseOfLimit {
  const uses = [...(low ? [atLeast(measured, low)] : []), ...(high ? [atMost(measured, high)] : [])];
  const [first, ...others] = uses;
  return first ? fullest(first, ...others) : NO_LIMIT;
}

function verdictOf(result: ReadingResult, context: DesignContext): Verdict {
  const { reading, measured, low, high, tolerance, holds, undecided } = result;
  const thing = thingOf(result, context);
  const subject = { path: thing?.path ?? context.system.name, place: reading.place };
  if (undecided) return notChecked(subject, undecided, reading.place);
  const numbers = { measured, ...(low ? { low } : {}), ...(high ? { high } : {}), ...(tolerance ? { tolerance } : {}) };
  const use = useOf(result, low, high);
  if (holds) return passed(subject, use, numbers);
  const [shown, band] = bandText(result, measured);
  const predicted = high ?? low;
  const spread =
    tolerance && typeof tolerance.value === 'object' && tolerance.value.value > 0
      ? `±${displayValue(tolerance, 2)} for the instrument (${tolerance.notes[0]})`
      : 'the reading states its own spread';
  const governing = predicted && !isRange(reading.value) ? governingText(predicted) : undefined;
  const fixes = fixesFor(result, thing);
  return {
    verdict: 'failed',
    subject: subject.path,
    place: reading.place,
    headline: `${reading.subject} was measured at ${shown}${reading.date ? ` on ${reading.date}` : ''}; predicted ${band}`,
    why: [governing, spread].filter(Boolean).join('; '),
    advice: 'Check what was built, its settings and terminals, and the instrument.',
    use,
    numbers,
    related: thing ? [{ place: thing.place, text: `${thing.name} was measured` }] : [],
    fixes,
  };
}

export const readingMismatch = defineCheck({
  id: 'reading-mismatch',
  formerly: 'reading-off',
  group: 'requirements',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A measurement on site lies outside of what the design predicts.',
    guards: 'Settings that were never made, parts that are not those of the design, joints and cells that have aged.',
    how: points(
      'Each `reading` against the value that the design works out for it, over all source states and corners.',
      'A current, a power or a drop is predicted as a most: only more is a finding.',
      'A voltage on a bank lies between the lowest and the highest voltage of the bank, less what the runs lose; one of a supply within ±10 % of nominal (EN 50160; ±5 % under nec, ANSI C84.1 range A; both from memory).',
      'A temperature lies within what site or cells are stated to see. What the design states, such as a resistance, is the value itself.',
      'The resistance of a run is predicted at the ambient temperature, since it is measured dead (20 °C where none is stated).',
      'The error of the instrument comes on top: `readingTolerance`, or 1 % of a voltage, 3 % of a current, 3 K, 5 points of charge and 5 % of all else (common practice, no source). A reading with a spread of its own (`74 A ± 1 A`) counts with that alone.',
    ),
    fix: 'Measure again; then correct the setting, part or joint on site, or the value in the design that the prediction rests on.',
    sources: [
      { standard: 'the design itself', provenance: 'own derivation' },
      { standard: 'common practice, no source', provenance: 'common practice, no source' },
    ],
    failing: `design Hut {
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   protectionLow: 44.8 V   protectionHigh: 58.4 V }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   float: 54 V }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  reading Rect.dc.current = 66 A on 2026-09-14 "commissioning, bank at 40 %"
}
`,
    passing: `design Hut {
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   protectionLow: 44.8 V   protectionHigh: 58.4 V }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   float: 54 V }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  reading Rect.dc.current = 59.4 A on 2026-09-14 "commissioning, bank at 40 %"
}
`,
  },
  judge: function* (context) {
    for (const result of readingResults(context)) yield verdictOf(result, context);
  },
});
