import type { Instance } from '../../model/types.js';
import { chargingOf, isBank, isDevice, isInverter, isSet } from '../../model/roles.js';
import { replacedOn } from '../../quantities/readings/readings.js';
import type { SheetInput } from '../input.js';
import { type Block, box, table, text } from '../sheet.js';

interface Again {
  readonly thing: Instance;
  readonly date: string;
  readonly what: string;
}

/** What has to be done again where a part took the place of another: nothing of what was set, landed or measured before holds for it. */
export function replacedBlocks(input: SheetInput): readonly Block[] {
  const rows = input.system.instances.flatMap((thing): Again[] => {
    const date = replacedOn(thing);
    return date === undefined ? [] : tasksFor(thing, date, input).map((what) => ({ thing, date, what }));
  });
  if (rows.length === 0) return [];
  return [
    table<Again>(
      'replaced',
      'Parts that were replaced: to do again',
      [
        { key: 'thing', title: 'Part', cell: ({ thing }) => text(thing.name) },
        { key: 'date', title: 'Replaced on', cell: ({ date }) => text(date) },
        { key: 'what', title: 'Do again', cell: ({ what }) => text(what) },
        { key: 'done', title: 'Done', cell: () => box() },
      ],
      rows,
      '',
    ),
  ];
}

function tasksFor(thing: Instance, date: string, { system, context }: SheetInput): string[] {
  const runs = system.runs.filter((run) =>
    [run.from, ...run.through, ...run.to].some(({ instance }) => instance === thing),
  );
  const links = system.links.filter(({ from, to }) => from === thing || to === thing);
  const controls = system.controls.filter(({ target }) => target === thing);
  // A variant judges no readings, since what was measured is the design as built; here it counts what was measured at all.
  const old = system.readings.filter((each) => each.of === thing.name && each.date !== undefined && each.date < date);
  const joined = new Set(context.graph.nodesOf(thing).flatMap((node) => context.graph.joinedTo(node)));
  const chargers = system.instances.filter(
    (each) => each !== thing && joined.has(each) && (chargingOf(each)?.setPoints.length ?? 0) > 0,
  );
  const drawing = system.instances.filter((each) => joined.has(each) && isInverter(each));
  return [
    'Compare its plate with the parts list, and run the checks with its own data.',
    ...(runs.length > 0 ? [`Lug, torque, polarity and insulation of ${names(runs)}.`] : []),
    ...(isInverter(thing) ? ['Precharge before it is joined to the bank.'] : []),
    ...(chargingOf(thing) || isInverter(thing)
      ? ['Every value of the settings sheet: a new device has those of its maker.']
      : []),
    ...(isBank(thing) && chargers.length > 0
      ? [`Charge voltages and limits of ${names(chargers)}, and every threshold, by the settings sheet of this design.`]
      : []),
    ...(isBank(thing) && drawing.length > 0 ? [`Precharge ${names(drawing)} before the bank is joined again.`] : []),
    ...(isDevice(thing)
      ? [`Class, rating and interrupting rating as the protection schedule says; ${names(runs)} is protected by it.`]
      : []),
    ...(isSet(thing) || isInverter(thing)
      ? ['Its bond of neutral to earth, phase order and frequency, before anything is joined to it.']
      : []),
    ...(links.length > 0
      ? [`Address, rate and terminators of ${names(links)}; read what each end shows of the other.`]
      : []),
    ...(controls.length > 0 ? [`Force each rule of ${names(controls)} once.`] : []),
    ...(old.length > 0
      ? [`Measure again, since it was measured before: ${old.map(({ subject }) => subject).join(', ')}.`]
      : []),
    'Labels with its data, and the date on them.',
  ];
}

const names = (things: readonly { readonly name: string }[]): string => things.map(({ name }) => name).join(', ');
