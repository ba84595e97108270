import {
  CATALOGUE_KINDS,
  CHECKS,
  CONDITION_WORDS,
  DIMENSIONS,
  type DimensionName,
  INSTANCE_KINDS,
  MEASURES,
  type Parameter,
  STATE_SIGNALS,
  UNITS,
  aliasesOfProperty,
  aliasesOfWord,
  ast,
  docText,
  findFunction,
  kindOf,
  kindsThat,
  mayBeCommanded,
  mayStore,
  mayUse,
  parameterTakes,
  propertyOf,
  unitsOf,
  usualTerminals,
} from '@wattwright/language';
import type { LangiumDocument } from 'langium';
import type { CompletionProvider, CompletionProviderOptions } from 'langium/lsp';
import {
  type CompletionItem,
  CompletionItemKind,
  type CompletionList,
  type CompletionParams,
  type Range,
} from 'vscode-languageserver';
import type { WattwrightServices } from '../workspace/analyses.js';
import { conditionItems } from './completion-conditions.js';
import { type CompletionContext, type Owner, type PlaceInText, placeInText } from './completion-context.js';
import {
  type Item,
  defaultItems,
  functionItems,
  holeItems,
  keywords,
  kindItem,
  measureItems,
  propertyItem,
  snippetItem,
  tableItem,
  valueItem,
} from './completion-items.js';
import { NamesAround, nameItem } from './completion-names.js';
import { type ItemData, partDetail } from './completion-resolve.js';
import { partsInOrder } from './completion-parts.js';
import { usualSnippet } from './completion-usual.js';
import { classItems, computedValues } from './completion-values.js';
import { DECLARATION_SNIPPETS, MEMBER_SNIPPETS, RULE_SNIPPETS } from './snippets.js';
import { isInTextOrComment, tokensBefore, wordStart } from './tokens-before.js';

