import { type Derivation, type Result, derive, known, missing, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { flagIn } from '../../model/stated-facts.js';
import type { Run } from '../../model/types.js';
import { sumOf } from '../../quantities/worst.js';
import type { SheetInput } from '../input.js';
import { type Block, type Cell, box, table, text } from '../sheet.js';
import { reelBlocks } from './reels.js';

/** What is cut of one size and type. */
export interface CutRow {
  readonly size: string;
  readonly type: string;
  readonly pieces: CutPiece[];
}

export interface CutPiece {
  readonly run: Run;
  /** Earth conductors that are cut apart from the others say so. */
  readonly isEarth: boolean;
  /** How many are cut; undefined where the design does not say. */
  readonly count: number | undefined;
}

/** What no cut length can be told without, of all that hold for the whole design. */
const lackingOfCuts = (context: DesignContext): string[] =>
  (['cutAllowance', 'cutReserve'] as const)
    .filter((name) => !context.setting(name))
    .map((name) => `${name} of the design`);

/** The box of a cut length that the design does not allow to be told. */
function boxForCuts({ context }: SheetInput): Cell | undefined {
  const lacking = lackingOfCuts(context);
  return lacking.length === 0 ? undefined : { kind: 'box', why: `missing ${lacking.join(', ')}`, isSaidAbove: true };
}

/** Said once above the schedule, in place of words in every row. */
export const lackingForCuts = ({ context }: SheetInput): string | undefined => {
  const lacking = lackingOfCuts(context);
  return lacking.length === 0
    ? undefined
    : `Cut lengths are boxes to fill in: missing ${lacking.join(' and ')} (what is added at both ends, and the share kept in reserve).`;
};

/** Length that one conductor or cable of a run is cut to: its way, the reserve, and the allowance at both ends. */
function cutLength(run: Run, { context }: SheetInput): Result {
  const length = context.fact(run, 'length');
  const [allowance, reserve] = [context.setting('cutAllowance'), context.setting('cutReserve')];
  if (length.kind !== 'known') return length;
  if (!allowance || !reserve) return missing(...lackingOfCuts(context));
  const value = numberIn(length.derivation, 'm') * (1 + numberIn(reserve, '')) + 2 * numberIn(allowance, 'm');
  return known(
    derive(`cut length of ${run.name}`, value, 'm', {
      symbol: `l_${run.name}`,
      formula: 'l·(1 + r) + 2·a',
      inputs: [
        { ...length.derivation, symbol: 'l' },
        { ...reserve, symbol: 'r' },
        { ...allowance, symbol: 'a' },
      ],
    }),
  );
}

export const cutCell = (run: Run, input: SheetInput): Cell =>
  boxForCuts(input) ?? input.cells.result(cutLength(run, input));

/** `2 × BankFeed, 1 × BankFeed (earth); number not stated: InvOut` */
function piecesText(pieces: readonly CutPiece[]): string {
  const nameOf = ({ run, isEarth }: CutPiece): string => `${run.name}${isEarth ? ' (earth)' : ''}`;
  const counted = pieces.filter(({ count }) => count !== undefined);
  const others = pieces.filter(({ count }) => count === undefined);
  return [
    counted.map((piece) => `${piece.count} × ${nameOf(piece)}`).join(', '),
    others.length > 0 ? `number not stated: ${others.map(nameOf).join(', ')}` : '',
  ]
    .filter(Boolean)
    .join('; ');
}

/** The cut list: by size and type, what is cut for which run, and the length in all. */
export function cutBlocks(input: SheetInput): readonly Block[] {
  const rows = rowsOf(input);
  return [
    table<CutRow>(
      'cuts',
      'Cut list: totals by size and type',
      [
        { key: 'size', title: 'Size', cell: ({ size }) => text(size) },
        { key: 'type', title: 'Type', cell: ({ type }) => text(type) },
        {
          key: 'runs',
          title: 'Pieces',
          cell: ({ pieces }) => text(piecesText(pieces)),
        },
        { key: 'length', title: 'Total length, one way', isNumber: true, cell: (row) => wayOf(row, input) },
        { key: 'total', title: 'Total cut length', isNumber: true, cell: (row) => totalOf(row, input) },
        { key: 'taken', title: 'From reel', cell: () => box() },
      ],
      rows,
      'The design has no runs.',
    ),
    ...reelBlocks(input, rows, (run) => cutLength(run, input)),
  ];
}

function rowsOf({ system, context, cells }: SheetInput): CutRow[] {
  const rows = new Map<string, CutRow>();
  const add = (size: Cell, type: Cell, piece: CutPiece): void => {
    const [sizeText, typeText] = [size, type].map((cell) => (cell.kind === 'box' ? 'not stated' : cell.text)) as [
      string,
      string,
    ];
    const row = rows.get(`${sizeText}\n${typeText}`) ?? { size: sizeText, type: typeText, pieces: [] };
    row.pieces.push(piece);
    rows.set(`${sizeText}\n${typeText}`, row);
  };
  for (const run of system.runs) {
    const parallel = context.maybe(run, 'parallel');
    const times = parallel ? numberIn(parallel, '') : 1;
    const isCable = isSheathed(run);
    const conductors = context.maybe(run, 'conductors');
    add(cells.fact(run, 'size'), cells.fact(run, 'type'), {
      run,
      isEarth: false,
      // A cable holds all its conductors, its earth too. `conductors` counts those of a run, with all in parallel.
      count: isCable ? times : conductors ? numberIn(conductors, '') : undefined,
    });
    if (!isCable && run.properties.has('earth'))
      add(cells.fact(run, 'earth'), cells.fact(run, 'type'), { run, isEarth: true, count: times });
  }
  return [...rows.values()].sort((a, b) => (a.size + a.type < b.size + b.type ? -1 : 1));
}

/** Whether its conductors are one cable or cord. A type that is not stated may be anything. */
function isSheathed(run: Run): boolean {
  const value = run.properties.get('type')?.value;
  if (value?.type !== 'part') return false;
  return value.part.kind === 'cord' || flagIn(value.part.properties, 'sheathed') === true;
}

/** Ways of the runs, each once: what is laid, however many conductors lie in it. */
function wayOf({ pieces }: CutRow, { context, cells }: SheetInput): Cell {
  const lengths: Derivation[] = [];
  for (const { run } of pieces) {
    const length = context.fact(run, 'length');
    if (length.kind !== 'known') return cells.result(length);
    lengths.push({ ...length.derivation, symbol: `l_${run.name}` });
  }
  return cells.value(sumOf('length one way', 'L', 'm', lengths));
}

function totalOf({ pieces }: CutRow, input: SheetInput): Cell {
  const open = boxForCuts(input);
  if (open) return open;
  const lengths: Derivation[] = [];
  for (const { run, count } of pieces) {
    const cut = cutLength(run, input);
    if (cut.kind !== 'known') return input.cells.result(cut);
    if (count === undefined) return box(`missing conductors of ${run.name}`);
    lengths.push(
      count === 1
        ? cut.derivation
        : derive(`${count} pieces for ${run.name}`, count * numberIn(cut.derivation, 'm'), 'm', {
            symbol: `L_${run.name}`,
            formula: `${count}·l`,
            inputs: [cut.derivation],
          }),
    );
  }
  return input.cells.value(sumOf('length to cut', 'L', 'm', lengths));
}
