import { derive, numberIn } from '../../derivation/index.js';
import type { Instance, Run, Stop } from '../../model/types.js';
import { sumOf } from '../../quantities/worst.js';
import { isConnection } from '../../model/roles.js';
import type { SheetInput } from '../input.js';
import { type Cell, type Column, type Sheet, box, table, text } from '../sheet.js';

const stopText = ({ instance, terminal }: Stop): string =>
  terminal && instance.terminals.length > 1 ? `${instance.name}.${terminal.name}` : instance.name;

/** For who cuts and lands the cables. */
export function wiresSheet({ system, context, cells }: SheetInput): Sheet {
  const fact = (key: string, title: string, isNumber = true): Column<Run> => ({
    key,
    title,
    ...(isNumber ? { isNumber: true } : {}),
    cell: (run) => cells.fact(run, key),
  });
  const quantity = (key: Parameters<typeof context.quantity>[1], title: string): Column<Run> => ({
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
        paragraphs: ['Lengths are one way. An empty box is a fact that the design does not state: fill it in on site.'],
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
          { key: 'cut', title: 'Cut length', isNumber: true, cell: () => box() },
          quantity('current', 'Design current'),
          quantity('ampacity', 'Ampacity'),
          quantity('voltageDrop', 'Drop'),
          { key: 'lug', title: 'Lug for stud', isNumber: true, cell: (run) => cells.fact(run, 'lugHole') },
          fact('torque', 'Torque'),
        ],
        system.runs,
        'The design has no runs.',
      ),
      table<CutRow>(
        'cuts',
        'Conductor by size and type, without allowance',
        [
          { key: 'size', title: 'Size', cell: ({ size }) => text(size) },
          { key: 'type', title: 'Type', cell: ({ type }) => text(type) },
          { key: 'runs', title: 'Runs', cell: ({ runs }) => text(runs.map(({ name }) => name).join(', ')) },
          { key: 'length', title: 'Length one way in all', isNumber: true, cell: (row) => lengthOf(row) },
        ],
        cutRows(),
        'The design has no runs.',
      ),
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
        'Nothing is plugged.',
      ),
    ],
  };

  function cutRows(): CutRow[] {
    const rows = new Map<string, CutRow>();
    for (const run of system.runs) {
      const [size, type] = [cells.fact(run, 'size'), cells.fact(run, 'type')].map((cell) =>
        cell.kind === 'box' ? 'not stated' : cell.text,
      ) as [string, string];
      const row = rows.get(`${size}\n${type}`) ?? { size, type, runs: [] };
      row.runs.push(run);
      rows.set(`${size}\n${type}`, row);
    }
    return [...rows.values()].sort((a, b) => (a.size + a.type < b.size + b.type ? -1 : 1));
  }

  /** Conductors of a run that lie beside each other count as often as they are there. */
  function lengthOf({ runs }: CutRow): Cell {
    const lengths = [];
    for (const run of runs) {
      const length = context.fact(run, 'length');
      if (length.kind !== 'known') return cells.result(length);
      const parallel = context.maybe(run, 'parallel');
      const times = parallel ? numberIn(parallel, '') : 1;
      lengths.push(
        times === 1 || !parallel
          ? { ...length.derivation, symbol: `l_${run.name}` }
          : derive(`length of ${run.name}`, times * numberIn(length.derivation, 'm'), 'm', {
              symbol: `l_${run.name}`,
              formula: 'n·l',
              inputs: [
                { ...parallel, symbol: 'n' },
                { ...length.derivation, symbol: 'l' },
              ],
            }),
      );
    }
    return cells.value(sumOf('length one way', 'L', 'm', lengths));
  }
}

interface CutRow {
  readonly size: string;
  readonly type: string;
  readonly runs: Run[];
}
