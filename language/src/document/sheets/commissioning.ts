import { type Derivation, numberIn } from '../../derivation/index.js';
import type { Run } from '../../model/types.js';
import { CAUTIONS, CAUTION_SHORT } from '../../explain/cautions.js';
import { readingOutcome } from '../../explain/outcomes.js';
import { findingsOf } from '../../draw/model/findings.js';
import { expectedReading, replacedOn } from '../../quantities/readings/readings.js';
import { replacedBlocks } from './replaced.js';
import { said, saidLike } from '../cells.js';
import { commissioningSteps } from '../commissioning/plan.js';
import { WORK_CAUSES } from '../commissioning/otherwise.js';
import { type CommissioningStep, type Expectation, STOP } from '../commissioning/steps.js';
import type { SheetInput } from '../input.js';
import { type Block, type Cell, type Sheet, box, table, text } from '../sheet.js';

interface Row {
  readonly number: string;
  readonly step: CommissioningStep;
  readonly expectation?: Expectation;
}

/** The step at which hands are on one run: all of them are one table, since each is done and measured alike. */
const workedOn = (step: CommissioningStep): Run | undefined =>
  step.actions.flatMap((action) => (action.do === 'work' ? [action.run] : []))[0];

/** For who brings it into service: the safe order, with what each meter should show. */
export function commissioningSheet(input: SheetInput): Sheet {
  const { context, system, analysis } = input;
  const steps = commissioningSteps(context);
  const phases = [...new Set(steps.map(({ phase }) => phase))];
  const numbered = new Map(steps.map((step, index) => [step, String(index + 1)]));
  return {
    name: 'commissioning',
    title: 'Commissioning',
    reader: 'who commissions it',
    isWide: true,
    blocks: [
      ...errorsOf(input),
      { kind: 'caution', lines: [CAUTION_SHORT, ...CAUTIONS] },
      {
        kind: 'text',
        paragraphs: [
          'Do the steps in this order. An empty box is not tested, never a pass. Where a reading is off, do what the step says before you go on; where it says nothing, stop, open what was closed last, find out why, and begin the step again.',
        ],
      },
      signatures(),
      ...replacedBlocks(input),
      ...phases.flatMap((phase): Block[] => {
        const own = steps.filter((each) => each.phase === phase);
        const cautions = [...new Set(own.flatMap(({ caution }) => caution ?? []))];
        const onRuns = own.filter(workedOn);
        const rows = own
          .filter((step) => !workedOn(step))
          .flatMap((step): Row[] => {
            const number = numbered.get(step)!;
            const [first, ...rest] = step.expects;
            return [
              { number, step, ...(first ? { expectation: first } : {}) },
              ...rest.map((expectation) => ({ number: '', step, expectation })),
            ];
          });
        return [
          ...(cautions.length > 0 ? [{ kind: 'caution' as const, lines: cautions }] : []),
          table<Row>(
            `steps${phases.indexOf(phase) + 1}`,
            phase,
            [
              { key: 'number', title: 'Step', isNumber: true, cell: ({ number }) => text(number) },
              { key: 'do', title: 'Do', cell: ({ number, step }) => text(number === '' ? '' : step.text) },
              { key: 'measure', title: 'Measure', cell: ({ expectation }) => text(expectation?.what ?? '') },
              { key: 'expected', title: 'Expected', cell: ({ expectation }) => expected(expectation, input) },
              {
                key: 'measured',
                title: 'Measured',
                isNumber: true,
                cell: ({ expectation }) => (expectation ? measured(expectation, input) : text('')),
              },
              { key: 'done', title: 'Done', cell: ({ number }) => (number === '' ? text('') : box()) },
              {
                key: 'otherwise',
                title: 'If it is off',
                cell: ({ number, step }) => text(number === '' || step.otherwise === STOP ? '' : step.otherwise),
              },
            ],
            rows,
            '',
          ),
          ...(onRuns.length > 0
            ? [{ kind: 'text' as const, paragraphs: [WORK_CAUSES] }, runTests(onRuns, numbered, input)]
            : []),
        ];
      }),
      table(
        'readings',
        'Measured so far',
        [
          {
            key: 'subject',
            title: 'Of',
            cell: (each: (typeof analysis.readings)[number]) => text(each.reading.subject),
          },
          { key: 'measured', title: 'Measured', isNumber: true, cell: (each) => input.cells.value(each.measured) },
          {
            key: 'outcome',
            title: 'Against the design',
            cell: (each) =>
              text(
                [readingOutcome(each).word, readingOutcome(each).text, readingOutcome(each).why ?? '']
                  .filter(Boolean)
                  .join(' '),
              ),
          },
          { key: 'date', title: 'Date', cell: (each) => text(each.reading.date ?? '') },
          { key: 'note', title: 'Note', cell: (each) => text(each.reading.note ?? '') },
        ],
        analysis.readings.filter(({ design }) => design === system.name),
        'Nothing has been measured yet.',
      ),
    ],
  };
}

/** A design with errors is read and not brought into service: its steps were worked out of what is wrong. */
function errorsOf({ analysis, system }: SheetInput): readonly Block[] {
  const errors = findingsOf(analysis, system).filter(({ severity, accepted }) => severity === 'error' && !accepted);
  if (errors.length === 0) return [];
  const leading = errors.filter(({ cause }) => cause === undefined).slice(0, MOST_ERRORS);
  const rest = errors.length - leading.length;
  return [
    {
      kind: 'caution',
      lines: [
        `This design has ${errors.length === 1 ? 'an error' : `${errors.length} errors`}. Connect, close and switch on nothing by this sheet: it is for review, until they are corrected and it is printed anew.`,
        ...leading.map(({ headline }) => headline),
        ...(rest > 0 ? [`${rest} more: see the summary.`] : []),
      ],
    },
  ];
}

