import type { QuantityName } from '../../model/quantity-names.js';
import type { Instance, Run, Stop } from '../../model/types.js';
import { isConnection } from '../../model/roles.js';
import type { SheetInput } from '../input.js';
import { type Column, type Sheet, table, text } from '../sheet.js';
import { cutBlocks, cutCell, lackingForCuts } from './cuts.js';
import { wiringBlocks } from './wiring.js';

const stopText = ({ instance, terminal }: Stop): string =>
  terminal && instance.terminals.length > 1 ? `${instance.name}.${terminal.name}` : instance.name;

/** For who cuts and lands the cables. */
export function wiresSheet(input: SheetInput): Sheet {
  const { system, cells } = input;
  const fact = (key: string, title: string, isNumber = true): Column<Run> => ({
    key,
    title,
    ...(isNumber ? { isNumber: true } : {}),
    cell: (run) => cells.fact(run, key),
  });
  const quantity = (key: QuantityName, title: string): Column<Run> => ({
    key,
    title,
    isNumber: true,
    cell: (run) => cells.quantity(run, key),
  });
  return {
    name: 'wires',
    title: 'Wire schedule and cut list',
    reader: 'who cuts and lands the cables',
    isWide: true,
    blocks: [
      {
        kind: 'text',
        paragraphs: [
          'Lengths are one way. An empty box is a fact that the design does not state: fill it in on site.',
          ...[lackingForCuts(input)].filter((each) => each !== undefined),
        ],
      },
      table<Run>(
        'wires',
        'Runs',
        [
          { key: 'name', title: 'Run', cell: (run) => text(run.label ? `${run.name}: ${run.label}` : run.name) },
          { key: 'from', title: 'From', cell: (run) => text(stopText(run.from)) },
          { key: 'through', title: 'Through', cell: (run) => text(run.through.map(stopText).join(', ')) },
          { key: 'to', title: 'To', cell: (run) => text(run.to.map(stopText).join(', ')) },
          fact('size', 'Size'),
          fact('type', 'Type', false),
          fact('colour', 'Colours', false),
          fact('number', 'Number', false),
          fact('length', 'Length'),
          { key: 'cut', title: 'Cut length', isNumber: true, cell: (run) => cutCell(run, input) },
          quantity('current', 'Design current'),
          quantity('ampacity', 'Ampacity'),
          quantity('voltageDrop', 'Drop'),
          { key: 'lug', title: 'Lug for stud', isNumber: true, cell: (run) => cells.fact(run, 'lugHole') },
          fact('torque', 'Torque'),
        ],
        system.runs,
        'The design has no runs.',
      ),
      ...cutBlocks(input),
      table<Instance>(
        'plugs',
        'Plugs and receptacles',
        [
          { key: 'name', title: 'Name', cell: ({ name }) => text(name) },
          { key: 'plug', title: 'Configuration', cell: (each) => cells.fact(each, 'plug') },
          { key: 'rating', title: 'Rating', isNumber: true, cell: (each) => cells.optional(each, 'rating') },
          { key: 'location', title: 'Where', cell: (each) => cells.fact(each, 'location') },
        ],
        system.instances.filter(isConnection),
        'No plugs or receptacles.',
      ),
      ...wiringBlocks(input),
    ],
  };
}
