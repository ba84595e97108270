import { drawnInBy } from '@wattwright/language';
import type { LangiumDocument, LangiumSharedCoreServices } from 'langium';

/** The addresses of what a file draws in: what it names behind `use`, and what its project gives to all. */
export function usedBy(document: LangiumDocument, shared: LangiumSharedCoreServices): string[] {
  return drawnInBy(shared, document).map((uri) => uri.toString());
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
