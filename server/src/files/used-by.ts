import { ast, resolveUse } from '@wattwright/language';
import type { LangiumDocument } from 'langium';

/** The addresses that a file names behind `use`. */
export function usedBy(document: LangiumDocument): string[] {
  const file = document.parseResult.value;
  if (!ast.isFile(file)) return [];
  return file.uses.flatMap(({ path }) => {
    const uri = typeof path === 'string' ? resolveUse(document.uri, path) : undefined;
    return uri ? [uri.toString()] : [];
  });
}

/** A file with every other of some files that it draws in, directly or through others. */
export function drawnIn(document: LangiumDocument, files: readonly LangiumDocument[]): ReadonlySet<LangiumDocument> {
  const byUri = new Map(files.map((file) => [file.uri.toString(), file]));
  const reached = new Set<LangiumDocument>([document]);
  for (const each of reached)
    for (const uri of usedBy(each)) {
      const target = byUri.get(uri);
      if (target) reached.add(target);
    }
  return reached;
}
