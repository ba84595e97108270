import { type Derivation, type Result, derive, numberIn } from '../../derivation/index.js';
import type { Run } from '../../model/types.js';
import { sumOf } from '../../quantities/worst.js';
import { said } from '../cells.js';
import type { SheetInput } from '../input.js';
import { type Block, box, table, text } from '../sheet.js';
import type { CutPiece, CutRow } from './cuts.js';

/** One piece of conductor or cable. */
interface Piece {
  readonly piece: CutPiece;
  readonly length: Derivation;
}

/** Length that each conductor of a run is cut to. */
type LengthOf = (run: Run) => Result;

/** One reel of a size and type, with what is cut off it; without pieces where they are not known. */
interface Reel {
  readonly size: string;
  readonly type: string;
  readonly number: number;
  readonly count: number;
  readonly pieces: readonly Piece[];
  /** Why it is not known what is cut. */
  readonly missing?: string;
}

/**
 * Which piece comes off which reel, where the design says how long reels are: the longest first, each off the first reel that still has
 * it (first fit decreasing; at most 11/9 of the fewest reels and one more, Johnson 1973, from memory). None is joined of two.
 */
export function reelBlocks(input: SheetInput, rows: readonly CutRow[], lengthOf: LengthOf): readonly Block[] {
  const reel = input.context.setting('reelLength');
  if (!reel) return [];
  return [
    table<Reel>(
      'reels',
      `Reels of ${said(reel)}: the longest piece first, none joined of two`,
      [
        { key: 'size', title: 'Size', cell: ({ size }) => text(size) },
        { key: 'type', title: 'Type', cell: ({ type }) => text(type) },
        {
          key: 'reel',
          title: 'Reel',
          cell: ({ number, count, missing }) => (missing === undefined ? text(`${number} of ${count}`) : box()),
        },
        {
          key: 'pieces',
          title: 'Pieces in this order',
          cell: ({ pieces, missing }) => (missing === undefined ? text(piecesText(pieces)) : box(missing)),
        },
        {
          key: 'used',
          title: 'Cut off in all',
          isNumber: true,
          cell: (each) => (each.missing === undefined ? input.cells.value(usedOf(each)) : box()),
        },
        {
          key: 'left',
          title: 'Left on it',
          isNumber: true,
          cell: (each) => {
            if (each.missing !== undefined) return box();
            const left = leftOf(each, reel);
            return left ? input.cells.value(left) : text('longer than a reel: buy it by length');
          },
        },
        { key: 'done', title: 'Cut', cell: () => box() },
      ],
      rows.flatMap((row) => reelsOf(row, reel, lengthOf)),
      'The design has no runs.',
    ),
  ];
}

function reelsOf({ size, type, pieces }: CutRow, reel: Derivation, lengthOf: LengthOf): Reel[] {
  const cut: Piece[] = [];
  for (const piece of pieces) {
    const length = lengthOf(piece.run);
    const missing =
      length.kind !== 'known'
        ? length.kind === 'missing'
          ? length.missing.join(', ')
          : length.reason
        : piece.count === undefined
          ? `conductors of ${piece.run.name}`
          : undefined;
    if (length.kind !== 'known' || piece.count === undefined)
      return [{ size, type, number: 1, count: 1, pieces: [], missing: `missing ${missing}` }];
    for (let index = 0; index < piece.count; index += 1) cut.push({ piece, length: length.derivation });
  }
  const whole = numberIn(reel, 'm');
  const reels: { readonly pieces: Piece[]; left: number }[] = [];
  for (const each of [...cut].sort((a, b) => numberIn(b.length, 'm') - numberIn(a.length, 'm'))) {
    const length = numberIn(each.length, 'm');
    const found = reels.find(({ left }) => length <= left * (1 + 1e-9));
    if (found) {
      found.pieces.push(each);
      found.left -= length;
    } else reels.push({ pieces: [each], left: whole - length });
  }
  return reels.map((each, index) => ({ size, type, number: index + 1, count: reels.length, pieces: each.pieces }));
}

/** `2 × Feed (1.85 m), 1 × Charge earth (1.85 m)` */
function piecesText(pieces: readonly Piece[]): string {
  const counts = new Map<CutPiece, { count: number; readonly length: Derivation }>();
  for (const { piece, length } of pieces) {
    const found = counts.get(piece);
    if (found) found.count += 1;
    else counts.set(piece, { count: 1, length });
  }
  return [...counts]
    .map(
      ([{ run, isEarth }, { count, length }]) => `${count} × ${run.name}${isEarth ? ' earth' : ''} (${said(length)})`,
    )
    .join(', ');
}

const usedOf = ({ pieces, size, number }: Reel): Derivation =>
  sumOf(
    `cut off reel ${number} of ${size}`,
    'L',
    'm',
    pieces.map(({ piece, length }) => ({ ...length, symbol: `l_${piece.run.name}` })),
  );

/** What is left on a reel; undefined where its one piece is longer than it. */
function leftOf(each: Reel, reel: Derivation): Derivation | undefined {
  const used = usedOf(each);
  const left = numberIn(reel, 'm') - numberIn(used, 'm');
  return left < -1e-9
    ? undefined
    : derive(`left on reel ${each.number} of ${each.size}`, Math.max(0, left), 'm', {
        symbol: 'r',
        formula: 'l_reel − L',
        inputs: [{ ...reel, symbol: 'l_reel' }, used],
      });
}
