import { collect, sumOf } from '../../quantities/worst.js';
import { isDevice, isJoint, isLoad } from '../../model/roles.js';
import type { Instance, Run } from '../../model/types.js';
import type { SheetInput } from '../input.js';
import { type Block, type Cell, box, table, text } from '../sheet.js';

/** One circuit that leaves a panel through a device of its own. */
interface Circuit {
  readonly number: number;
  readonly run: Run;
  readonly device: Instance;
}

/** A panel has at least so many circuits; a joint with one is a joint. */
const LEAST_CIRCUITS = 2;

/** Panel schedules: of each bus that circuits leave through devices of their own, what they serve; with rows for spare places. */
export function panelBlocks(input: SheetInput): readonly Block[] {
  const { system, cells, context } = input;
  return system.instances.filter(isJoint).flatMap((panel, index): Block[] => {
    const circuits = system.runs
      .filter(
        ({ from, through }) => from.instance === panel && through[0] !== undefined && isDevice(through[0].instance),
      )
      .map((run, nth): Circuit => ({ number: nth + 1, run, device: run.through[0]!.instance }));
    if (circuits.length < LEAST_CIRCUITS) return [];
    const rows: readonly (Circuit | undefined)[] = [...circuits, undefined];
    const of = (cell: (circuit: Circuit) => Cell) => (circuit: Circuit | undefined) =>
      circuit ? cell(circuit) : box();
    const fed = system.runs.filter(({ to }) => to.some(({ instance }) => instance === panel)).map(({ name }) => name);
    const rating = cells.optional(panel, 'rating');
    const facts = [
      panel.label && panel.label !== panel.name ? `${panel.name}, ${panel.label}` : panel.name,
      ...(rating.kind === 'value' ? [`bus ${rating.text}`] : []),
      ...(fed.length > 0 ? [`fed by ${fed.join(', ')}`] : []),
    ];
    return [
      table<Circuit | undefined>(
        `panel${index + 1}`,
        `Panel schedule: ${facts.join('; ')}`,
        [
          {
            key: 'number',
            title: 'No.',
            isNumber: true,
            cell: (circuit) => text(circuit ? String(circuit.number) : 'spare'),
          },
          {
            key: 'serves',
            title: 'Serves',
            cell: of(({ run }) => text(run.to.map(({ instance }) => nameOf(instance)).join(', '))),
          },
          { key: 'run', title: 'Run', cell: of(({ run }) => text(run.name)) },
          { key: 'device', title: 'Device', cell: of(({ device }) => text(device.name)) },
          { key: 'rating', title: 'Rating', isNumber: true, cell: of(({ device }) => cells.fact(device, 'rating')) },
          { key: 'poles', title: 'Poles', isNumber: true, cell: of(({ device }) => cells.fact(device, 'poles')) },
          { key: 'groundFault', title: 'Earth fault', cell: of(({ device }) => cells.optional(device, 'groundFault')) },
          { key: 'legs', title: 'Legs', cell: of(({ run }) => text(legsOf(run))) },
          { key: 'size', title: 'Size', isNumber: true, cell: of(({ run }) => cells.fact(run, 'size')) },
          {
            key: 'current',
            title: 'Design current',
            isNumber: true,
            cell: of(({ run }) => cells.quantity(run, 'current')),
          },
          { key: 'power', title: 'Power of loads', isNumber: true, cell: of(({ run }) => powerOf(run)) },
          { key: 'place', title: 'Place', cell: () => box() },
        ],
        rows,
        '',
      ),
    ];
  });

  function powerOf(run: Run): Cell {
    const loads = run.to.map(({ instance }) => instance).filter(isLoad);
    if (loads.length === 0) return text('');
    const powers = collect(loads.map((load) => context.quantity(load, 'totalPower')));
    if (!powers.ok) return cells.result(powers.result);
    return cells.value(
      powers.derivations.length === 1
        ? powers.derivations[0]!
        : sumOf(`loads of ${run.name}`, 'P', 'W', powers.derivations),
    );
  }
}

const nameOf = ({ name, label }: Instance): string => (label && label !== name ? `${name} (${label})` : name);

/** Legs as the loads state them, each once. */
const legsOf = (run: Run): string =>
  [...new Set(run.to.flatMap(({ instance }) => instance.properties.get('legs')?.text.split(/,\s*/) ?? []))].join(', ');
