import {
  type Chosen,
  type ChosenDesign,
  type HeldBy,
  type OpenValue,
  escapeMarkdown as plain,
  codeSpan as code,
  withoutDesign,
} from '@wattwright/language';
import type { LangiumDocument } from 'langium';
import type { CompletionProvider, HoverProvider, InlayHintProvider } from 'langium/lsp';
import {
  CancellationToken,
  type CodeAction,
  CodeActionKind,
  type CodeLens,
  CodeLensRefreshRequest,
  type Command,
  type CompletionItem,
  CompletionItemKind,
  type CompletionList,
  type CompletionParams,
  type Connection,
  type Hover,
  type HoverParams,
  type InlayHint,
  type InlayHintParams,
  type Range,
} from 'vscode-languageserver';
import { rangeOf, workspaceEditOf } from '../convert/to-lsp.js';
import type { WattwrightServices } from '../workspace/analyses.js';
import type { DesignCompletion } from './completion.js';
import type { RunHints } from './inlay-hints.js';
import { documentNamed } from './locate.js';

/** A hole with what was found for its design. */
interface Found {
  readonly value: OpenValue;
  readonly chosen: ChosenDesign;
  readonly best?: Chosen;
}

const isWithin = ({ place }: OpenValue, { start, end }: Range): boolean =>
  (place.line < end.line || (place.line === end.line && place.character <= end.character)) &&
  (place.endLine > start.line || (place.endLine === start.line && place.endCharacter >= start.character));

/** What was found for the holes of a stretch of text; nothing where the search goes on. */
async function foundIn(
  document: LangiumDocument,
  range: Range,
  { analysis }: WattwrightServices,
  token: CancellationToken,
): Promise<readonly Found[]> {
  const isAsked = analysis.Choices.open(document).some(({ values }) => values.some((value) => isWithin(value, range)));
  const designs = isAsked ? ((await analysis.Choices.of(document, token)) ?? []) : [];
  return designs.flatMap((chosen) =>
    chosen.open
      .filter((value) => isWithin(value, range))
      .map((value) => ({ value, chosen, ...(chosen.answers[0] ? { best: chosen.answers[0] } : {}) })),
  );
}

/** The edits that put an answer into the text. */
const editsOf = (
  chosen: ChosenDesign,
  answer: Chosen,
): readonly { readonly place: OpenValue['place']; readonly text: string }[] =>
  chosen.open.flatMap(({ path, place }) => {
    const text = answer.values.get(path);
    return text === undefined ? [] : [{ place, text }];
  });

/** Fills one hole, or all of its design. */
export async function fillActions(
  document: LangiumDocument,
  range: Range,
  services: WattwrightServices,
  token: CancellationToken,
): Promise<CodeAction[]> {
  const found = await foundIn(document, range, services, token);
  return found.flatMap(({ value, chosen, best }) => {
    const text = best?.values.get(value.path);
    if (!best || text === undefined) return [];
    const edits = editsOf(chosen, best);
    const one: CodeAction = {
      title: `Fill in ${withoutDesign(value.path)}: ${text}`,
      kind: CodeActionKind.QuickFix,
      isPreferred: edits.length === 1,
      edit: workspaceEditOf([{ place: value.place, text }]),
    };
    const all: CodeAction = {
      title: `Fill in all ${edits.length} values of ${chosen.design}`,
      kind: CodeActionKind.QuickFix,
      isPreferred: true,
      edit: workspaceEditOf(edits),
    };
    return edits.length > 1 ? [one, all] : [one];
  });
}

/** Says at a hole which value holds and what holds it; anywhere else what the hover says otherwise. */
export class HoverWithHoles implements HoverProvider {
  constructor(
    private readonly services: WattwrightServices,
    private readonly inner: HoverProvider,
  ) {}

