import { type Drawing, type Stamp, buildDrawing } from '@wattwright/language';
import { DocumentState, URI } from 'langium';
import { type Connection, type Range, RequestType } from 'vscode-languageserver';
import { rangeOf } from '../convert/to-lsp.js';
import type { Server, StampOf } from '../create-server.js';
import { drawnIn } from '../files/used-by.js';
import { VERSION } from '../version.js';

export interface DrawingParameters {
  readonly textDocument: { readonly uri: string };
  /** Name of the design or variant; the first design of the file when there is none of that name. */
  readonly design?: string;
  /** Whether the picture is to be kept: its stamp then names the commit. */
  readonly isForFile?: boolean;
}

/** An element of the drawing and where its name stands. */
export interface DrawnElement {
  readonly id: string;
  readonly kind: 'symbol' | 'run' | 'link';
  readonly description: string;
  readonly uri: string;
  readonly range: Range;
}

export interface DrawingAnswer {
  /** Designs and variants of the file. */
  readonly designs: readonly string[];
  readonly design: string;
  readonly drawing: Drawing;
  readonly elements: readonly DrawnElement[];
  readonly stamp: Stamp;
}

/** The drawing of a design as data, without places, with where each element stands in the text; null where the file has no design. */
export const DrawingRequest = new RequestType<DrawingParameters, DrawingAnswer | null, void>('wattwright/drawing');

export function addDrawingRequest(connection: Connection, { shared, wattwright }: Server, stampOf?: StampOf): void {
  connection.onRequest(DrawingRequest, async ({ textDocument, design: wanted, isForFile }, token) => {
    const uri = URI.parse(textDocument.uri);
    const { DocumentBuilder, LangiumDocuments, WorkspaceManager } = shared.workspace;
    await WorkspaceManager.ready;
    await DocumentBuilder.waitUntil(DocumentState.Validated, uri, token);
    const document = LangiumDocuments.getDocument(uri);
    const analysis = document && wattwright.analysis.Analyses.of(document);
    const design = analysis?.designs.find(({ system }) => system.name === wanted) ?? analysis?.designs[0];
    if (!document || !analysis || !design) return null;
    const drawing = buildDrawing(analysis, design);
    const plain: Stamp = { tool: `wattwright ${VERSION}` };
    // Which files it rests on, and their commit, are asked for where a picture is kept, not at every keystroke.
    const isStamped = stampOf !== undefined && isForFile === true && uri.scheme === 'file';
    const filesOf = (): string[] =>
      [...drawnIn(document, LangiumDocuments.all.toArray(), shared)].map((each) => each.uri.fsPath);
    return {
      designs: analysis.designs.map((each) => each.system.name),
      design: design.system.name,
      drawing,
      elements: elementsOf(drawing),
      stamp: isStamped ? await stampOf(filesOf()) : plain,
    };
  });
}

function elementsOf({ symbols, stretches, runs, links }: Drawing): DrawnElement[] {
  const described = new Map(runs.map(({ id, description }) => [id, description]));
  const seen = new Set<string>();
  return [
    ...symbols.map(({ id, description, place }) => ({ id, kind: 'symbol' as const, description, place })),
    ...stretches.flatMap(({ run, place }) => {
      if (seen.has(run)) return [];
      seen.add(run);
      return [{ id: run, kind: 'run' as const, description: described.get(run) ?? run, place }];
    }),
    ...links.map(({ id, place }) => ({ id, kind: 'link' as const, description: id, place })),
  ].map(({ place, ...element }) => ({ ...element, uri: place.uri, range: rangeOf(place) }));
}
