import type { AstNode } from 'langium';
import { findFunction } from '../calculate/index.js';
import * as ast from '../grammar/generated/ast.js';
import { type PropertyType, canonicalWord, propertyOf } from '../equipment/index.js';
import { PLAIN_SIGNALS } from '../model/lower/signals.js';
import type { VisibleDocuments } from '../syntax/scope.js';

/** The kind of a thing by its declaration. */
export function kindOfNode(node: AstNode): string | undefined {
  if (ast.isInstance(node) || ast.isPart(node)) return node.kind;
  if (ast.isRun(node)) return 'run';
  if (ast.isLink(node)) return 'link';
  if (ast.isControl(node)) return 'control';
  if (ast.isDesign(node)) return 'design';
  return ast.isScenario(node) ? 'scenario' : undefined;
}

/** The kind whose properties a body, a control or a design holds; undefined where there are none. */
export function kindAround(node: AstNode | undefined): string | undefined {
  for (let at = node; at; at = at.$container) {
    if (ast.isSite(at)) return 'site';
    const kind = kindOfNode(at);
    if (kind !== undefined || ast.isInstance(at) || ast.isPart(at)) return kind;
  }
  return undefined;
}

/** Words that stand for something by themselves wherever a value may stand; a declaration of that name would take their place. */
export const WORDS_WITH_MEANING: ReadonlySet<string> = new Set([...PLAIN_SIGNALS.keys(), 'always', 'yes', 'no']);

/** Properties whose values are never names of declarations. */
const PLAIN_TYPES: readonly PropertyType['type'][] = ['word', 'words', 'flag', 'text', 'date'];

/** The type of the property whose whole value, or one of whose values, a path is. */
function typeAround(path: ast.Path): PropertyType | undefined {
  const container: AstNode = ast.isAssumed(path.$container) ? path.$container.$container : path.$container;
  if (ast.isProperty(container)) {
    const kind = kindAround(container.$container);
    return kind === undefined ? undefined : propertyOf(kind, container.name ?? '')?.type;
  }
  if (ast.isOverride(container) && path !== container.subject) {
    const { root, steps } = container.subject ?? {};
    const word = root?.$refText ?? '';
    const kind = word === 'site' || word === 'design' ? word : root?.ref && kindOfNode(root.ref);
    return kind === undefined ? undefined : propertyOf(kind, steps?.[0] ?? '')?.type;
  }
  // profile(Pump): Mornings
  if (ast.isInitialValue(container) && container.target?.function === 'profile')
    return propertyOf('load', 'profile')?.type;
  return undefined;
}

/**
 * Whether `word`, standing where a path stands, is that word and nothing else, whatever is declared by the same name: `fuel: petrol`,
 * `profile: always`.
 */
export function isPlainWord(path: ast.Path, word = path.root?.$refText ?? ''): boolean {
  if ((path.steps ?? []).length > 0) return false;
  const type = typeAround(path);
  if (type && PLAIN_TYPES.includes(type.type)) return true;
  if (ast.isInitialValue(path.$container) && path.$container.target?.function === 'plugged') return word === 'nothing';
  if (ast.isInitialValue(path.$container) && path.$container.target?.function === 'refilled') return word === 'never';
  if (type?.type === 'profile' || ast.isInitialValue(path.$container)) return word === 'always';
  const argument = path.$container;
  if (!ast.isArgument(argument)) return false;
  const parameters = findFunction(argument.$container.function ?? '')?.parameters ?? {};
  const name = argument.name ?? Object.keys(parameters)[argument.$containerIndex ?? 0] ?? '';
  const parameter = Object.hasOwn(parameters, name) ? parameters[name] : undefined;
  return parameter?.type === 'word' && parameter.words.includes(canonicalWord(word));
}

/**
 * The declaration that the first name of a path stands for, as the model reads it: where a property takes a profile or a part, nothing
 * else of that name can be meant. `path.root.ref` alone is the nearest declaration of any sort.
 */
export function meantBy(path: ast.Path, visible: VisibleDocuments): AstNode | undefined {
  if (isPlainWord(path)) return undefined;
  const type = (path.steps ?? []).length === 0 ? typeAround(path) : undefined;
  if (type?.type !== 'profile' && type?.type !== 'part') return path.root?.ref;
  const fits = (node: AstNode): boolean =>
    type.type === 'profile' ? ast.isProfileDeclaration(node) : ast.isPart(node) && type.kinds.includes(node.kind);
  for (const table of visible.tables(path)) {
    const found = table.get(path.root?.$refText ?? '')?.find(fits);
    if (found) return found;
  }
  return undefined;
}
