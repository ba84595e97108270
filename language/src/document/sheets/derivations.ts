import { workedLines } from '../../explain/worked.js';
import type { SheetInput } from '../input.js';
import type { Block, Sheet } from '../sheet.js';

/** For the reviewer: how every number of the sheets came about, under the number by which they refer to it. Made last. */
export function derivationsSheet({ cells }: SheetInput): Sheet {
  return {
    name: 'derivations',
    title: 'Derivations',
    reader: 'reviewer',
    blocks: cells.shown.map(({ number, derivation }): Block => ({
      kind: 'worked',
      number,
      title: derivation.name,
      lines: workedLines(derivation, { digits: 4 }).map(({ depth, text, kind }) => ({
        depth,
        text,
        isValue: kind === 'value',
      })),
    })),
  };
}
