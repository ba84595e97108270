import type { Link } from '../../model/types.js';
import type { SheetInput } from '../input.js';
import { type Column, type Sheet, table, text } from '../sheet.js';

/** For who lands the data lines: what speaks to what, how, and what is lost with it. */
export function linksSheet({ system, cells }: SheetInput): Sheet {
  const fact = (key: string, title: string): Column<Link> => ({ key, title, cell: (link) => cells.fact(link, key) });
  const lost = (link: Link): string => {
    const rules = system.controls.flatMap(({ name, fallbacks }) =>
      fallbacks.some((each) => each.link === link) ? [`${name} follows its rules without it`] : [],
    );
    return rules.join('; ') || 'no control rule says what happens then';
  };
  const isFew = system.links.length <= FEW;
  const links = table<Link>(
    'links',
    'Communication links',
    [
      { key: 'name', title: 'Link', cell: ({ name }) => text(name) },
      { key: 'from', title: 'From', cell: ({ from }) => text(from.name) },
      { key: 'to', title: 'To', cell: ({ to }) => text(to.name) },
      fact('medium', 'Medium'),
      fact('protocol', 'Protocol'),
      fact('rate', 'Rate'),
      fact('address', 'Address'),
      fact('terminators', 'Terminators'),
      fact('pins', 'Pins'),
      fact('cable', 'Cable'),
      fact('length', 'Length'),
      { key: 'lost', title: 'When it is lost', cell: (link) => text(lost(link)) },
    ],
    system.links,
    'The design has no links.',
  );
  return {
    name: 'links',
    title: 'Links',
    reader: 'who lands the data lines',
    ...(isFew ? { isShort: true as const } : { isWide: true as const }),
    blocks: [isFew ? { ...links, isTurned: true } : links],
  };
}

/** So many links stand side by side on an upright page. */
const FEW = 4;
