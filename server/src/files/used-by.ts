import { ast, useTarget } from '@wattwright/language';
import type { LangiumDocument, LangiumSharedCoreServices } from 'langium';

/** The addresses that a file names behind `use`. */
export function usedBy(document: LangiumDocument, shared: LangiumSharedCoreServices): string[] {
  const file = document.parseResult.value;
  if (!ast.isFile(file)) return [];
  return file.uses.flatMap(({ path }) => {
    const uri = typeof path === 'string' ? useTarget(shared, document.uri, path) : undefined;
    return uri ? [uri.toString()] : [];
  });
}

/** A file with every other of some files that it draws in, directly or through others. */
export function drawnIn(
  document: LangiumDocument,
  files: readonly LangiumDocument[],
  shared: LangiumSharedCoreServices,
): ReadonlySet<LangiumDocument> {
  const byUri = new Map(files.map((file) => [file.uri.toString(), file]));
  const reached = new Set<LangiumDocument>([document]);
  for (const each of reached)
    for (const uri of usedBy(each, shared)) {
      const target = byUri.get(uri);
      if (target) reached.add(target);
    }
  return reached;
}
