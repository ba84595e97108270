import {
  type AnalysedDesign,
  type Analysis,
  DESIGN_FUNCTIONS,
  type Margin,
  type Property,
  type PropertyDefinition,
  type Thing,
  VisibleDocuments,
  ast,
  commentMarkdown,
  docText,
  saidValue,
  formatNumber,
  governingText,
  inPeopleUnits,
  isReading,
  numberIn,
  shareOf,
  codeSpan as code,
  escapeMarkdown as plain,
  fenced,
  findCheck,
  findFunction,
  functionSignature,
  kindOf,
  meantBy,
  alsoWritten,
  aliasesOfProperty,
  canonicalWord,
  propertyOf,
  reasonOf,
  propertyTakes,
  shownValue,
} from '@wattwright/language';
import { AstUtils, type AstNode, type LangiumDocument, isReference } from 'langium';
import type { HoverProvider } from 'langium/lsp';
import type { Hover, HoverParams } from 'vscode-languageserver';
import type { WattwrightServices } from '../workspace/analyses.js';
import { otherUnits } from './conversions.js';
import { findingsAt } from './finding-hover.js';
import { outcomeOf } from './outcomes.js';
import { type Spot, designOf, isThingNode, kindAround, kindOfNode, spotAt, thingOf } from './locate.js';
import { BUILT_IN_FUNCTIONS, LANGUAGE_WORDS } from './words.js';
import { setPointsMarkdown } from './set-points.js';
import { firstSteps, placeText, restsOn } from './worked.js';
import { type NamedQuantity, moreMarkdown, moreOf, quantitiesOf } from './worked-pages.js';

/** Blocks of Markdown. */
interface Content {
  readonly blocks: readonly (string | undefined)[];
}

/** Values in a hover beside the one that is worked out; the others are on the page. */
const MOST_VALUES = 5;
/** Names of properties, lines of a text and set points that a hover lists; more is in the page of kinds, and in the text itself. */
const MOST_LISTED = 12;
const MOST_ROWS = 5;
const MOST_QUOTED = 8;

const PROPERTY_VALUE_LITERALS = [ast.isQuantityLiteral, ast.isSizeLiteral];

/**
 * Says what stands under the cursor: its documentation, its value in other units, and how the tool comes to its numbers. Reads the last
 * finished analysis only.
 */
export class DesignHover implements HoverProvider {
  private readonly visible: VisibleDocuments;

  constructor(private readonly services: WattwrightServices) {
    this.visible = new VisibleDocuments(services.shared);
  }

  getHoverContent(document: LangiumDocument, { position }: HoverParams): Hover | undefined {
    const offset = document.textDocument.offsetAt(position);
    const spot = spotAt(document, offset);
    const content = spot && this.contentOf(spot, document);
    const analysis = this.services.analysis.Analyses.of(document);
    const found = analysis ? findingsAt(offset, analysis) : [];
    const blocks = [...found, ...(content?.blocks ?? [])].filter((block) => block !== undefined && block !== '');
    if (!spot || blocks.length === 0) return undefined;
    return { contents: { kind: 'markdown', value: blocks.join('\n\n') }, range: spot.leaf.range };
  }

  private contentOf(spot: Spot, document: LangiumDocument): Content | undefined {
    const analysis = this.services.analysis.Analyses.of(document);
    const { node, feature } = spot;
    if (ast.isProperty(node) && feature === 'name') return this.property(node, analysis);
    if ((ast.isInstance(node) || ast.isPart(node)) && feature === 'kind') return kindContent(node.kind);
    if (ast.isCall(node) && feature === 'function') return functionContent(node.function ?? '');
    if (ast.isArgument(node) && feature === 'name') return argumentContent(node);
    if (ast.isAccept(node) && feature === 'check') return checkContent(node.check);
    if (ast.isPath(node)) return this.path(node, spot, analysis);
    if (PROPERTY_VALUE_LITERALS.some((isLiteral) => isLiteral(node))) return this.literal(spot, analysis);
    const declaration = declarationAt(spot);
    if (declaration) return this.declaration(declaration, analysis);
    const keyword = LANGUAGE_WORDS.get(spot.leaf.text);
    if (keyword === undefined) return undefined;
    return { blocks: [`**${spot.leaf.text}**: ${keyword}`, outcomeOf(node, spot.leaf.text, analysis)] };
  }

