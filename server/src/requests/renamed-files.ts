import { ast, useTarget } from '@wattwright/language';
import { GrammarUtils, type LangiumDocument, URI } from 'langium';
import type { LangiumSharedServices } from 'langium/lsp';
import type { RenameFilesParams, TextEdit, WorkspaceEdit } from 'vscode-languageserver';
import { isLibrary } from '../workspace/boundaries.js';
import { isAddress } from './guard.js';

/** What `use` has to say before files or folders are moved, so that every file goes on finding what it names. */
export function usesAfterMove(shared: LangiumSharedServices, { files }: RenameFilesParams): WorkspaceEdit | null {
  const moves = files
    .filter(({ oldUri, newUri }) => isAddress(oldUri) && isAddress(newUri))
    .map(({ oldUri, newUri }) => ({ from: URI.parse(oldUri), to: URI.parse(newUri) }));
  /** Where a file will lie: a folder takes along what is in it. */
  const after = (uri: URI): URI => {
    for (const { from, to } of moves) {
      if (uri.toString() === from.toString()) return to;
      const inside = `${from.path.replace(/\/$/, '')}/`;
      if (uri.scheme === from.scheme && uri.authority === from.authority && uri.path.startsWith(inside))
        return to.with({ path: `${to.path.replace(/\/$/, '')}/${uri.path.slice(inside.length)}` });
    }
    return uri;
  };
  const changes: Record<string, TextEdit[]> = {};
  for (const document of shared.workspace.LangiumDocuments.all) {
    if (isLibrary(document.uri)) continue;
    const edits = usesOf(document, after, shared);
    // The change is made before the move: the file still has its old name.
    if (edits.length > 0) changes[document.uri.toString()] = edits;
  }
  return Object.keys(changes).length > 0 ? { changes } : null;
}

function usesOf(document: LangiumDocument, after: (uri: URI) => URI, shared: LangiumSharedServices): TextEdit[] {
  const file = document.parseResult.value;
  if (!ast.isFile(file)) return [];
  const home = after(document.uri);
  return file.uses.flatMap((use) => {
    const path = GrammarUtils.findNodeForProperty(use.$cstNode, 'path');
    const target = typeof use.path === 'string' ? useTarget(shared, document.uri, use.path) : undefined;
    if (!path || !target) return [];
    const moved = after(target);
    // What is still found by what is written stays as it is, such as a folder that the project names.
    if (useTarget(shared, home, use.path ?? '')?.toString() === moved.toString()) return [];
    const written = `"${relativePath(home, moved)}"`;
    return written === path.text ? [] : [{ range: path.range, newText: written }];
  });
}

/** The path from one file to another, as `use` writes it. */
export function relativePath(from: URI, to: URI): string {
  const [start, end] = [from.path.split('/').slice(0, -1), to.path.split('/')];
  let common = 0;
  while (common < start.length && common < end.length - 1 && start[common] === end[common]) common += 1;
  return [...start.slice(common).map(() => '..'), ...end.slice(common)].join('/');
}
