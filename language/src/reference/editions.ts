/** Which editions of the wiring rules the stored tables hold, and how a source is named in the edition of a design. */
import type { Source } from '../derivation/index.js';
import editionsFile from './editions.json' with { type: 'json' };
import { necRatings } from './nec.js';
import { standardRatings } from './standards.js';
import { type Basis, type Table, type TableRow, typed } from './table.js';

/** Stands for a table where a design only follows a practice. */
export const BASIS_OF_DESIGN = 'basis of the design';

export interface EditionsRow extends TableRow {
  readonly practice: Basis;
  /** As people call the rules. */
  readonly name: string;
  readonly editions: readonly string[];
  /** The standards that carry the practice. */
  readonly standards: readonly string[];
  /** By edition: what a section or table of today was called in it. */
  readonly renamed: Readonly<Record<string, Readonly<Record<string, string>>>>;
}

export const editionsTable = typed<Table<EditionsRow>>(editionsFile);

/** The rules of a practice with their stored editions. */
export function editionsOf(practice: Basis): EditionsRow {
  const row = editionsTable.rows.find((candidate) => candidate.practice === practice);
  if (!row) throw new RangeError(`no editions of ${practice}`);
  return row;
}

/** The newest stored edition, which holds where a design states none. */
export const newestEdition = (practice: Basis): string => editionsOf(practice).editions.at(-1)!;

/** Whether `2017-2023` or `2023` covers an edition. */
function covers(range: string, edition: string): boolean {
  const [from = '', to = from] = range.split('-');
  return from <= edition && edition <= to;
}

/** What a design follows: its practice with the edition it states. */
export interface Rules {
  readonly practice: Basis;
  readonly edition?: string;
}

/**
 * The standard ratings (A) of a sort of device under the rules of a design: some NEC ratings are standard for fuses alone, and 10 A for
 * breakers only from 2023.
 */
export function ratingsUnder(rules: Rules, sort: 'fuse' | 'breaker'): readonly number[] {
  if (rules.practice !== 'nec' || sort === 'fuse') return standardRatings(rules.practice);
  const edition = rules.edition ?? newestEdition('nec');
  return necRatings.rows
    .filter(
      ({ devices, breakersFrom }) => devices !== 'fuse' || (breakersFrom !== undefined && breakersFrom <= edition),
    )
    .map(({ rating }) => rating);
}

/** A source as the edition of a design calls it: `NEC (2017-2023) Table 310.16` is `NEC (2017) Table 310.15(B)(16)` in a design of 2017. */
export function inEdition(source: Source, { practice, edition }: Rules): Source {
  const row = editionsOf(practice);
  if (practice !== 'nec' || edition === undefined || !row.standards.includes(source.standard)) return source;
  if (!row.editions.includes(edition) || (source.edition !== undefined && !covers(source.edition, edition)))
    return source;
  const renamed = Object.entries(row.renamed[edition] ?? {});
  const table = renamed.reduce((text, [now, then]) => text?.replaceAll(now, then), source.table);
  return { ...source, edition, ...(table === undefined ? {} : { table }) };
}

/** A section of the NEC as the edition of a design calls it: `310.10(G)` is `310.10(H)` in 2017. */
export const sectionIn = (section: string, { practice, edition }: Rules): string =>
  (practice === 'nec' && edition !== undefined && editionsOf('nec').renamed[edition]?.[section]) || section;

/**
 * The sources of a finding under the rules of a design: in its edition, and with the rules themselves where no source names them, so that
 * every finding says what it was judged by. Rules of other practices are left out where its own are among them.
 */
export function sourcesUnder(rules: Rules, sources: readonly Source[]): readonly Source[] {
  const { name, standards } = editionsOf(rules.practice);
  const foreign = editionsTable.rows
    .filter(({ practice }) => practice !== rules.practice)
    .flatMap((row) => row.standards);
  // Where the design's own rules speak, those of another practice decide nothing.
  const hasOwn = sources.some(({ standard }) => standards.includes(standard));
  const own = hasOwn ? sources.filter(({ standard }) => !foreign.includes(standard)) : sources;
  const named = own.map((source) => inEdition(source, rules));
  if (named.some(({ standard }) => standards.includes(standard))) return named;
  const edition = rules.edition ?? (rules.practice === 'nec' ? `newest stored, ${newestEdition('nec')}` : undefined);
  return [
    ...named,
    { standard: name, ...(edition ? { edition } : {}), table: BASIS_OF_DESIGN, provenance: 'published' },
  ];
}