/** A number, at most one space, and the beginning of a unit at the end of a text. */
const UNIT_BEING_TYPED = /(?<![\w.:-])\d+(?:\.\d+)?(?:[eE][+-]?\d+)?([ \t]*)([A-Za-z%°Ωµ²³/*·0-9]*)$/u;

/**
 * Proposes what may stand at the cursor, likeliest first. It reads the text as it is, from its tokens alone; what has names and numbers comes
 * from the last tree and the last analysis, so that nobody waits for those of the text that is being typed.
 */
export class DesignCompletion implements CompletionProvider {
  readonly completionOptions: CompletionProviderOptions = {
    triggerCharacters: ['.', ':', ' ', '>'],
  };

  constructor(private readonly services: WattwrightServices) {}

  /** `document` is the last tree that was made of the text; the text itself counts as it is now. */
  getCompletion(
    document: LangiumDocument,
    { position }: Pick<CompletionParams, 'position'>,
  ): CompletionList | undefined {
    const textDocument = this.services.shared.workspace.TextDocuments.get(document.uri) ?? document.textDocument;
    const text = textDocument.getText();
    const offset = textDocument.offsetAt(position);
    if (isInTextOrComment(text, offset)) return undefined;
    const before = text.slice(Math.max(0, offset - 60), offset);
    const unit = UNIT_BEING_TYPED.exec(before);
    const unitStart = unit ? offset - unit[2]!.length : undefined;
    const number = unit && unitItemsAt(this.placeAt(text, unitStart! - numberLength(text, unitStart!)).context);
    const units = number?.items ?? [];
    const start = units.length > 0 ? unitStart! : wordStart(text, offset);
    // Behind a number that stands without a unit, and a space, the next property may begin.
    const isComplete = units.length === 0 || (unit![1] !== '' && number!.isPlain);
    const others = isComplete ? this.itemsAt(document, text, start) : [];
    const items = number?.isPlain ? [...others, ...units] : [...units, ...others];
    const range: Range = { start: textDocument.positionAt(start), end: position };
    // A unit directly behind its number gets the space that belongs there.
    const spaced = units.length > 0 && /\d$/.test(text.slice(0, start));
    return {
      isIncomplete: false,
      items: items.map((item, index) => inPlace(item, index, range, spaced)),
    };
  }

  private placeAt(text: string, offset: number): PlaceInText {
    return placeInText(tokensBefore(this.services, text, offset));
  }

  private itemsAt(document: LangiumDocument, text: string, offset: number): Item[] {
    const place = this.placeAt(text, offset);
    return this.itemsFor(place, new NamesAround(this.services, document, place.design));
  }

  private itemsFor({ context, owner }: PlaceInText, names: NamesAround): Item[] {
    switch (context.at) {
      case 'declaration':
        return [...DECLARATION_SNIPPETS.map(snippetItem), ...keywords('use', 'let', 'profile')];
      case 'member':
        return this.memberItems(context);
      case 'property-name':
        return this.propertyNames(context);
      case 'value':
        return this.valueItems(context, owner, names);
      case 'expression':
        return [...(context.isTimed ? measureItems() : []), ...this.nameItems(names), ...functionItems()];
      case 'condition':
        return conditionItems(context.verb, names);
      case 'argument':
        return this.argumentItems(context, names);
      case 'part-kind':
        return [...INSTANCE_KINDS, ...CATALOGUE_KINDS].map(kindItem);
      case 'part-of-kind':
        return this.parts(names, [context.kind]);
      case 'stop':
        return names.of(INSTANCE_KINDS.map(({ kind }) => kind)).map(nameItem);
      case 'step':
        return this.steps(context, names);
      case 'name-of':
        return namedItems(context.what, names);
      case 'subject':
        return subjectItems(context.check, names);
      case 'change':
        return [...keywords('add', 'remove', 'replace'), ...names.members().map(nameItem)];
      case 'check':
        return checkItems(names);
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
        insertTextFormat: 2 as const,
      })),
      ...MEMBER_SNIPPETS.map(snippetItem),
      ...(kindOf('design')?.properties ?? []).map((property) => propertyItem(property)),
    ];
  }

  private propertyNames({ kind, stated, inControl }: CompletionContext & { at: 'property-name' }): Item[] {
    const written = new Set(stated.map((word) => propertyOf(kind, word)?.name ?? word));
    const properties = (kindOf(kind)?.properties ?? []).filter(({ name }) => !written.has(name));
    const rules = inControl ? RULE_SNIPPETS.filter(({ label }) => inControl === 'control' || label !== 'without') : [];
    return [
      ...rules.map(snippetItem),
      ...usualSnippet(kind, stated, this.services.shared.workspace.LangiumDocuments),
      ...properties.flatMap((property) => [
        propertyItem(property),
        ...aliasesOfProperty(property.name).map((word) => propertyItem(property, word)),
      ]),
      ...(kind === 'scenario' ? keywords('require') : []),
    ];
  }

  private valueItems(
    { kind, property, first }: CompletionContext & { at: 'value' },
    owner: Owner | undefined,
    names: NamesAround,
  ): Item[] {
    const definition = propertyOf(kind, property);
    if (!definition) return [...this.nameItems(names), ...functionItems()];
    const { type } = definition;
    const own = first ? [...defaultItems(definition), ...(type.type === 'quantity' ? holeItems() : [])] : [];
    switch (type.type) {
      case 'word':
      case 'words':
        return type.words.flatMap(({ word, doc }) =>
          [word, ...aliasesOfWord(word)].map((label) => ({
            label,
            kind: CompletionItemKind.EnumMember,
            documentation: doc,
          })),
        );
      case 'flag':
        return ['yes', 'no'].map((word) => ({ label: word, kind: CompletionItemKind.EnumMember }));
      case 'part':
        return this.partValues(type.kinds, owner, names);
      case 'system':
        return ['230 V', '120 V', '120/240 V', 'three 208 V', 'three 400 V'].map((each) => valueItem(each));
      case 'profile':
        return [
          valueItem('always'),
          ...names.declarations().flatMap((node) => (ast.isProfileDeclaration(node) ? [declarationItem(node)] : [])),
          tableItem('07:00..08:00', '100 %'),
        ];
      case 'bySupply':
        return [tableItem('Supply', `10 ${type.unit}`)];
      case 'table':
        return [tableItem(`25 ${type.keyUnit}`.trim(), `1 ${type.valueUnit}`.trim())];
      case 'quiet':
        return [{ ...valueItem('22:00..06:30'), insertText: '22:00..06:30' }, ...keywords('unless')];
      case 'quantity':
        return [
          ...(first ? computedValues(definition, type.dimensions, owner, names) : []),
          ...own,
          ...(first ? keywords('assumed') : []),
          ...this.nameItems(names),
          ...functionItems(type.dimensions),
        ];
      default:
        return own;
    }
  }

  /** Parts a property may name; for the class of a device only those of its sort. */
  private partValues(kinds: readonly string[], owner: Owner | undefined, names: NamesAround): Item[] {
    const classes = owner && kinds.includes('deviceClass') ? classItems(owner, names) : undefined;
    if (!classes) return this.parts(names, kinds);
    const parts = new Map(this.parts(names, kinds).map((item) => [item.label, item]));
    return classes.map((item) => {
      const { data, documentation, detail } = parts.get(item.label) ?? {};
      return {
        ...item,
        ...(data ? { data } : {}),
        ...(documentation ? { documentation } : {}),
        detail: [item.detail, detail].filter(Boolean).join(' · '),
      };
    });
  }

  private argumentItems({ call, given, named }: CompletionContext & { at: 'argument' }, names: NamesAround): Item[] {
    const measure = MEASURES.get(call);
    if (measure)
      return measure.takes.startsWith('thing') ? names.of(measure.kinds).map(nameItem) : conditionItems('', names);
    if (STATE_SIGNALS.has(call) || CONDITION_WORDS.has(call)) return thingsFor(call, names);
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
    const dimensions = parameter?.type === 'quantity' ? parameter.dimensions : undefined;
    return [...this.parameterValues(parameter, names), ...this.nameItems(names), ...functionItems(dimensions)];
  }

  private parameterValues(parameter: Parameter | undefined, names: NamesAround): Item[] {
    switch (parameter?.type) {
      case 'word':
        return parameter.words.map((word) => ({ label: word, kind: CompletionItemKind.EnumMember }));
      case 'flag':
        return ['yes', 'no'].map((word) => ({ label: word, kind: CompletionItemKind.EnumMember }));
      case 'part':
        return this.parts(names, parameter.partKinds);
      default:
        return [];
    }
  }

  /** Terminals after a stop of a run; else also the properties and computed quantities of the thing. */
  private steps({ path, terminalsOnly }: CompletionContext & { at: 'step' }, names: NamesAround): Item[] {
    const [name = '', ...further] = path;
    const { thing, context } = names.placed(name) ?? {};
    const kind = thing?.kind ?? names.members().find((each) => each.name === name)?.kind;
    const definition = kind ? kindOf(kind) : undefined;
    if (!definition) return [];
    const known = thing && 'terminals' in thing ? thing.terminals : usualTerminals(definition);
    const terminals =
      further.length > 0
        ? []
        : known.map((terminal) => ({
            label: terminal.name,
            kind: CompletionItemKind.Interface,
            detail: terminal.carries === 'any' ? 'AC or DC' : terminal.carries.toUpperCase(),
          }));
    if (terminalsOnly) return terminals;
    const quantities = (thing && context?.quantityNames(thing)) ?? [];
    const stated = new Set(thing?.properties.keys());
    const properties = further.length > 0 ? [] : definition.properties;
    const uri = names.uri;
    return [
      ...quantities.map((quantity): Item => ({
        label: quantity,
        kind: CompletionItemKind.Value,
        detail: 'computed',
        data: { of: 'quantity', uri, design: names.designName, thing: name, quantity } satisfies ItemData,
      })),
      ...terminals,
      ...[...properties]
        .sort((left, right) => Number(stated.has(right.name)) - Number(stated.has(left.name)))
        .map((property) => ({ ...propertyItem(property), insertText: property.name })),
    ];
  }

  /** Things of the design and declarations that an expression can speak of. */
  private nameItems(names: NamesAround): Item[] {
    const lets = names.declarations().filter(ast.isLet).map(declarationItem);
    const members = names.members().map(nameItem);
    const own = new Set(members.map(({ label }) => label));
    return [...members, ...lets.filter(({ label }) => !own.has(label))];
  }

  private parts(names: NamesAround, kinds: readonly string[]): Item[] {
    return partsInOrder(names.parts(kinds), names).map((part) => ({
      label: part.name,
      kind: CompletionItemKind.Class,
      detail: [part.label, partDetail(part)].filter(Boolean).join(' · ') || part.kind,
      documentation: docText(this.services.documentation.CommentProvider.getComment(part)) ?? '',
      data: { of: 'part', uri: names.uri, kind: part.kind, name: part.name } satisfies ItemData,
    }));
  }
}

