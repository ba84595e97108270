import type { Source } from '../../derivation/index.js';
import pipeRoughnessJson from './pipe-roughness.json' with { type: 'json' };
import { type Provenance, type Table, asTable, tableSource } from './table.js';

/** Coefficient C of Hazen and Williams of a pipe by its material. */
export interface PipeRoughness {
  readonly material: string;
  readonly title: string;
  readonly coefficient: number;
  readonly provenance: Provenance;
}

const pipes = asTable<Table<PipeRoughness>>(pipeRoughnessJson);
export const PIPE_ROUGHNESS: readonly PipeRoughness[] = pipes.rows;

export function pipeRoughness(material: string): (PipeRoughness & { readonly source: Source }) | undefined {
  const row = PIPE_ROUGHNESS.find((each) => each.material === material);
  return row && { ...row, source: { ...tableSource(pipes), provenance: row.provenance } };
}
