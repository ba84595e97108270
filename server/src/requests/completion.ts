import {
  type KindDefinition,
  CATALOGUE_KINDS,
  DESIGN_FUNCTIONS,
  DIMENSIONS,
  type DimensionName,
  FUNCTIONS,
  INSTANCE_KINDS,
  METRIC_SERIES,
  AWG_SERIES,
  type Parameter,
  type PropertyDefinition,
  type PropertyType,
  CONDITION_WORDS,
  STATE_SIGNALS,
  UNITS,
  VisibleDocuments,
  CHECKS,
  ast,
  docText,
  findFunction,
  functionSignature,
  kindOf,
  parameterTakes,
  propertyOf,
  usualTerminals,
  propertyTakes,
  unitsOf,
} from '@wattwright/language';
import type { LangiumDocument } from 'langium';
import type { CompletionProvider, CompletionProviderOptions } from 'langium/lsp';
import {
  type CompletionItem,
  CompletionItemKind,
  type CompletionList,
  type CompletionParams,
  InsertTextFormat,
  type Range,
} from 'vscode-languageserver';
import type { WattwrightServices } from '../workspace/analyses.js';
import { isLibrary } from '../workspace/boundaries.js';
import { type CompletionContext, completionContext } from './completion-context.js';
import { kindOfNode } from './locate.js';
import { MEMBER_SNIPPETS, DECLARATION_SNIPPETS, RULE_SNIPPETS, type Snippet } from './snippets.js';
import { isInTextOrComment, tokensBefore, wordStart } from './tokens-before.js';
import { BUILT_IN_FUNCTIONS, LANGUAGE_WORDS } from './words.js';

