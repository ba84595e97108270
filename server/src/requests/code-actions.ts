import type { AnalysedDesign, Analysis, Finding } from '@wattwright/language';
import { findCheck } from '@wattwright/language';
import type { LangiumDocument } from 'langium';
import type { CodeActionProvider } from 'langium/lsp';
import { type CodeAction, CodeActionKind, type CodeActionParams, type Diagnostic } from 'vscode-languageserver';
import { type DiagnosticData, quickFixOf, workspaceEditOf } from '../convert/to-lsp.js';
import type { WattwrightServices } from '../workspace/analyses.js';

const FIX_ALL = `${CodeActionKind.SourceFixAll}.wattwright`;
const REASON = 'say here why this is acceptable';

/** Offers the fixes the findings carry, a way to accept a finding, and all safe fixes of the file at once. */
export class DesignCodeActions implements CodeActionProvider {
  constructor(private readonly services: WattwrightServices) {}

  getCodeActions(document: LangiumDocument, { context }: CodeActionParams): CodeAction[] {
    const analysis = this.services.analysis.Analyses.of(document);
    if (!analysis) return [];
    const wanted = (kind: string): boolean =>
      !context.only || context.only.some((only) => kind === only || kind.startsWith(`${only}.`));
    const quickFixes = wanted(CodeActionKind.QuickFix)
      ? context.diagnostics.flatMap((diagnostic) => this.actionsFor(diagnostic, analysis))
      : [];
    // Fixing the whole file is a source action: offered when it is asked for by kind.
    const all = context.only && wanted(FIX_ALL) ? fixAll(analysis) : undefined;
    return [...quickFixes, ...(all ? [all] : [])];
  }

  private actionsFor(diagnostic: Diagnostic, analysis: Analysis): CodeAction[] {
    const finding = findingOf(diagnostic, analysis);
    if (!finding) return [];
    const preferred = finding.fixes.find((fix) => fix.preferred) ?? finding.fixes[0];
    const fixes = finding.fixes.map((fix) => quickFixOf(fix, diagnostic, fix === preferred));
    const accept = acceptAction(finding, diagnostic, analysis);
    return [...fixes, ...(accept ? [accept] : [])];
  }
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
  const edits = analysis.findings
    .filter((finding) => !finding.accepted)
    .flatMap((finding) => {
      const fix = finding.fixes.find((candidate) => candidate.safe);
      const places = fix?.edits.map(({ place }) => place) ?? [];
      const clashes = places.some((place) =>
        taken.some((other) => other.uri === place.uri && place.offset <= other.end && place.end >= other.offset),
      );
      if (!fix || clashes) return [];
      taken.push(...places);
      return fix.edits;
    });
  if (edits.length === 0) return undefined;
  return { title: 'Apply all safe fixes of this file', kind: FIX_ALL, edit: workspaceEditOf(edits) };
}

/** Writes `accept CHECK on THING because "…"` at the end of the design. Findings on text and meaning cannot be accepted. */
function acceptAction(finding: Finding, diagnostic: Diagnostic, analysis: Analysis): CodeAction | undefined {
  const check = findCheck(finding.check);
  const design = designOfSubject(finding, analysis);
  if (!check || check.group === 'text' || !design || design.system.variant !== undefined) return undefined;
  const { system } = design;
  const subject = finding.subject.startsWith(`${system.name}.`) ? finding.subject.slice(system.name.length + 1) : '';
  const on = subject ? ` on ${subject}` : '';
  const { place, before, after } = system.insert;
  const text = `${before}accept ${check.id}${on} because "${REASON}"${after}`;
  return {
    title: `Accept ${check.id}${on} because …`,
    kind: CodeActionKind.QuickFix,
    diagnostics: [diagnostic],
    edit: workspaceEditOf([{ place, text }]),
  };
}

function designOfSubject(finding: Finding, analysis: Analysis): AnalysedDesign | undefined {
  return analysis.designs.find(
    ({ system }) =>
      !system.variant && (finding.subject === system.name || finding.subject.startsWith(`${system.name}.`)),
  );
}