/** An item at its place in the text, and in its place in the list. */
function inPlace(item: Item, index: number, range: Range, spaced: boolean): CompletionItem {
  const newText = `${spaced ? ' ' : ''}${item.insertText ?? item.label}`;
  const { insertText: _replaced, ...rest } = item;
  return {
    ...rest,
    sortText: String(index).padStart(4, '0'),
    ...(spaced ? { filterText: item.label } : {}),
    textEdit: { range, newText },
  };
}

const declarationItem = ({ name, label }: { readonly name: string; readonly label?: string }): Item => ({
  label: name,
  kind: CompletionItemKind.Variable,
  ...(label ? { detail: label } : {}),
});

/** What a control may command, links, and designs. */
function namedItems(what: 'Instance' | 'Link' | 'Design', names: NamesAround): Item[] {
  switch (what) {
    case 'Instance':
      return names.of(kindsThat(mayBeCommanded)).map(nameItem);
    case 'Link':
      return names.of(['link']).map(nameItem);
    case 'Design':
      return names.declarations().filter(ast.isDesign).map(declarationItem);
  }
}

/** What an accepted finding may be on: only things that have it. Without an analysis every thing of the design. */
function subjectItems(check: string | undefined, names: NamesAround): Item[] {
  const found = check === undefined ? undefined : names.foundBy(check);
  if (!found) return names.members().map(nameItem);
  const members = new Map(names.members().map((each) => [each.name, each]));
  return found.map((name) => nameItem(members.get(name) ?? { name, kind: undefined }));
}

