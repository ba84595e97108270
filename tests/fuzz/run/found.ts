import { createHash } from 'node:crypto';
import { mkdirSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import type { Case } from './trial.js';

/** Where what was found is kept, to be tried again by `npm test`. */
export const FOUND = path.resolve(import.meta.dirname, '../found');

export interface Found {
  /** What it broke when it was found. */
  readonly broke: readonly string[];
  readonly case: Case;
}

export function keep(found: Found): string {
  const digest = createHash('sha256').update(JSON.stringify(found.case)).digest('hex').slice(0, 10);
  const name = `${found.case.kind}-${digest}.json`;
  mkdirSync(FOUND, { recursive: true });
  writeFileSync(path.join(FOUND, name), `${JSON.stringify(found, undefined, 2)}\n`);
  return name;
}

export const allFound = (): readonly (readonly [name: string, found: Found])[] =>
  readdirSync(FOUND)
    .filter((name) => name.endsWith('.json'))
    .sort()
    .map((name) => [name, JSON.parse(readFileSync(path.join(FOUND, name), 'utf8')) as Found] as const);
