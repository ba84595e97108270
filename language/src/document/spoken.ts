import { type Practice, inWordsOf } from '../glossary/basis-words.js';
import type { Block, Cell, Sheet } from './sheet.js';

/** A sheet in the words of the practice that its design follows: `ground fault` or `earth fault`. What the design itself says stays as it is: names, labels, comments, notes. */
export function spokenSheet(sheet: Sheet, practice: Practice, own: ReadonlySet<string>): Sheet {
  const told = (text: string): string => inWordsOf(practice, text, own);
  const cell = (each: Cell): Cell => (each.kind === 'text' ? { ...each, text: told(each.text) } : each);
  const block = (each: Block): Block => {
    switch (each.kind) {
      case 'table':
        return {
          ...each,
          title: told(each.title),
          empty: told(each.empty),
          columns: each.columns.map((column) => ({ ...column, title: told(column.title) })),
          rows: each.rows.map((row) => row.map(cell)),
        };
      case 'text':
        return { ...each, paragraphs: each.paragraphs.map(told) };
      case 'list':
        return {
          ...each,
          ...(each.title === undefined ? {} : { title: told(each.title) }),
          items: each.items.map(told),
        };
      case 'caution':
        return { ...each, lines: each.lines.map(told) };
      case 'figure':
      case 'worked':
        return each;
    }
  };
  return { ...sheet, title: told(sheet.title), blocks: sheet.blocks.map(block) };
}