  private property(node: ast.Property, analysis: Analysis | undefined): Content | undefined {
    const kind = kindAround(node.$container);
    const definition = kind && propertyOf(kind, node.name ?? '');
    if (!kind || !definition) return undefined;
    const inForce = this.propertyInForce(node, analysis);
    const uses = this.quantitiesRestingOn(node, analysis);
    return {
      blocks: [
        `**${definition.name}** of ${kind}: ${definition.doc}${alsoWritten(aliasesOfProperty(definition.name))}`,
        `Value: ${propertyTakes(definition.type)}.`,
        defaultText(definition),
        inForce && inForceText(inForce, analysis?.uri ?? ''),
        usesText(uses),
      ],
    };
  }

  private propertyInForce(node: ast.Property, analysis: Analysis | undefined): Property | undefined {
    const found = this.thingAround(node, analysis);
    return found?.thing.properties.get(propertyOf(found.thing.kind, node.name ?? '')?.name ?? '');
  }

  private thingAround(
    node: AstNode,
    analysis: Analysis | undefined,
  ): { thing: Thing; design: AnalysedDesign } | undefined {
    const container = AstUtils.getContainerOfType(node, isThingNode);
    const design = container && designOf(analysis, container);
    const thing = design && thingOf(design, container);
    return design && thing && { thing, design };
  }

  /** Quantities of the thing around a property that rest on the property's value. */
  private quantitiesRestingOn(node: ast.Property, analysis: Analysis | undefined): NamedQuantity[] {
    const found = this.thingAround(node, analysis);
    const place = found?.thing.properties.get(node.name ?? '')?.place;
    if (!found || !place) return [];
    return quantitiesOf(found.thing, found.design).filter(({ derivation }) => restsOn(derivation, place));
  }

  private literal(spot: Spot, analysis: Analysis | undefined): Content {
    const text = spot.leaf.text;
    const others = otherUnits(text);
    const property = AstUtils.getContainerOfType(spot.node, ast.isProperty);
    const kind = property && kindAround(property.$container);
    const definition = kind && propertyOf(kind, property.name ?? '');
    return {
      blocks: [
        [`**${said(text)}**`, ...others.map(said)].join(' = ').replace(/ = (?=between )/g, ', '),
        definition && `${definition.name} of ${kind}: ${definition.doc}`,
        property && usesText(this.quantitiesRestingOn(property, analysis)),
      ],
    };
  }

  private path(node: ast.Path, spot: Spot, analysis: Analysis | undefined): Content | undefined {
    const target = meantBy(node, this.visible);
    if (spot.feature === 'root') {
      // The order of set points is the matter of the bank itself, not of each place that names it.
      if (target) return this.declaration(target, analysis, !isThingNode(target));
      return wordContent(node);
    }
    if (!target || !isThingNode(target)) return undefined;
    const design = designOf(analysis, node) ?? designOf(analysis, target);
    const thing = design && thingOf(design, target);
    const name = spot.leaf.text;
    const kind = kindOfNode(target);
    const definition = kind && propertyOf(kind, name);
    const quantity = thing && design && quantitiesOf(thing, design).find((candidate) => candidate.name === name);
    const inForce = thing?.properties.get(definition ? definition.name : name);
    if (quantity && thing)
      return { blocks: [`**${target.name}.${name}**`, ...workedBlocks(thing, [quantity], analysis)] };
    if (!definition) return undefined;
    return {
      blocks: [
        `**${target.name}.${name}**: ${definition.doc}`,
        inForce ? inForceText(inForce, analysis?.uri ?? '') : 'Not stated.',
      ],
    };
  }

