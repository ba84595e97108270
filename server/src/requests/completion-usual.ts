import { CHECKS, type PropertyDefinition, ast, kindOf } from '@wattwright/language';
import { AstUtils, type AstNode, type LangiumDocuments } from 'langium';
import { CompletionItemKind, InsertTextFormat } from 'vscode-languageserver';
import type { Item } from './completion-items.js';

/** How often the things of each kind in a document state each property. */
type Counts = ReadonlyMap<string, ReadonlyMap<string, number>>;
const COUNTS = new WeakMap<AstNode, Counts>();

/** Properties that are taken for usual where nothing tells what things of a kind usually state. */
const FIRST_OF_A_KIND = 5;
/** Things of a kind from which on they tell what is usual. */
const ENOUGH_TO_TELL = 2;

/** Of so many things of a kind at least one states what is usual: of open files, and of examples, which leave out what they do not need. */
const SHARE_IN_FILES = 2;
const SHARE_IN_EXAMPLES = 3;

/**
 * The properties that things of a kind usually state, by the files that are open here, or where these have too few of them by the examples
 * of the checks.
 */
export function usualProperties(kind: string, documents: LangiumDocuments): readonly PropertyDefinition[] {
  const open = new Map<string, number>();
  for (const { parseResult } of documents.all)
    for (const [name, number] of countsOf(parseResult.value).get(kind) ?? [])
      open.set(name, (open.get(name) ?? 0) + number);
  const { properties = [] } = kindOf(kind) ?? {};
  for (const [counts, share] of [
    [open, SHARE_IN_FILES],
    [inExamples(kind), SHARE_IN_EXAMPLES],
  ] as const) {
    const things = counts.get('') ?? 0;
    if (things >= ENOUGH_TO_TELL) return properties.filter(({ name }) => (counts.get(name) ?? 0) * share >= things);
  }
  return properties.filter((each) => !each.default).slice(0, FIRST_OF_A_KIND);
}

function countsOf(root: AstNode): Counts {
  let counts = COUNTS.get(root);
  if (!counts) COUNTS.set(root, (counts = count(root)));
  return counts;
}

const EXAMPLES = new Map<string, ReadonlyMap<string, number>>();

/**
 * What things of a kind state in the examples of the checks that pass, which are designs of the practice in little. They are searched
 * rather than parsed, which takes a hundredth of the time: a list has to stand at once.
 */
function inExamples(kind: string): ReadonlyMap<string, number> {
  let counts = EXAMPLES.get(kind);
  if (counts) return counts;
  const all = new Map<string, number>();
  const header = kind === 'run' || kind === 'link' ? '[\\w-]+:[^{}:]*' : '[\\w-]+ ';
  for (const { docs } of CHECKS)
    for (const [, body = ''] of docs.passing.matchAll(new RegExp(`^ *${kind} ${header}\\{([^{}]*)\\}`, 'gm'))) {
      const stated = new Set([...body.matchAll(/\b(\w+): /g)].map(([, name]) => name!));
      for (const name of stated.size > 0 ? ['', ...stated] : []) all.set(name, (all.get(name) ?? 0) + 1);
    }
  EXAMPLES.set(kind, (counts = all));
  return counts;
}

function count(root: AstNode): Counts {
  const all = new Map<string, Map<string, number>>();
  for (const node of AstUtils.streamAllContents(root)) {
    if (!ast.isInstance(node) && !ast.isRun(node) && !ast.isLink(node)) continue;
    const kind = ast.isInstance(node) ? node.kind : ast.isRun(node) ? 'run' : 'link';
    const own = all.get(kind) ?? new Map<string, number>();
    all.set(kind, own);
    // What is made of a part states what the part does not, and says nothing of what is usual.
    const stated = new Set((node.body?.properties ?? []).map(({ name }) => name));
    if (stated.size === 0 || (ast.isInstance(node) && node.part)) continue;
    for (const name of ['', ...stated]) own.set(name, (own.get(name) ?? 0) + 1);
  }
  return all;
}

/** The usual properties that are not stated yet, as one piece of text with places to fill in. */
export function usualSnippet(kind: string, stated: readonly string[], documents: LangiumDocuments): Item[] {
  const lacking = usualProperties(kind, documents).filter(({ name }) => !stated.includes(name));
  if (lacking.length < 2) return [];
  return [
    {
      label: `usual properties of a ${kind}`,
      filterText: 'usual',
      kind: CompletionItemKind.Snippet,
      insertTextFormat: InsertTextFormat.Snippet,
      insertText: lacking
        .map((property, index) => `${property.name}: \${${index + 1}:${placeholder(property)}}`)
        .join('   '),
      detail: lacking.map(({ name }) => name).join(', '),
    },
  ];
}

/** What stands in a snippet where a value is to be filled in: a hole where the language reads one, else what it takes. */
export function placeholder({ type, default: standard }: PropertyDefinition): string {
  if (standard) return standard.text;
  switch (type.type) {
    case 'word':
    case 'words':
      return type.words[0]?.word ?? '?';
    case 'flag':
      return 'yes';
    case 'text':
      return '""';
    default:
      return '?';
  }
}
