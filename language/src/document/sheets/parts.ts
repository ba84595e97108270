import type { Instance } from '../../model/types.js';
import type { SheetInput } from '../input.js';
import { type Cell, type Sheet, table, text } from '../sheet.js';
import { labelBlocks } from './labels.js';
import { ratingSpans } from '../../draw/model/ratings.js';

interface PartRow {
  readonly kind: string;
  readonly what: string;
  readonly ratings: string;
  readonly things: Instance[];
}

/** For who buys: what is needed, how often. Prices stand as they were given. */
export function partsSheet(input: SheetInput): Sheet {
  const { system, context, cells } = input;
  const rows = new Map<string, PartRow>();
  for (const instance of system.instances) {
    const ratings = ratingSpans(instance, context)
      .map(({ text: shown }) => shown)
      .join('  ');
    const what = instance.part ? (instance.part.label ?? instance.part.name) : (instance.label ?? '');
    const key = [instance.kind, what, ratings].join('\n');
    const row = rows.get(key) ?? { kind: instance.kind, what, ratings, things: [] };
    row.things.push(instance);
    rows.set(key, row);
  }
  const pieces = ({ things }: PartRow): Cell => {
    const counts = things.map((each) =>
      ['count', 'series', 'parallel'].reduce((so, name) => so * (whole(each, name) ?? 1), 1),
    );
    return text(String(counts.reduce((sum, each) => sum + each, 0)));
  };
  return {
    name: 'parts',
    title: 'Parts list and labels',
    reader: 'who buys, and who fixes the labels',
    blocks: [
      table<PartRow>(
        'parts',
        'Parts',
        [
          {
            key: 'kind',
            title: 'Kind',
            cell: ({ kind }) => text(kind.replace(/([A-Z])/g, (letter) => ` ${letter.toLowerCase()}`)),
          },
          { key: 'part', title: 'Part', cell: ({ what }) => text(what) },
          { key: 'ratings', title: 'Ratings', cell: ({ ratings }) => text(ratings) },
          { key: 'pieces', title: 'Pieces', isNumber: true, cell: pieces },
          { key: 'names', title: 'Used as', cell: ({ things }) => text(things.map(({ name }) => name).join(', ')) },
          {
            key: 'price',
            title: 'Unit price',
            isNumber: true,
            cell: ({ things }) => cells.fact(things[0]!, 'price'),
          },
        ],
        [...rows.values()],
        'The design has no parts.',
      ),
      ...labelBlocks(input),
    ],
  };
}

function whole({ properties }: Instance, name: string): number | undefined {
  const value = properties.get(name)?.value;
  return value?.type === 'quantity' ? value.quantity.value : undefined;
}