  private declaration(node: AstNode, analysis: Analysis | undefined, withSetPoints = true): Content | undefined {
    const { name, label } = node as { name?: string; label?: string };
    const kind = kindOfNode(node);
    const what = kind ?? node.$type.replace('Declaration', '').toLowerCase();
    const base = ast.isInstance(node) ? node.part?.$refText : ast.isPart(node) ? node.base?.$refText : undefined;
    const head = [`**${what} ${plain(name ?? '')}**`, label ? plain(label) : '', base ? `from ${code(base)}` : ''];
    const blocks = [
      head.filter(Boolean).join(' · '),
      this.docComment(node),
      kind && !isThingNode(node) ? kindOf(kind)?.doc : undefined,
      ast.isPart(node) ? statedText(node) : undefined,
      ast.isLet(node) || ast.isProfileDeclaration(node) ? fencedText(node) : undefined,
    ];
    if (ast.isScenario(node)) return { blocks: [...blocks, outcomeOf(node, 'scenario', analysis)] };
    if (!isThingNode(node)) return { blocks };
    const design = designOf(analysis, node);
    const thing = design && thingOf(design, node);
    if (!thing || !design) return { blocks: [...blocks, kind && kindOf(kind)?.doc] };
    const quantities = quantitiesOf(thing, design);
    const setPoints = withSetPoints ? setPointsMarkdown(thing, design, MOST_ROWS) : undefined;
    if (quantities.length === 0) return { blocks: [...blocks, kind && kindOf(kind)?.doc, setPoints] };
    return {
      blocks: [...blocks, ...workedBlocks(thing, quantities, analysis), setPoints],
    };
  }

  private docComment(node: AstNode): string | undefined {
    const text = docText(this.services.documentation.CommentProvider.getComment(node));
    return text === undefined ? undefined : commentMarkdown(text);
  }
}

/**
 * The first value of a thing with the state that governs and its tightest margin, three lines of how it comes about, the other values, and where
 * the rest is.
 */
function workedBlocks(
  thing: Thing,
  quantities: readonly NamedQuantity[],
  analysis: Analysis | undefined,
): (string | undefined)[] {
  const margin = analysis && tightestOf(thing, analysis);
  const lead =
    quantities.find(({ derivation }) => derivation === margin?.use.value) ??
    quantities.find(({ derivation }) => derivation.formula !== undefined) ??
    quantities[0];
  if (!lead) return [];
  const uri = analysis?.uri ?? '';
  const others = quantities.filter((each) => each !== lead);
  const more = others.length > MOST_VALUES ? `, and ${others.length - MOST_VALUES} more` : '';
  const governs = governingText(lead.derivation);
  return [
    [`${oneLine(lead)}${governs ? `, ${plain(governs)}` : ''}`, margin && marginText(margin)]
      .filter(Boolean)
      .join('  \n'),
    firstSteps(lead.derivation, uri),
    others.length > 0 ? `${others.slice(0, MOST_VALUES).map(oneLine).join(', ')}${more}` : undefined,
    moreMarkdown(thing.path, uri),
  ];
}

/** The limit of which a thing uses most, of what holds and of what does not. */
function tightestOf({ path }: Thing, { margins, findings }: Analysis): Pick<Margin, 'check' | 'use'> | undefined {
  const own = [...margins, ...findings].flatMap(({ check, subject, use }) =>
    subject === path && use && !isReading(use.value) && !isCountThatHolds(use) && Number.isFinite(shareOf(use))
      ? [{ check, use }]
      : [],
  );
  const [first, ...rest] = own;
  return first && rest.reduce((so, next) => (shareOf(next.use) > shareOf(so.use) ? next : so), first);
}

/** One pole where one is needed is no tight limit. */
const isCountThatHolds = ({ sense, value, limit }: Margin['use']): boolean =>
  sense === 'at-least' && limit.unit === '' && numberIn(limit, '') === numberIn(value, '');

function marginText({ check, use }: Pick<Margin, 'check' | 'use'>): string {
  const percent = shareOf(use) * 100;
  // Near the limit and above it two digits would hide on which side it is.
  const share = formatNumber(percent, percent >= 99 ? 3 : 2);
  return `${share} % of its tightest limit: ${plain(saidValue(use.value, 3))} ${use.sense === 'at-most' ? 'of at most' : 'of at least'} ${plain(saidValue(use.limit, 3))} (${check})`;
}

/** A text of the language as people write it. */
const said = (text: string): string => plain(inPeopleUnits(text));

function declarationAt({ node, feature, leaf }: Spot): AstNode | undefined {
  if (feature === 'name' && 'name' in node) return node;
  if (feature === undefined) return undefined;
  const value = (node as unknown as Record<string, unknown>)[feature];
  const references = Array.isArray(value) ? value : [value];
  const at = references.find((reference) => isReference(reference) && reference.$refText === leaf.text);
  return isReference(at) ? at.ref : undefined;
}

