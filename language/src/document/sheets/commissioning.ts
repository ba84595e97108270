import { CAUTIONS, CAUTION_SHORT } from '../../explain/cautions.js';
import { readingOutcome } from '../../explain/outcomes.js';
import { expectedReading } from '../../quantities/readings/readings.js';
import { said } from '../cells.js';
import { commissioningSteps } from '../commissioning/plan.js';
import type { Expectation, CommissioningStep } from '../commissioning/steps.js';
import type { SheetInput } from '../input.js';
import { type Block, type Cell, type Sheet, box, table, text } from '../sheet.js';

interface Row {
  readonly number: string;
  readonly step: CommissioningStep;
  readonly expectation?: Expectation;
}

/** For who brings it into service: the safe order, with what each meter should show. */
export function commissioningSheet(input: SheetInput): Sheet {
  const { context, system, analysis } = input;
  const steps = commissioningSteps(context);
  const phases = [...new Set(steps.map(({ phase }) => phase))];
  const numbered = new Map(steps.map((step, index) => [step, String(index + 1)]));
  return {
    name: 'commissioning',
    title: 'Commissioning',
    reader: 'who brings it into service',
    isWide: true,
    blocks: [
      { kind: 'caution', lines: [CAUTION_SHORT, ...CAUTIONS] },
      {
        kind: 'text',
        paragraphs: [
          'Do the steps in this order. An empty box is not tested, never a pass. Where a reading is off, do what the step says before you go on.',
        ],
      },
      ...phases.flatMap((phase): Block[] => {
        const own = steps.filter((each) => each.phase === phase);
        const cautions = [...new Set(own.flatMap(({ caution }) => caution ?? []))];
        const rows = own.flatMap((step): Row[] => {
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
                cell: ({ expectation }) => (expectation ? measured(expectation, input) : box()),
              },
              {
                key: 'otherwise',
                title: 'If it is off',
                cell: ({ number, step }) => text(number === '' ? '' : step.otherwise),
              },
            ],
            rows,
            '',
          ),
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

/** What the design predicts, with how far an instrument may be off; else the limit in words. */
function expected(expectation: Expectation | undefined, { context }: SheetInput): Cell {
  if (!expectation) return text('');
  const { reading, limit } = expectation;
  const band = reading && expectedReading(reading.of, reading.what, context, reading.terminal);
  if (!band || band.kind !== undefined)
    return text(limit ?? `not predicted${band?.kind === 'missing' ? `: missing ${band.missing.join(', ')}` : ''}`);
  const [low, high] = [band.low, band.high].map((end) => (end ? said(end) : undefined));
  const range =
    low !== undefined && high !== undefined
      ? low === high
        ? low
        : `${low} to ${high}`
      : low !== undefined
        ? `at least ${low}`
        : `at most ${high}`;
  return text(`${range}, ± ${said(band.tolerance)}`);
}

/** What a `reading` of the design has put into the box. */
function measured({ reading }: Expectation, { analysis, system, cells }: SheetInput): Cell {
  if (!reading) return box();
  const subject = [reading.of.name, reading.terminal, reading.what].filter(Boolean).join('.');
  const short = [reading.of.name, reading.what].join('.');
  const found = analysis.readings.find(
    ({ design, reading: each }) => design === system.name && (each.subject === subject || each.subject === short),
  );
  return found ? cells.value(found.measured) : box();
}
