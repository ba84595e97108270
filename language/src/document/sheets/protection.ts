import type { Instance, Run, Stop } from '../../model/types.js';
import { isDevice, isSwitchgear } from '../../model/roles.js';
import type { SheetInput } from '../input.js';
import { feedInto } from '../../checks/conductors/feeding.js';
import { numberIn } from '../../derivation/index.js';
import { interruptRatingIn } from '../../checks/conductors/interrupt-rating.js';
import { panelBlocks } from './panels.js';
import { type Cell, type Sheet, box, table, text } from '../sheet.js';

interface Place {
  readonly run: Run;
  readonly stop: Stop;
}

/** For the reviewer and who fits the devices. */
export function protectionSheet(input: SheetInput): Sheet {
  const { system, cells, context } = input;
  const places = (instance: Instance): Place[] =>
    system.runs.flatMap((run) =>
      [run.from, ...run.through, ...run.to].filter((stop) => stop.instance === instance).map((stop) => ({ run, stop })),
    );
  const name = { key: 'name', title: 'Device', cell: (each: Instance): Cell => text(each.name) };
  const runs = {
    key: 'runs',
    title: 'In run',
    cell: (each: Instance): Cell =>
      text(
        places(each)
          .map(({ run }) => run.name)
          .join(', '),
      ),
  };
  return {
    name: 'protection',
    title: 'Protection schedule',
    reader: 'reviewer, and who fits the devices',
    isWide: true,
    blocks: [
      table<Instance>(
        'protection',
        'Overcurrent devices',
        [
          name,
          { key: 'class', title: 'Class', cell: (each) => cells.fact(each, 'class') },
          { key: 'rating', title: 'Rating', isNumber: true, cell: (each) => cells.fact(each, 'rating') },
          { key: 'curve', title: 'Curve', cell: (each) => cells.optional(each, 'curve') },
          { key: 'poles', title: 'Poles', isNumber: true, cell: (each) => cells.optional(each, 'poles') },
          { key: 'interruptRating', title: 'Can interrupt', isNumber: true, cell: (each) => interrupting(each) },
          {
            key: 'faultCurrent',
            title: 'Largest fault current',
            isNumber: true,
            cell: (each) => cells.quantity(each, 'faultCurrent'),
          },
          {
            key: 'smallestFault',
            title: 'Smallest fault current',
            isNumber: true,
            cell: (each) => cells.quantity(each, 'smallestFault'),
          },
          { key: 'distance', title: 'From source', isNumber: true, cell: (each) => distance(each) },
          {
            key: 'clearingTime',
            title: 'Clears it within',
            isNumber: true,
            cell: (each) => cells.quantity(each, 'clearingTime'),
          },
          runs,
          { key: 'location', title: 'Where', cell: (each) => cells.fact(each, 'location') },
        ],
        system.instances.filter(isDevice),
        'The design has no overcurrent devices.',
      ),
      table<Instance>(
        'switches',
        'Switches and transfer gear',
        [
          name,
          { key: 'rating', title: 'Rating', isNumber: true, cell: (each) => cells.fact(each, 'rating') },
          { key: 'loadBreak', title: 'May be opened under load', cell: (each) => cells.optional(each, 'loadBreak') },
          runs,
          { key: 'location', title: 'Where', cell: (each) => cells.fact(each, 'location') },
        ],
        system.instances.filter(isSwitchgear),
        'The design has no switches.',
      ),
      ...panelBlocks(input),
      table<Run>(
        'protected',
        'Runs and what protects them',
        [
          { key: 'name', title: 'Run', cell: ({ name: run }) => text(run) },
          { key: 'current', title: 'Design current', isNumber: true, cell: (run) => cells.quantity(run, 'current') },
          { key: 'protection', title: 'Protected at', isNumber: true, cell: (run) => protectedAt(run).at },
          { key: 'by', title: 'By', cell: (run) => text(protectedAt(run).by) },
          { key: 'ampacity', title: 'Ampacity', isNumber: true, cell: (run) => cells.quantity(run, 'ampacity') },
        ],
        system.runs,
        'The design has no runs.',
      ),
    ],
  };

  /** As it states itself, else as its class says at the voltage at which it works. */
  function interrupting(each: Instance): Cell {
    const [first] = places(each);
    const rating = first && interruptRatingIn(each, first.run, context);
    return rating ? cells.value(rating) : box();
  }

  /** Its own devices; without one, what holds whatever feeds it: a device before it, the outlet or the source itself. */
  function protectedAt(run: Run): { readonly at: Cell; readonly by: string } {
    const own = [run.from, ...run.through, ...run.to].flatMap(({ instance }) =>
      isDevice(instance) ? instance.name : [],
    );
    if (own.length > 0) return { at: cells.quantity(run, 'protection'), by: own.join(', ') };
    const feeds = (['near', 'far'] as const).map((end) => feedInto(run, end, context));
    const amounts = feeds.flatMap((feed) => {
      if (feed.kind === 'limited') return feed;
      return feed.kind === 'self-limited' ? (feed.most ?? []) : [];
    });
    const open = feeds.find(({ kind }) => kind === 'unlimited' || kind === 'open');
    if (open) return { at: cells.quantity(run, 'protection'), by: '' };
    const most = amounts.sort((a, b) => numberIn(b.current, 'A') - numberIn(a.current, 'A'))[0];
    if (most) return { at: cells.value(most.current), by: most.by.join(', ') };
    const isSelfLimited = feeds.some(({ kind }) => kind === 'self-limited');
    return isSelfLimited
      ? { at: text(''), by: 'what feeds it, which gives no more than the design current' }
      : { at: text(''), by: 'nothing feeds it' };
  }

  function distance(each: Instance): Cell {
    const found = places(each).find(({ stop }) => stop.distance)?.stop.distance;
    return found ? cells.value(found) : box();
  }
}