/** Checks whose findings may be accepted, those first that have found something. */
function checkItems(names: NamesAround): Item[] {
  const found = names.checksThatFound();
  const checks = CHECKS.filter(({ group }) => group !== 'text');
  return [...checks.filter(({ id }) => found.has(id)), ...checks.filter(({ id }) => !found.has(id))].map((check) => ({
    label: check.id,
    kind: CompletionItemKind.EnumMember,
    detail: found.has(check.id) ? `${check.severity}, found here` : check.severity,
    documentation: check.docs.finds,
  }));
}

/** The things that a signal or condition may be of. */
function thingsFor(call: string, names: NamesAround): Item[] {
  const kinds = call === 'soc' || call.startsWith('may') ? kindsThat(mayStore) : INSTANCE_KINDS.map(({ kind }) => kind);
  const links = call === 'lost' ? ['link'] : [];
  return names
    .of([...kinds.filter((kind) => call !== 'lost' || !kindsThat(mayUse).includes(kind)), ...links])
    .map(nameItem);
}

/** How long the number is that ends at an offset, with what stands between it and its unit. */
const numberLength = (text: string, offset: number): number =>
  /\d+(?:\.\d+)?(?:[eE][+-]?\d+)?[ \t]*$/u.exec(text.slice(0, offset))?.[0].length ?? 0;

/** Units that fit where a number stands; every unit where nothing is known. */
function unitItemsAt(context: CompletionContext): { readonly items: Item[]; readonly isPlain: boolean } {
  const wanted = wantedUnits(context);
  return { items: unitItems(wanted), isPlain: wanted?.isPlain ?? false };
}

function unitItems(wanted: WantedUnits | undefined): Item[] {
  const fitting = wanted
    ? [
        ...new Set([
          wanted.preferred,
          ...wanted.dimensions.flatMap((name) => unitsOf(DIMENSIONS[name]).map(({ symbol }) => symbol)),
        ]),
      ]
    : UNITS.filter(({ source }) => source !== 'ISO 4217').map(({ symbol }) => symbol);
  const symbols = wanted?.dimensions.includes('area') ? ['AWG', ...fitting] : fitting;
  return symbols.filter(Boolean).map((symbol) => ({
    label: symbol,
    kind: CompletionItemKind.Unit,
    detail: UNITS.find((unit) => unit.symbol === symbol)?.name ?? '',
  }));
}

interface WantedUnits {
  readonly preferred: string;
  readonly dimensions: readonly DimensionName[];
  /** Whether the usual way is to write no unit at all. */
  readonly isPlain: boolean;
}

function wantedUnits(context: CompletionContext): WantedUnits | undefined {
  if (context.at === 'value') {
    const type = propertyOf(context.kind, context.property)?.type;
    if (type?.type === 'quantity') return wantedOf(type.unit, type.dimensions);
    if (type?.type === 'system') return wantedOf('V', ['voltage']);
  }
  if (context.at === 'argument' && context.named !== undefined) {
    const parameter = findFunction(context.call)?.parameters[context.named];
    if (parameter?.type === 'quantity') return wantedOf(parameter.unit, parameter.dimensions);
  }
  return undefined;
}

const wantedOf = (preferred: string, dimensions: readonly DimensionName[]): WantedUnits => ({
  preferred,
  dimensions,
  isPlain: preferred === '' && dimensions.includes('ratio'),
});