/** So many errors stand here by name. */
const MOST_ERRORS = 6;

/** Who did it, when, and with which instruments: none of it stands in a design. */
const signatures = (): Block =>
  table<string>(
    'record',
    'Record',
    [
      { key: 'what', title: 'Of', cell: (what) => text(what) },
      { key: 'entry', title: 'To fill in', cell: () => box() },
    ],
    ['Done by, qualification', 'Dates', 'Instruments, their numbers and calibration', 'Witnessed by', 'Signature'],
    '',
  );

/** One row a run: compared, tightened and marked, polarity, continuity, insulation. */
function runTests(
  steps: readonly CommissioningStep[],
  numbered: ReadonlyMap<CommissioningStep, string>,
  input: SheetInput,
): Block {
  const of = (run: Run, what: string): Expectation => ({ what, reading: { of: run, what } });
  const run = (step: CommissioningStep): Run => workedOn(step)!;
  const limits = new Set(
    steps.flatMap(({ expects }) => expects.flatMap(({ what, limit }) => (what === 'insulation' ? (limit ?? []) : []))),
  );
  return table<CommissioningStep>(
    'runTests',
    `Each run, before anything is closed: insulation ${[...limits].join('; ')}. Redo what is off.`,
    [
      { key: 'number', title: 'Step', isNumber: true, cell: (step) => text(numbered.get(step)!) },
      { key: 'run', title: 'Run', cell: (step) => text(run(step).name) },
      { key: 'compared', title: 'As scheduled, labelled', cell: () => box() },
      { key: 'torque', title: 'Torque', isNumber: true, cell: (step) => input.cells.fact(run(step), 'torque') },
      { key: 'tightened', title: 'Torque done', cell: (step) => measured(of(run(step), 'torque'), input) },
      { key: 'polarity', title: 'Polarity', cell: () => box() },
      {
        key: 'resistance',
        title: 'Resistance of one conductor',
        isNumber: true,
        cell: (step) => expectedResistance(run(step), of(run(step), 'resistance'), input),
      },
      {
        key: 'measuredResistance',
        title: 'Measured',
        isNumber: true,
        cell: (step) => measured(of(run(step), 'resistance'), input),
      },
      { key: 'insulation', title: 'Insulation', isNumber: true, cell: () => box() },
    ],
    steps,
    '',
  );
}

/** Least resistance (Ω) that a meter for continuity shows: IEC 61557-4 (2007) asks it for a resolution of 0.01 Ω; from memory. */
const LEAST_SHOWN = 0.01;

/** Thick and short conductors have less than the meter shows: then that is what is expected of it, and the value is for a finer one. */
function expectedResistance(run: Run, expectation: Expectation, input: SheetInput): Cell {
  const cell = expected(expectation, input);
  const resistance = input.context.quantity(run, 'resistance');
  if (cell.kind !== 'text' || resistance.kind !== 'known' || numberIn(resistance.derivation, 'ohm') >= LEAST_SHOWN)
    return cell;
  return text(`below 10 mΩ on the usual meter; by a micro-ohmmeter ${cell.text}`);
}

/** What the design predicts, with how far an instrument may be off; else the limit in words. */
function expected(expectation: Expectation | undefined, { context }: SheetInput): Cell {
  if (!expectation) return text('');
  const { reading, limit } = expectation;
  const band = reading && expectedReading(reading.of, reading.what, context, reading.terminal);
  if (!band || band.kind !== undefined)
    return text(limit ?? `not predicted${band?.kind === 'missing' ? `: missing ${band.missing.join(', ')}` : ''}`);
  if (siOf(band.low, -Infinity) > siOf(band.high, Infinity))
    return text('not predicted: by the design its least would be above its most; see the summary');
  const [first, ...others] = [band, ...(band.others ?? [])].map(rangeText);
  const range = others.length > 0 ? `${first} to neutral, ${others.join(', ')} between lines` : first;
  return text(`${range}, ± ${saidLike(band.tolerance, band.high ?? band.low!)}`);
}

const siOf = (end: Derivation | undefined, otherwise: number): number =>
  typeof end?.value === 'object' ? end.value.value : otherwise;

function rangeText(band: { readonly low?: Derivation; readonly high?: Derivation }): string {
  const [low, high] = [band.low, band.high].map((end) => (end ? said(end) : undefined));
  if (low !== undefined && high !== undefined) return low === high ? low : `${low} to ${high}`;
  return low !== undefined ? `at least ${low}` : `at most ${high}`;
}

/** What a `reading` of the design has put into the box. */
function measured({ reading }: Expectation, { analysis, system, cells }: SheetInput): Cell {
  if (!reading) return box();
  const subject = [reading.of.name, reading.terminal, reading.what].filter(Boolean).join('.');
  const short = [reading.of.name, reading.what].join('.');
  const replaced = replacedOn(reading.of);
  const taken = analysis.readings.filter(
    ({ design, reading: each }) =>
      (replaced === undefined || each.date === undefined || each.date >= replaced) &&
      design === system.name &&
      (each.subject === subject || each.subject === short),
  );
  // The last that was taken counts, so that no earlier one hides it; of those of one day, or of none, the one that stands last.
  const last = taken.reduce<string>((so, { reading: { date = '' } }) => (date > so ? date : so), '');
  const found = taken.filter(({ reading: { date = '' } }) => date === last).at(-1);
  if (!found) return box();
  const cell = cells.value(found.measured);
  return cell.kind === 'value' ? { ...cell, text: `${cell.text} ${readingOutcome(found).word}` } : cell;
}
