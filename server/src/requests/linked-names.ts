import { ast } from '@wattwright/language';
import { AstUtils, type LangiumDocument, UriUtils } from 'langium';
import type { LinkedEditingRanges, Position } from 'vscode-languageserver';
import type { WattwrightServices } from '../workspace/analyses.js';
import { isLibrary } from '../workspace/boundaries.js';
import { spotAt } from './locate.js';
import { referenceIndexOf } from './references.js';

/** Letters, digits, _ and inner hyphens. */
const NAME_PATTERN = '[A-Za-z_\\u00C0-\\u017F][\\w\\u00C0-\\u017F-]*';

/**
 * The places of a name that can be typed anew together: its declaration and every use of it. Only where all of them stand in this file and
 * mean one declaration; everything else is a rename, which looks at other files and at names that are taken.
 */
export async function linkedNames(
  services: WattwrightServices,
  document: LangiumDocument,
  position: Position,
): Promise<LinkedEditingRanges | undefined> {
  const spot = spotAt(document, document.textDocument.offsetAt(position));
  if (!spot || (ast.isProperty(spot.node) && spot.feature === 'name')) return undefined;
  const { References } = services.references;
  const targets = References.findDeclarations(spot.leaf);
  const [target] = targets;
  if (!target || targets.length > 1) return undefined;
  const home = AstUtils.getDocument(target);
  if (isLibrary(home.uri) || home !== document) return undefined;
  await referenceIndexOf(services).complete();
  const uses = References.findReferences(target, { includeDeclaration: true }).toArray();
  if (uses.some(({ sourceUri }) => !UriUtils.equals(sourceUri, document.uri))) return undefined;
  return { ranges: uses.map(({ segment }) => segment.range), wordPattern: NAME_PATTERN };
}
