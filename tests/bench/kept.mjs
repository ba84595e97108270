// Figures of the last run of the bench that was kept, as ratios, so that what has become slower is named.
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';

const FILE = path.join(import.meta.dirname, 'kept.json');
/** Told from here on: ratios of one machine scatter by less when it is quiet. */
export const SLOWER_BY = 1.15;

/** @returns {Readonly<Record<string, number>>} */
const keptRatios = () => (existsSync(FILE) ? JSON.parse(readFileSync(FILE, 'utf8')).ratios : {});

/**
 * What has become slower than it was kept, as lines to print.
 * @param {readonly { id?: string, name: string, ratio?: number }[]} measures
 * @param {Readonly<Record<string, number>>} kept
 * @returns {string[]}
 */
export function slowerThan(measures, kept = keptRatios()) {
  return measures.flatMap(({ id, name, ratio }) => {
    const before = id === undefined ? undefined : kept[id];
    return before === undefined || ratio === undefined || ratio <= before * SLOWER_BY
      ? []
      : [`${name}: ${ratio.toFixed(2)}, kept ${before.toFixed(2)} (${(ratio / before).toFixed(2)} times)`];
  });
}

/**
 * Figures that nothing can be compared with yet, by their names.
 * @param {readonly { id?: string, name: string, ratio?: number }[]} measures
 * @param {Readonly<Record<string, number>>} kept
 * @returns {string[]}
 */
export const notKept = (measures, kept = keptRatios()) =>
  measures.flatMap(({ id, name, ratio }) =>
    id !== undefined && ratio !== undefined && kept[id] === undefined ? [name] : [],
  );

/**
 * Keeps the figures of a run for those to come.
 * @param {readonly { id?: string, ratio?: number }[]} measures
 */
export function keep(measures) {
  const ratios = Object.fromEntries(
    measures.flatMap(({ id, ratio }) =>
      id === undefined || ratio === undefined ? [] : [[id, Number(ratio.toFixed(3))]],
    ),
  );
  writeFileSync(FILE, `${JSON.stringify({ node: process.version, ratios }, undefined, 2)}\n`);
}