  async getHoverContent(
    document: LangiumDocument,
    params: HoverParams,
    token = CancellationToken.None,
  ): Promise<Hover | undefined> {
    const { position } = params;
    const open = this.services.analysis.Choices.open(document).flatMap(({ values }) => values);
    const value = open.find((each) => isWithin(each, { start: position, end: position }));
    if (!value) return this.inner.getHoverContent(document, params, token);
    const [found] = await foundIn(document, { start: position, end: position }, this.services, token);
    const lines = found ? linesOf(found) : ['Values are still being tried; ask again in a moment.'];
    return { contents: { kind: 'markdown', value: lines.join('\n\n') }, range: rangeOf(value.place) };
  }
}

function linesOf({ value, chosen, best }: Found): string[] {
  const text = best?.values.get(value.path);
  if (best && text !== undefined) {
    const held = best.heldBy.find(({ path }) => path === value.path);
    const others =
      best.values.size > 1 ? [`Together with ${best.values.size - 1} more of ${plain(chosen.design)}.`] : [];
    const errors = best.errors > 0 ? [`${best.errors} of the errors of ${plain(chosen.design)} no value ends.`] : [];
    return [`**${code(text)}** holds`, ...(held ? heldLines(held) : []), ...others, ...errors];
  }
  const asked = chosen.questions.filter(({ path }) => path === value.path).map(({ question }) => question);
  if (asked.length > 0) return ['Stays open:', ...[...new Set(asked)].map((question) => `- ${plain(question)}`)];
  if (chosen.conflict)
    return [
      'No value holds; these cannot hold together:',
      ...chosen.conflict.map(({ text: own }) => `- ${plain(own)}`),
    ];
  return ['Nothing was found within what is tried: narrow the ranges, or leave fewer values open.'];
}

function heldLines({ within, next, check, subject, share, headline, isOfPrice }: HeldBy): string[] {
  const lines = within ? [`${code(within[0])} to ${code(within[1])} hold; the middle is taken.`] : [];
  if (next === undefined) return lines;
  if (isOfPrice) return [...lines, `${code(next)} would hold as well, at a higher price.`];
  const used = share === undefined ? '' : `, ${Math.round(share * 100)} % used`;
  const on = subject ? ` on ${plain(withoutDesign(subject) || subject)}` : '';
  if (check && !within) lines.push(`Held by ${code(check)}${on}${used}.`);
  if (headline) lines.push(`${code(next)}: ${plain(headline)}`);
  return lines;
}

/** Shows behind each hole the value that holds. */
export class HintsWithHoles implements InlayHintProvider {
  constructor(
    private readonly services: WattwrightServices,
    private readonly inner: RunHints,
  ) {}

  async getInlayHints(
    document: LangiumDocument,
    params: InlayHintParams,
    token = CancellationToken.None,
  ): Promise<InlayHint[]> {
    const others = this.inner.getInlayHints(document, params);
    const found = await foundIn(document, params.range, this.services, token);
    const hints = found.flatMap(({ value, best }): InlayHint[] => {
      const text = best?.values.get(value.path);
      if (text === undefined) return [];
      return [
        {
          position: rangeOf(value.place).end,
          label: `= ${text}`,
          paddingLeft: true,
          tooltip: 'The best value that every check and requirement lets stand',
          textEdits: [{ range: rangeOf(value.place), newText: text }],
        },
      ];
    });
    return [...others, ...hints];
  }

  /** What is worked out once somebody looks at a hint; those of holes are whole from the start. */
  resolve(hint: InlayHint): InlayHint {
    return this.inner.resolve(hint);
  }
}

/** Answers that a list of what may stand in a hole is made of. */
const LISTED = 5;

/** Proposes at a hole the values that hold, best first; anywhere else what may be written there. */
export class CompletionWithHoles implements CompletionProvider {
  readonly completionOptions;

  constructor(
    private readonly services: WattwrightServices,
    private readonly inner: DesignCompletion,
  ) {
    this.completionOptions = inner.completionOptions;
  }

