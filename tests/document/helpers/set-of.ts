import { type HandoverSet, drawDesign, handoverSet } from '@wattwright/language';
import { layoutEngine } from '../../../server/src/drawing/layout-engine.js';
import { analyseText } from '../../helpers/analyse.js';

export const STAMP = { tool: 'wattwright test', commit: 'abc1234', date: '2027-01-01' };

/** The hand-over set of the first design of a text, or of the one named. */
export async function setOf(text: string, design?: string): Promise<HandoverSet> {
  const analysis = await analyseText({ 'made.watt': text });
  const found = analysis.designs.find(({ system }) => design === undefined || system.name === design)!;
  return handoverSet(analysis, found, { drawn: await drawDesign(analysis, found, layoutEngine()), stamp: STAMP });
}

/** The rows of a table of the set as texts by the keys of their columns; undefined for a box to fill in. */
export function rowsOf({ sheets }: HandoverSet, key: string): readonly Readonly<Record<string, string | undefined>>[] {
  const blocks = sheets.flatMap((sheet) => sheet.blocks);
  const table = blocks.flatMap((block) => (block.kind === 'table' && block.key === key ? [block] : []))[0];
  if (!table) throw new Error(`there is no table ${key}`);
  return table.rows.map((row) =>
    Object.fromEntries(
      row.map((cell, index) => [table.columns[index]!.key, cell.kind === 'box' ? undefined : cell.text]),
    ),
  );
}