/** A number, at most one space, and the beginning of a unit at the end of a text. */
const UNIT_BEING_TYPED = /(?<![\w.:-])\d+(?:\.\d+)?(?:[eE][+-]?\d+)?[ \t]*([A-Za-z%°Ωµ²³/*·0-9]*)$/u;

type Item = Omit<CompletionItem, 'textEdit'>;

/** Proposes what may stand at the cursor: kinds, properties, words, units, names, functions and check ids. */
export class DesignCompletion implements CompletionProvider {
  readonly completionOptions: CompletionProviderOptions = { triggerCharacters: ['.', ':', ' ', '>'] };

  constructor(private readonly services: WattwrightServices) {}

  getCompletion(document: LangiumDocument, { position }: CompletionParams): CompletionList | undefined {
    const text = document.textDocument.getText();
    const offset = document.textDocument.offsetAt(position);
    if (isInTextOrComment(text, offset)) return undefined;
    const unit = UNIT_BEING_TYPED.exec(text.slice(Math.max(0, offset - 60), offset));
    const start = unit ? offset - unit[1]!.length : wordStart(text, offset);
    const numberStart = unit ? offset - unit[0].length : start;
    const context = completionContext(tokensBefore(this.services, text, numberStart));
    const items = unit ? unitItems(context) : this.itemsFor(context, document, offset);
    const range: Range = { start: document.textDocument.positionAt(start), end: position };
    const spaced =
      unit !== null && numberStart + unit[0].length - unit[1]!.length > 0 && /\d$/.test(text.slice(0, start));
    return {
      isIncomplete: false,
      items: items.map((item) => {
        const newText = `${spaced ? ' ' : ''}${item.insertText ?? item.label}`;
        const { insertText: _replaced, ...rest } = item;
        return { ...rest, ...(spaced ? { filterText: item.label } : {}), textEdit: { range, newText } };
      }),
    };
  }

  private itemsFor(context: CompletionContext, document: LangiumDocument, offset: number): Item[] {
    switch (context.at) {
      case 'declaration':
        return [...DECLARATION_SNIPPETS.map(snippetItem), ...keywords('use', 'let', 'profile')];
      case 'member':
        return this.memberItems(context);
      case 'property-name':
        return this.propertyNames(context);
      case 'value':
        return this.valueItems(context, document, offset);
      case 'expression':
        return [...this.names(document, offset), ...functionItems()];
      case 'argument':
        return this.argumentItems(context, document, offset);
      case 'part-kind':
        return [...INSTANCE_KINDS, ...CATALOGUE_KINDS].map(kindItem);
      case 'part-of-kind':
        return this.parts(document, [context.kind]);
      case 'stop':
        return this.declared(document, offset, ast.isInstance);
      case 'step':
        return this.steps(context, document, offset);
      case 'name-of':
        return this.declared(
          document,
          offset,
          { Instance: ast.isInstance, Link: ast.isLink, Design: ast.isDesign }[context.what],
        );
      case 'subject':
        return this.names(document, offset);
      case 'change':
        return [...keywords('add', 'remove', 'replace'), ...this.names(document, offset)];
      case 'check':
        return CHECKS.map((check) => ({
          label: check.id,
          kind: CompletionItemKind.EnumMember,
          detail: check.severity,
          documentation: check.docs.finds,
        }));
      case 'words':
        return keywords(...context.words);
      case 'nothing':
        return [];
    }
  }

  private memberItems({ mayContinue }: CompletionContext & { at: 'member' }): Item[] {
    return [
      ...(mayContinue ? keywords('on', 'because', 'until') : []),
      ...INSTANCE_KINDS.map((kind) => ({
        ...kindItem(kind),
        insertText: `${kind.kind} \${1:Name} { $0 }`,
        insertTextFormat: InsertTextFormat.Snippet,
      })),
      ...MEMBER_SNIPPETS.map(snippetItem),
      ...(kindOf('design')?.properties ?? []).map(propertyItem),
    ];
  }

  private propertyNames({ kind, stated, inControl }: CompletionContext & { at: 'property-name' }): Item[] {
    const properties = (kindOf(kind)?.properties ?? []).filter((property) => !stated.includes(property.name));
    const rules = inControl ? RULE_SNIPPETS.filter(({ label }) => inControl === 'control' || label !== 'without') : [];
    return [
      ...rules.map(snippetItem),
      ...properties.map(propertyItem),
      ...(kind === 'scenario' ? keywords('require') : []),
    ];
  }

  private valueItems(
    { kind, property, first }: CompletionContext & { at: 'value' },
    document: LangiumDocument,
    offset: number,
  ): Item[] {
    const definition = propertyOf(kind, property);
    if (!definition) return [...this.names(document, offset), ...functionItems()];
    const { type } = definition;
    const own = first ? [...defaultItems(definition), ...(type.type === 'quantity' ? holes() : [])] : [];
    switch (type.type) {
      case 'word':
      case 'words':
        return type.words.map(({ word, doc }) => ({
          label: word,
          kind: CompletionItemKind.EnumMember,
          documentation: doc,
        }));
      case 'flag':
        return ['yes', 'no'].map((word) => ({ label: word, kind: CompletionItemKind.EnumMember }));
      case 'part':
        return this.parts(document, type.kinds);
      case 'system':
        return ['230 V', '120 V', '120/240 V', 'three 208 V', 'three 400 V'].map(valueItem);
      case 'profile':
        return [
          valueItem('always'),
          ...this.declared(document, offset, ast.isProfileDeclaration),
          ...[tableItem('07:00..08:00', '100 %')],
        ];
      case 'bySupply':
        return [tableItem('Supply', `10 ${type.unit}`)];
      case 'table':
        return [tableItem(`25 ${type.keyUnit}`.trim(), `1 ${type.valueUnit}`.trim())];
      case 'quantity':
        return [
          ...own,
          ...(type.dimensions.includes('area')
            ? [...AWG_SERIES, ...METRIC_SERIES].map(({ name }) => valueItem(name))
            : []),
          ...(first ? keywords('assumed') : []),
          ...this.names(document, offset),
          ...functionItems(),
        ];
      default:
        return own;
    }
  }

  private argumentItems(
    { call, given, named }: CompletionContext & { at: 'argument' },
    document: LangiumDocument,
    offset: number,
  ): Item[] {
    const definition = findFunction(call);
    if (definition && named === undefined) {
      return Object.entries(definition.parameters)
        .filter(([name]) => !given.includes(name))
        .map(([name, parameter]) => ({
          label: name,
          insertText: `${name}: `,
          kind: CompletionItemKind.Field,
          detail: parameterTakes(parameter),
          documentation: parameter.doc,
        }));
    }
    const parameter = named === undefined ? undefined : definition?.parameters[named];
    return [...this.parameterValues(parameter, document), ...this.names(document, offset), ...functionItems()];
  }

  private parameterValues(parameter: Parameter | undefined, document: LangiumDocument): Item[] {
    switch (parameter?.type) {
      case 'word':
        return parameter.words.map((word) => ({ label: word, kind: CompletionItemKind.EnumMember }));
      case 'flag':
        return ['yes', 'no'].map((word) => ({ label: word, kind: CompletionItemKind.EnumMember }));
      case 'part':
        return this.parts(document, parameter.partKinds);
      default:
        return [];
    }
  }

  /** Terminals after a stop of a run; else also the properties and computed quantities of the thing. */
  private steps(
    { path, terminalsOnly }: CompletionContext & { at: 'step' },
    document: LangiumDocument,
    offset: number,
  ): Item[] {
    const name = path.at(-1)!;
    const node = this.membersAt(document, offset).find(
      (member) => (member as { name?: string }).name === name && member.$type !== 'Property',
    );
    const kind = node && kindOfNode(node);
    const definition = kind ? kindOf(kind) : undefined;
    if (!kind || !definition) return [];
    const analysed = this.services.analysis.Analyses.of(document)?.designs;
    const known = analysed?.flatMap(({ system }) => system.instances).find((instance) => instance.name === name);
    const terminals = (known?.terminals ?? usualTerminals(definition)).map((terminal) => ({
      label: terminal.name,
      kind: CompletionItemKind.Interface,
      detail: terminal.carries === 'any' ? 'AC or DC' : terminal.carries.toUpperCase(),
    }));
    if (terminalsOnly) return terminals;
    const owner = analysed?.find(({ system }) =>
      [...system.instances, ...system.runs].some((thing) => thing.name === name),
    );
    const thing =
      owner && [...owner.system.instances, ...owner.system.runs].find((candidate) => candidate.name === name);
    const quantities = (thing && owner.context.quantityNames(thing)) ?? [];
    return [
      ...terminals,
      ...definition.properties.map((property) => ({ ...propertyItem(property), insertText: property.name })),
      ...quantities.map((quantity) => ({ label: quantity, kind: CompletionItemKind.Value, detail: 'computed' })),
    ];
  }

  /** The members of the design at a place; in a variant what it adds goes before those of its base. */
  private membersAt(document: LangiumDocument, offset: number): readonly ast.DesignMember[] {
    const file = document.parseResult.value;
    if (!ast.isFile(file)) return [];
    const systems = file.declarations.filter((each) => ast.isDesign(each) || ast.isVariant(each));
    // While the text is broken the design may end too early: the last one that begins before the cursor counts.
    const found = systems.findLast((each) => (each.$cstNode?.offset ?? 0) <= offset);
    if (!found) return [];
    if (ast.isDesign(found)) return found.members;
    const added = found.changes.flatMap((change) => ('thing' in change && change.thing ? [change.thing] : []));
    return [...added, ...(found.base?.ref?.members ?? [])];
  }

  /** Things of the design and declarations that an expression can speak of. */
  private names(document: LangiumDocument, offset: number): Item[] {
    return this.declared(
      document,
      offset,
      (node) => ast.isInstance(node) || ast.isRun(node) || ast.isLet(node) || ast.isLink(node),
    );
  }

  private declared(document: LangiumDocument, offset: number, fits: (node: unknown) => boolean): Item[] {
    const members = this.membersAt(document, offset);
    const files = [document, ...new VisibleDocuments(this.services.shared).used(document)];
    const declarations = files.flatMap(({ parseResult: { value } }) => (ast.isFile(value) ? value.declarations : []));
    return [...members, ...declarations].flatMap((node) => {
      const { name, label } = node as { name?: string; label?: string };
      if (!fits(node) || !name) return [];
      const detail = [kindOfNode(node), label].filter(Boolean).join(' · ');
      return [{ label: name, kind: CompletionItemKind.Variable, ...(detail ? { detail } : {}) }];
    });
  }

  private parts(document: LangiumDocument, kinds: readonly string[]): Item[] {
    const { LangiumDocuments } = this.services.shared.workspace;
    const library = LangiumDocuments.all.filter(({ uri }) => isLibrary(uri));
    const files = [document, ...new VisibleDocuments(this.services.shared).used(document), ...library];
    const parts = files.flatMap(({ parseResult: { value } }) =>
      ast.isFile(value) ? value.declarations.filter(ast.isPart) : [],
    );
    return parts
      .filter((part) => part.name && kinds.includes(part.kind))
      .map((part) => ({
        label: part.name,
        kind: CompletionItemKind.Class,
        detail: part.label ?? part.kind,
        documentation: docText(this.services.documentation.CommentProvider.getComment(part)) ?? '',
      }));
  }
}

const keywords = (...words: string[]): Item[] =>
  words.map((word) => ({
    label: word,
    kind: CompletionItemKind.Keyword,
    documentation: LANGUAGE_WORDS.get(word) ?? '',
  }));

const valueItem = (label: string): Item => ({ label, kind: CompletionItemKind.Value });

const holes = (): Item[] => [
  { label: '?', kind: CompletionItemKind.Value, detail: 'a hole', documentation: 'Work this out for me.' },
];

const tableItem = (key: string, value: string): Item => ({
  label: `{ ${key}: ${value} }`,
  insertText: `{ \${1:${key}}: \${2:${value}} }`,
  insertTextFormat: InsertTextFormat.Snippet,
  kind: CompletionItemKind.Snippet,
});

const defaultItems = ({ default: standard }: PropertyDefinition): Item[] =>
  standard
    ? [
        {
          label: standard.text,
          kind: CompletionItemKind.Value,
          detail: `the default: ${standard.note}`,
          preselect: true,
        },
      ]
    : [];

const kindItem = ({ kind, doc }: KindDefinition): Item => ({
  label: kind,
  kind: CompletionItemKind.Keyword,
  documentation: doc,
});

const propertyItem = (property: PropertyDefinition): Item => ({
  label: property.name,
  insertText: `${property.name}: `,
  kind: CompletionItemKind.Property,
  detail: plainTakes(property.type),
  documentation: property.doc,
});

const plainTakes = (type: PropertyType): string => propertyTakes(type).replaceAll('`', '');

const snippetItem = ({ label, detail, text }: Snippet): Item => ({
  label,
  detail,
  insertText: text,
  insertTextFormat: InsertTextFormat.Snippet,
  kind: CompletionItemKind.Snippet,
  documentation: LANGUAGE_WORDS.get(label) ?? '',
});

function functionItems(): Item[] {
  return [
    ...FUNCTIONS.map((definition) => ({
      label: definition.name,
      insertText: `${definition.name}($0)`,
      insertTextFormat: InsertTextFormat.Snippet,
      kind: CompletionItemKind.Function,
      detail: functionSignature(definition),
      documentation: definition.summary,
    })),
    ...[...DESIGN_FUNCTIONS.values()].map(({ name, signature, doc }) => ({
      label: name,
      insertText: `${name}($0)`,
      insertTextFormat: InsertTextFormat.Snippet,
      kind: CompletionItemKind.Function,
      detail: signature,
      documentation: doc,
    })),
    ...[...BUILT_IN_FUNCTIONS].map(([name, documentation]) => ({
      label: name,
      insertText: `${name}($0)`,
      insertTextFormat: InsertTextFormat.Snippet,
      kind: CompletionItemKind.Function,
      documentation,
    })),
    ...[...CONDITION_WORDS].map(([name, detail]) => ({
      label: name,
      insertText: `${name}($0)`,
      insertTextFormat: InsertTextFormat.Snippet,
      kind: CompletionItemKind.Function,
      detail,
    })),
    ...[...STATE_SIGNALS.keys()].map((name) => ({
      label: name,
      insertText: `${name}($0)`,
      insertTextFormat: InsertTextFormat.Snippet,
      kind: CompletionItemKind.Function,
      detail: 'a signal, while time runs',
    })),
  ];
}

/** Units that fit where the number stands; every unit where nothing is known. */
function unitItems(context: CompletionContext): Item[] {
  const wanted = wantedUnits(context);
  const fitting = wanted
    ? [
        ...new Set([
          wanted.preferred,
          ...wanted.dimensions.flatMap((name) => unitsOf(DIMENSIONS[name]).map(({ symbol }) => symbol)),
        ]),
      ]
    : UNITS.filter(({ source }) => source !== 'ISO 4217').map(({ symbol }) => symbol);
  const symbols = wanted?.dimensions.includes('area') ? ['AWG', ...fitting] : fitting;
  return symbols.filter(Boolean).map((symbol, index) => ({
    label: symbol,
    kind: CompletionItemKind.Unit,
    detail: UNITS.find((unit) => unit.symbol === symbol)?.name ?? '',
    sortText: String(index).padStart(3, '0'),
  }));
}

function wantedUnits(
  context: CompletionContext,
): { preferred: string; dimensions: readonly DimensionName[] } | undefined {
  if (context.at === 'value') {
    const type = propertyOf(context.kind, context.property)?.type;
    if (type?.type === 'quantity') return { preferred: type.unit, dimensions: type.dimensions };
    if (type?.type === 'system') return { preferred: 'V', dimensions: ['voltage'] };
  }
  if (context.at === 'argument' && context.named !== undefined) {
    const parameter = findFunction(context.call)?.parameters[context.named];
    if (parameter?.type === 'quantity') return { preferred: parameter.unit, dimensions: parameter.dimensions };
  }
  return undefined;
}
