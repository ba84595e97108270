import type { AnalysedDesign, Analysis, Answer, Finding } from '@wattwright/language';
import { findCheck, foldedFindings, isOfDesign, safeFixes, withoutDesign } from '@wattwright/language';
import type { LangiumDocument } from 'langium';
import type { CodeActionProvider } from 'langium/lsp';
import {
  CancellationToken,
  type CodeAction,
  CodeActionKind,
  type CodeActionParams,
  type Diagnostic,
} from 'vscode-languageserver';
import { type DiagnosticData, locationOf, quickFixOf, workspaceEditOf } from '../convert/to-lsp.js';
import { fillActions } from './holes.js';
import type { WattwrightServices } from '../workspace/analyses.js';
import type { EditorAbilities, QuickStartServer } from '../workspace/quick-start.js';
import { type RefactoringData, refactored, refactoringsAt } from './refactorings.js';

const FIX_ALL = `${CodeActionKind.SourceFixAll}.wattwright`;
/** The command by which an editor asks for the reason and writes `accept … because "reason"`; one that has it says so at the start. */
const ACCEPT_COMMAND = 'wattwright.acceptBecause';
const REASON = 'say here why this is acceptable';

/** Offers the changes proposed for findings, a way to accept a finding, and all safe fixes of the file at once. */
export class DesignCodeActions implements CodeActionProvider {
  constructor(private readonly services: WattwrightServices) {}

  async getCodeActions(
    document: LangiumDocument,
    { context, range }: CodeActionParams,
    token = CancellationToken.None,
  ): Promise<CodeAction[]> {
    const analysis = this.services.analysis.Analyses.of(document);
    if (!analysis) return [];
    const wanted = (kind: string): boolean =>
      !context.only || context.only.some((only) => kind === only || kind.startsWith(`${only}.`));
    const fixes = wanted(CodeActionKind.QuickFix)
      ? [
          ...(await fillActions(document, range, this.services, token)),
          ...(await this.quickFixes(document, context.diagnostics, analysis, token)),
        ]
      : [];
    // Fixing the whole file is a source action: offered when it is asked for by kind.
    const all = context.only && wanted(FIX_ALL) ? fixAll(analysis) : undefined;
    // Actions on the source as a whole are offered when they are asked for by kind.
    const isSource = (kind: string): boolean => kind.startsWith(`${CodeActionKind.Source}.`);
    const forms = refactoringsAt(
      document,
      range,
      analysis,
      (kind) => wanted(kind) && (context.only !== undefined || !isSource(kind)),
    );
    return [...fixes, ...(await this.worked(forms)), ...(all ? [all] : [])];
  }

  private get editor(): EditorAbilities {
    return (this.services.shared.lsp.LanguageServer as QuickStartServer).editor;
  }

  /** Changes of form with their edits, where the editor cannot ask for these once one is chosen. */
  private async worked(actions: readonly CodeAction[]): Promise<CodeAction[]> {
    if (this.editor.resolvesEdits) return [...actions];
    const all = await Promise.all(actions.map((action) => this.resolve(action)));
    return all.filter(({ edit }) => edit);
  }

  /** An action with its edit. */
  async resolve(action: CodeAction): Promise<CodeAction> {
    const data = action.data as RefactoringData | undefined;
    const edit = data && !action.edit ? await refactored(data, this.services) : undefined;
    return edit ? { ...action, edit } : action;
  }

  /** Changes for findings, then ways to accept them. Several findings at one place often want the same change: it is offered once. */
  private async quickFixes(
    document: LangiumDocument,
    diagnostics: readonly Diagnostic[],
    analysis: Analysis,
    token: CancellationToken,
  ): Promise<CodeAction[]> {
    // What is folded under another finding has no diagnostic of its own: it is answered at that of the one that leads.
    const told = foldedFindings(analysis.findings.filter(({ accepted }) => !accepted));
    const found = diagnostics.flatMap((diagnostic) => {
      const finding = findingOf(diagnostic, analysis);
      const folded = told.find((each) => each.finding === finding)?.folded ?? [];
      return finding
        ? [finding, ...folded].map((each) => ({ finding: each, diagnostic, isLeading: each === finding }))
        : [];
    });
    const findings = found.map(({ finding }) => finding);
    const answers = await this.services.analysis.Proposals.answers(document, findings, token);
    const fixes = found.flatMap(({ diagnostic, isLeading }, index) =>
      actionsOf(answers[index]!, diagnostic, isLeading),
    );
    const waivers = found.flatMap(
      ({ finding, diagnostic }) => acceptAction(finding, diagnostic, analysis, this.editor.asksReasons) ?? [],
    );
    return [...merged(fixes), ...waivers];
  }
}

