import { DocumentState } from 'langium';
import { type LangiumSharedServices, createServerRequestHandler } from 'langium/lsp';
import type {
  CodeAction,
  CodeLens,
  Connection,
  InlayHint,
  LinkedEditingRangeParams,
  LinkedEditingRanges,
  SelectionRange,
  SelectionRangeParams,
} from 'vscode-languageserver';
import type { WattwrightServices } from '../workspace/analyses.js';
import type { DesignCodeActions } from './code-actions.js';
import type { HintsWithHoles } from './holes.js';
import type { DesignLenses } from './lenses.js';
import { linkedNames } from './linked-names.js';
import { selectionAt } from './selection.js';

/** Requests that Langium has no handlers for: what may be selected, names typed together, and the second look at what was offered. */
export function addFurtherRequests(
  connection: Connection,
  shared: LangiumSharedServices,
  services: WattwrightServices,
): void {
  connection.onSelectionRanges(
    createServerRequestHandler<SelectionRangeParams, SelectionRange[], SelectionRange[], void>(
      (_services, document, { positions }) => (positions ?? []).map((position) => selectionAt(document, position)),
      shared,
      DocumentState.Parsed,
    ),
  );
  connection.languages.onLinkedEditingRange(
    createServerRequestHandler<LinkedEditingRangeParams, LinkedEditingRanges, never, void>(
      (_services, document, { position }) => linkedNames(services, document, position),
      shared,
      DocumentState.IndexedReferences,
    ),
  );
  const { lsp } = services;
  connection.onCodeActionResolve((action: CodeAction) => (lsp.CodeActionProvider as DesignCodeActions).resolve(action));
  connection.onCodeLensResolve((lens: CodeLens) => (lsp.CodeLensProvider as DesignLenses).resolve(lens));
  connection.languages.inlayHint.resolve((hint: InlayHint) => (lsp.InlayHintProvider as HintsWithHoles).resolve(hint));
}
