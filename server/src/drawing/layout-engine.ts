import type { LayoutEngine, LayoutNode } from '@wattwright/language';
import ElkConstructor from 'elkjs/lib/elk.bundled.js';

/** Longest part of a fault of the engine that is shown: its own texts quote its source. */
const LONGEST_FAULT = 300;

/** The engine that lays out drawings; the same graph gives the same places. */
export function layoutEngine(): LayoutEngine {
  // The module's types describe its default as a namespace under some settings.
  const elk = new (ElkConstructor as unknown as new () => { layout: (graph: unknown) => Promise<unknown> })();
  return {
    layout: async (graph) => {
      try {
        return (await elk.layout(graph)) as LayoutNode;
      } catch (error) {
        const text = error instanceof Error ? error.message : String(error);
        // The engine's own fault prints a megabyte of its source with its stack.
        // eslint-disable-next-line preserve-caught-error
        throw new Error(`the drawing cannot be laid out: ${text.slice(0, LONGEST_FAULT)}`);
      }
    },
  };
}