/** What is proposed for a finding, the preferred one first; at one diagnostic only the finding that leads prefers. */
const actionsOf = ({ proposals }: Answer, diagnostic: Diagnostic, isLeading: boolean): CodeAction[] =>
  proposals.map((fix, index) => quickFixOf(fix, diagnostic, isLeading && index === 0));

/** Equal changes as one action that mends all their findings. */
function merged(actions: readonly CodeAction[]): CodeAction[] {
  const distinct = new Map<string, CodeAction>();
  for (const action of actions) {
    const key = JSON.stringify([action.title, action.edit]);
    const same = distinct.get(key);
    const isPreferred = same?.isPreferred || action.isPreferred;
    distinct.set(key, {
      ...action,
      diagnostics: [...new Set([...(same?.diagnostics ?? []), ...(action.diagnostics ?? [])])],
      ...(isPreferred ? { isPreferred } : {}),
    });
  }
  return [...distinct.values()];
}

/** The finding a diagnostic was made from; undefined when the text has changed since. */
function findingOf(diagnostic: Diagnostic, analysis: Analysis): Finding | undefined {
  const data = diagnostic.data as Partial<DiagnosticData> | undefined;
  const sameCheck = analysis.findings.filter((finding) => finding.check === diagnostic.code);
  const { start, end } = diagnostic.range;
  const samePlace = sameCheck.filter(
    ({ place }) =>
      place.line === start.line &&
      place.character === start.character &&
      place.endLine === end.line &&
      place.endCharacter === end.character,
  );
  return samePlace.find((finding) => finding.subject === data?.subject) ?? samePlace[0];
}

function fixAll(analysis: Analysis): CodeAction | undefined {
  const taken: { uri: string; offset: number; end: number }[] = [];
  const edits = safeFixes(analysis.findings).flatMap(({ fix }) => {
    const places = fix.edits.map(({ place }) => place);
    const clashes = places.some((place) =>
      taken.some((other) => other.uri === place.uri && place.offset <= other.end && place.end >= other.offset),
    );
    if (clashes) return [];
    taken.push(...places);
    return fix.edits;
  });
  if (edits.length === 0) return undefined;
  return { title: 'Apply all safe fixes of this file', kind: FIX_ALL, edit: workspaceEditOf(edits) };
}

/** Writes `accept CHECK on THING because "…"` at the end of the design. Findings on text and meaning cannot be accepted. */
function acceptAction(
  finding: Finding,
  diagnostic: Diagnostic,
  analysis: Analysis,
  asksReasons: boolean,
): CodeAction | undefined {
  const check = findCheck(finding.check);
  const design = designOfSubject(finding, analysis);
  if (!check || check.group === 'text' || !design || design.system.variant !== undefined) return undefined;
  const { system } = design;
  const subject = withoutDesign(finding.subject);
  const on = subject ? ` on ${subject}` : '';
  const { place, before, after } = system.insert;
  const action = {
    title: `Accept ${check.id}${on} because …`,
    kind: CodeActionKind.QuickFix,
    diagnostics: [diagnostic],
  };
  const [start, end] = [`${before}accept ${check.id}${on} because "`, `"${after}`];
  if (!asksReasons) return { ...action, edit: workspaceEditOf([{ place, text: `${start}${REASON}${end}` }]) };
  const { uri, range } = locationOf(place);
  return {
    ...action,
    command: { title: action.title, command: ACCEPT_COMMAND, arguments: [{ uri, range, before: start, after: end }] },
  };
}

function designOfSubject(finding: Finding, analysis: Analysis): AnalysedDesign | undefined {
  return analysis.designs.find(({ system }) => !system.variant && isOfDesign(finding.subject, system.name));
}