function oneLine({ name, derivation }: NamedQuantity): string {
  const { display, range } = shownValue(derivation);
  // What a conductor carries and what its terminals allow of it are two numbers: a finding may tell the other.
  const alone = reasonOf(derivation, 'terminalLimit') && derivation.parts['corrected'];
  const remark = alone ? ` (terminals; conductor ${plain(saidValue(alone, 3))})` : '';
  return `${code(name)} = **${plain(display)}**${range ? ` *(range ${plain(range)})*` : ''}${remark}`;
}

const usesText = (uses: readonly NamedQuantity[]): string | undefined =>
  uses.length > 0 ? `Counts in ${uses.map(oneLine).join(', ')}` : undefined;

const defaultText = ({ default: standard }: PropertyDefinition): string | undefined =>
  standard && `Default: ${code(standard.text)} (${plain(standard.note)})`;

function inForceText(property: Property, uri: string): string {
  const where = property.place ? placeText(property.place, uri) : '';
  const origins = {
    stated: property.inheritedFrom ? `from part ${property.inheritedFrom}, ${where}` : where,
    assumed: `assumed by the designer, ${where}`,
    default: property.note ? `default: ${property.note}` : 'default',
  };
  return `In force: ${code(property.text)} *(${plain(origins[property.origin])})*`;
}

function kindContent(kind: string): Content | undefined {
  const definition = kindOf(kind);
  if (!definition) return undefined;
  const names = definition.properties.map((property) => code(property.name));
  const more = names.length > MOST_LISTED ? `, and ${names.length - MOST_LISTED} more` : '';
  const listed = names.length > 0 ? `Properties: ${names.slice(0, MOST_LISTED).join(', ')}${more}` : undefined;
  return { blocks: [`**${kind}**: ${definition.doc}`, listed] };
}

function functionContent(name: string): Content | undefined {
  const ofThings = DESIGN_FUNCTIONS.get(name);
  const definition = findFunction(name);
  const builtIn = BUILT_IN_FUNCTIONS.get(name);
  const blocks = [
    ofThings && `${code(ofThings.signature)}: ${ofThings.doc}`,
    definition && `${code(functionSignature(definition))}\n\n${definition.summary} ${moreOf(definition.name)}`,
    !definition && builtIn !== undefined ? `**${name}**: ${builtIn}` : undefined,
  ];
  return { blocks };
}

function argumentContent(node: ast.Argument): Content | undefined {
  const definition = findFunction(node.$container.function ?? '');
  const parameter = definition?.parameters[node.name ?? ''];
  if (!definition || !parameter) return undefined;
  return { blocks: [`**${node.name}**: ${parameter.doc}`, code(functionSignature(definition))] };
}

function checkContent(id: string): Content | undefined {
  const check = findCheck(id);
  return (
    check && {
      blocks: [
        `**${check.id}**: ${check.docs.finds} ${check.docs.guards}`,
        `Fix: ${check.docs.fix} ${moreOf(check.id)}`,
      ],
    }
  );
}

/** A plain word as a value: `fuel: petrol`. */
function wordContent(node: ast.Path): Content | undefined {
  const word = node.root?.$refText ?? '';
  const property = AstUtils.getContainerOfType(node, ast.isProperty);
  const kind = property && kindAround(property.$container);
  const type = kind ? propertyOf(kind, property.name ?? '')?.type : undefined;
  if (type?.type !== 'word' && type?.type !== 'words') return undefined;
  const allowed = type.words.find((candidate) => candidate.word === canonicalWord(word));
  return allowed && { blocks: [`**${word}**: ${allowed.doc}`] };
}

/** The properties a part states, as written. */
function statedText(node: ast.Part): string | undefined {
  const lines = (node.body?.properties ?? []).map((property) => property.$cstNode?.text ?? '');
  return lines.length > 0 ? fenced(quoted(lines), 'watt') : undefined;
}

function fencedText(node: AstNode): string | undefined {
  const text = node.$cstNode?.text;
  return text && fenced(quoted(text.split('\n')), 'watt');
}

/** The first lines of a text. */
const quoted = (lines: readonly string[]): string =>
  (lines.length > MOST_QUOTED ? [...lines.slice(0, MOST_QUOTED), '…'] : lines).join('\n');