  getCompletion(
    document: LangiumDocument,
    params: Pick<CompletionParams, 'position' | 'textDocument'>,
  ): CompletionList | undefined {
    const { Choices } = this.services.analysis;
    const { position } = params;
    const isCurrent =
      this.services.shared.workspace.TextDocuments.get(document.uri)?.version === document.textDocument.version;
    const open = isCurrent ? Choices.open(document).flatMap(({ values }) => values) : [];
    const value = open.find((each) => isWithin(each, { start: position, end: position }));
    if (!value) return this.inner.getCompletion(document, params);
    const whole = Choices.known(document, LISTED);
    // Nobody waits for a list: what is being tried is there when it is asked for again.
    if (!whole) void Choices.of(document, CancellationToken.None, LISTED).catch(() => undefined);
    const items = rankedItems(value, whole ?? Choices.known(document, 1) ?? []);
    return { isIncomplete: !whole, items };
  }
}

/** The values of one hole in the answers for its design, the best first, each once with what holds it. */
function rankedItems(value: OpenValue, all: readonly ChosenDesign[]): CompletionItem[] {
  const items = new Map<string, CompletionItem>();
  for (const chosen of all)
    for (const answer of chosen.open.some(({ path }) => path === value.path) ? chosen.answers : []) {
      const text = answer.values.get(value.path);
      if (text === undefined || items.has(text)) continue;
      const held = answer.heldBy.find(({ path }) => path === value.path);
      const used = held?.share === undefined ? '' : `, ${Math.round(held.share * 100)} % used`;
      items.set(text, {
        label: text,
        kind: CompletionItemKind.Value,
        detail: held?.check ? `holds; held by ${held.check}${used}` : 'holds',
        ...(held ? { documentation: { kind: 'markdown', value: heldLines(held).join('\n\n') } } : {}),
        sortText: String(items.size).padStart(3, '0'),
        // What stands there is `?`, which no value begins with.
        filterText: '?',
        preselect: items.size === 0,
        textEdit: { range: rangeOf(value.place), newText: text },
      });
    }
  return [...items.values()];
}

/** The command by which an editor has all holes of a design filled. */
export const FILL_COMMAND = 'wattwright.server.fill';

/** Whether a design has holes, so that a lens above it offers to fill them. */
export const hasHoles = (document: LangiumDocument, design: string, { analysis }: WattwrightServices): boolean =>
  analysis.Choices.open(document).some(({ name, values }) => name === design && values.length > 0);

/** What the lens of a design with holes says and does. */
export async function fillLens(
  lens: CodeLens,
  document: LangiumDocument,
  design: string,
  services: WattwrightServices,
): Promise<CodeLens> {
  const { Choices } = services.analysis;
  const all = await Choices.of(document, CancellationToken.None);
  if (!all) void showWhenFound(document, services).catch(() => undefined);
  const chosen = all?.find((each) => each.design === design);
  const command: Command = chosen?.answers[0]
    ? {
        title: `fill in ${chosen.answers[0].values.size} of ${chosen.open.length} open values`,
        command: FILL_COMMAND,
        arguments: [document.uri.toString(), design],
      }
    : { title: emptyText(chosen), command: '' };
  return { ...lens, command };
}

/** Has an editor ask for its lenses again once values are found that took longer than a request waits. */
async function showWhenFound(document: LangiumDocument, { analysis, shared }: WattwrightServices): Promise<void> {
  // An editor that knows no refreshing refuses it; it asks again at the next edit.
  if (await analysis.Choices.whenFound(document)) await shared.lsp.Connection?.sendRequest(CodeLensRefreshRequest.type);
}

function emptyText(chosen: ChosenDesign | undefined): string {
  if (!chosen) return 'values are being tried';
  if (chosen.conflict) return 'no values hold';
  return chosen.questions.length > 0 ? 'facts are missing to fill what is open' : 'no values were found';
}

/** Writes the best values into the open document of an editor; whether it did. */
export async function fillIn(
  [uri, design]: readonly unknown[],
  services: WattwrightServices,
  connection: Connection | undefined,
  token: CancellationToken,
): Promise<boolean> {
  const document = typeof uri === 'string' ? documentNamed(services.shared, uri) : undefined;
  const all = document && (await services.analysis.Choices.of(document, token));
  const chosen = all?.find((each) => each.design === design);
  const best = chosen?.answers[0];
  if (!best || !connection) return false;
  return (await connection.workspace.applyEdit(workspaceEditOf(editsOf(chosen, best)))).applied;
}
