import type { Instance, Run, Stop } from '../../model/types.js';
import { isLoad } from '../../model/roles.js';
import type { SheetInput } from '../input.js';
import { type Block, type Cell, box, table, text } from '../sheet.js';

/** One conductor end: what is landed where. */
interface Landing {
  readonly thing: Instance;
  readonly terminal: string;
  readonly run: Run;
  readonly towards: string;
}

/** How conductors are told apart by their colours, as far as the practice says; from memory but for what is named. */
const COLOURS: Readonly<Record<string, string>> = {
  nec: 'Colours by the practice (NEC 200.6, 250.119): grounded conductor white or gray, equipment ground green, green with yellow or bare; any other colour for the rest. Above 60 V direct current: positive red, negative black (NEC 215.12(C)(2)).',
  iec: 'Colours by the practice (IEC 60445, from memory): line brown, black, grey; neutral blue; protective conductor green-and-yellow; direct current as the edition in force says.',
  craft:
    'Colours by the practice (ABYC E-11): direct current positive red, negative yellow or black (yellow where alternating current is aboard); alternating current line black or brown, neutral white or light blue, grounding green or green with yellow.',
};

/** For who lands the cables: enclosure by enclosure, what is connected to which terminal. What is mounted in none stands last. */
export function wiringBlocks(input: SheetInput): readonly Block[] {
  const { system } = input;
  const landings = system.runs.flatMap((run) => landingsOf(run, input));
  const named = [...new Set(system.instances.flatMap((each) => enclosureOf(each) ?? []))];
  const groups = [...named, undefined].map((enclosure) => ({
    enclosure,
    rows: landings
      .filter(({ thing }) => enclosureOf(thing) === enclosure)
      .sort((a, b) => system.instances.indexOf(a.thing) - system.instances.indexOf(b.thing)),
  }));
  return [
    {
      kind: 'text',
      title: 'Wiring',
      paragraphs: [
        COLOURS[system.basis.practice] ?? '',
        ...(named.length === 0
          ? ['No thing states the enclosure that it is mounted in (`enclosure`), so that all are in one table.']
          : []),
      ],
    },
    ...groups
      .filter(({ rows }) => rows.length > 0)
      .map(({ enclosure, rows }, index) => wiringTable(enclosure, rows, index, named.length > 0, input)),
  ];
}

const wiringTable = (
  enclosure: string | undefined,
  rows: readonly Landing[],
  index: number,
  hasNamed: boolean,
  { cells }: SheetInput,
): Block =>
  table<Landing>(
    `wiring${index + 1}`,
    enclosure ?? (hasNamed ? 'In no enclosure' : 'Terminals and conductors'),
    [
      { key: 'enclosure', title: 'Enclosure', cell: () => (enclosure === undefined ? box() : text(enclosure)) },
      { key: 'thing', title: 'At', cell: ({ thing }) => text(thing.name) },
      { key: 'terminal', title: 'Terminal', cell: ({ terminal }) => text(terminal) },
      { key: 'run', title: 'Run', cell: ({ run }) => text(run.name) },
      { key: 'number', title: 'Number', cell: ({ run }) => cells.fact(run, 'number') },
      { key: 'towards', title: 'To', cell: ({ towards }) => text(towards) },
      { key: 'size', title: 'Size', isNumber: true, cell: ({ run }) => cells.fact(run, 'size') },
      { key: 'colour', title: 'Colours', cell: ({ run }) => cells.fact(run, 'colour') },
      { key: 'stud', title: 'Stud', isNumber: true, cell: ({ thing }) => cells.optional(thing, 'stud') },
      { key: 'lug', title: 'Lug for stud', isNumber: true, cell: (landing) => lugOf(landing, cells) },
      { key: 'torque', title: 'Torque', isNumber: true, cell: (landing) => torqueOf(landing, cells) },
      { key: 'done', title: 'Done', cell: () => box() },
    ],
    rows,
    '',
  );

function enclosureOf({ properties }: Instance): string | undefined {
  const value = properties.get('enclosure')?.value;
  return value?.type === 'text' && value.text.trim() !== '' ? value.text : undefined;
}

/** The ends of a run: both sides of what it leads through, and what it begins and ends at. Loads are landed by their own sheets. */
function landingsOf(run: Run, { context }: SheetInput): Landing[] {
  const chain: Stop[] = [run.from, ...run.through];
  const ends = run.to.filter(({ instance }) => !isLoad(instance));
  const nameAt = (stop: Stop): string =>
    stop.instance.terminals.length > 1 ? context.graph.nodeOf(stop).terminal.name : '';
  const landing = (stop: Stop, side: string, next: readonly Stop[]): Landing => ({
    thing: stop.instance,
    terminal: [nameAt(stop), side].filter(Boolean).join(' '),
    run,
    towards: next.map(({ instance }) => instance.name).join(', '),
  });
  return [
    ...chain.flatMap((stop, index) => [
      ...(index > 0 ? [landing(stop, 'in', [chain[index - 1]!])] : []),
      landing(stop, index > 0 ? 'out' : '', index + 1 < chain.length ? [chain[index + 1]!] : run.to),
    ]),
    ...ends.map((stop) => landing(stop, '', [chain.at(-1)!])),
  ];
}

/** What the thing states of its lugs goes before what the run does. */
function lugOf({ thing, run }: Landing, cells: SheetInput['cells']): Cell {
  const own = cells.optional(thing, 'lugHole');
  return own.kind === 'text' && own.text === '' ? cells.fact(run, 'lugHole') : own;
}

function torqueOf({ thing, run }: Landing, cells: SheetInput['cells']): Cell {
  const own = cells.optional(thing, 'torque');
  return own.kind === 'text' && own.text === '' ? cells.fact(run, 'torque') : own;
}
