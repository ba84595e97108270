import type { Instance, Run } from '../../model/types.js';
import { canOpen } from '../commissioning/wiring-state.js';
import type { SheetInput } from '../input.js';
import { type Landing, landingsByEnclosure } from '../landings.js';
import { drawWiring, wiringPicture } from '../pictures/wiring-picture.js';
import { type Block, type Cell, box, table, text } from '../sheet.js';

/** How conductors are told apart by their colours, as far as the practice says; from memory but for what is named. */
const COLOURS: Readonly<Record<string, string>> = {
  nec: 'Colours by the practice (NEC 200.6, 250.119): grounded conductor white or gray, equipment ground green, green with yellow or bare; any other colour for the rest. Above 60 V direct current: positive red, negative black (NEC 215.12(C)(2)).',
  iec: 'Colours by the practice (IEC 60445, from memory): line brown, black, grey; neutral blue; protective conductor green-and-yellow; direct current as the edition in force says.',
  craft:
    'Colours by the practice (ABYC E-11): direct current positive red, negative yellow or black (yellow where alternating current is aboard); alternating current line black or brown, neutral white or light blue, grounding green or green with yellow.',
};

/** For who lands the cables: enclosure by enclosure, what is connected to which terminal. What is mounted in none stands last. */
export function wiringBlocks(input: SheetInput): readonly Block[] {
  const { system, context, cells } = input;
  const groups = landingsByEnclosure(system, context);
  const hasNamed = groups.some(({ enclosure }) => enclosure !== undefined);
  return [
    {
      kind: 'text',
      title: 'Wiring',
      paragraphs: [
        COLOURS[system.basis.practice] ?? '',
        'Of direct current, a device of one pole is in the positive conductor and the negative passes it by; where the positive is earthed it is the other way round (common practice, no source).',
        ...(!hasNamed ? ['No enclosure is stated (`enclosure`): everything is in one table.'] : []),
      ],
    },
    ...groups.flatMap((group, index): Block[] => [
      // What is mounted nowhere has no picture: a table says where its ends lead.
      ...(group.enclosure === undefined ? [] : drawWiring(group, cells)).map((view): Block => ({
        kind: 'figure',
        title: view.title,
        picture: wiringPicture([view]),
        description: 'The table below says the same in words.',
      })),
      wiringTable(group.enclosure, group.landings, index, hasNamed, input),
    ]),
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
      { key: 'conductors', title: 'Conductors', cell: (landing) => conductorsAt(landing) },
      { key: 'run', title: 'Run', cell: ({ run }) => text(run.name) },
      { key: 'number', title: 'Number', cell: ({ run }) => cells.fact(run, 'number') },
      { key: 'towards', title: 'To', cell: ({ towards }) => text(towards.map(({ name }) => name).join(', ')) },
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

/** Which conductors of its run are landed at a place: at gear those that its poles open, else all of them. */
function conductorsAt({ thing, run }: Landing): Cell {
  const count = (each: Instance | Run, name: string): number | undefined => {
    const value = each.properties.get(name)?.value;
    return value?.type === 'quantity' ? value.quantity.value : undefined;
  };
  const [poles, conductors] = [count(thing, 'poles'), count(run, 'conductors')];
  const earth = run.properties.has('earth') ? ', earth' : '';
  if (run.carries === 'dc') {
    if (conductors === 1 || (canOpen(thing) && (poles ?? 1) === 1)) return text('+');
    return text(`+, −${canOpen(thing) ? '' : earth}`);
  }
  if (canOpen(thing)) return poles === undefined ? box() : text(poles === 1 ? 'line' : `${poles} poles`);
  return conductors === undefined ? box() : text(`${conductors}${earth}`);
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
