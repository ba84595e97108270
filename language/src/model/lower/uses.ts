import type * as ast from '../../grammar/generated/ast.js';
import type { FileScope } from './file-scope.js';

/** Reports what is wrong with the files that a file draws in. */
export function checkUses(scope: FileScope, file: ast.File): void {
  for (const use of file.uses ?? []) {
    if (typeof use.path !== 'string') continue;
    const at = scope.placeOf(use, 'path');
    const target = scope.services.visible.target(scope.document.uri, use.path);
    if (!target) {
      scope.report(use, { code: 'import-outside', path: use.path, reason: 'not-relative' }, '', at);
    } else if (!scope.services.mayUse(scope.document.uri, target)) {
      const mend = scope.services.howToAllow(target);
      scope.report(
        use,
        { code: 'import-outside', path: use.path, reason: 'outside', ...(mend === undefined ? {} : { mend }) },
        '',
        at,
      );
    } else if (!scope.services.isLoaded(target)) {
      const hint = scope.services.whyUnread(target);
      scope.report(
        use,
        {
          code: 'unknown-name',
          name: use.path,
          wanted: 'file',
          candidates: [],
          ...(hint === undefined ? {} : { hint }),
        },
        '',
        at,
      );
    } else {
      const chain = loopFrom(scope, target.toString(), [scope.uri]);
      if (chain) scope.report(use, { code: 'import-loop', chain }, '', at);
    }
  }
}

/** The chain of files that leads from `uri` back to this file; undefined when none does. */
function loopFrom(
  scope: FileScope,
  uri: string,
  chain: readonly string[],
  seen = new Set<string>(),
): readonly string[] | undefined {
  if (uri === scope.uri) return [...chain, uri];
  if (seen.has(uri)) return undefined;
  seen.add(uri);
  const document = scope.services.visible.byUri(uri);
  for (const used of document ? scope.services.visible.used(document) : []) {
    const found = loopFrom(scope, used.uri.toString(), [...chain, uri], seen);
    if (found) return found;
  }
  return undefined;
}
