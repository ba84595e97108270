import { alsoText, foldedFindings, messageWithVariant } from '@wattwright/language';
import type { Analysis, Finding, Fix, LayoutEdit, Place, Severity } from '@wattwright/language';
import {
  type CodeAction,
  CodeActionKind,
  type Diagnostic,
  DiagnosticSeverity,
  type DiagnosticRelatedInformation,
  type Location,
  type Range,
  type TextEdit,
  type WorkspaceEdit,
} from 'vscode-languageserver';
import { messageOf } from '../workspace/fault-log.js';
import type { TextDocument } from 'vscode-languageserver-textdocument';

/*
 * The only file that makes protocol objects from findings.
 */

export const SOURCE = 'wattwright';
/** Under this scheme the editor shows the documentation of checks; the server answers `wattwright/explain`. */
export const EXPLANATION_SCHEME = 'wattwright-explain';
const MISSING_FACT = 'missing-fact';
const SEVERITIES: Readonly<Record<Severity, DiagnosticSeverity>> = {
  error: DiagnosticSeverity.Error,
  warning: DiagnosticSeverity.Warning,
  info: DiagnosticSeverity.Information,
};

/** What a diagnostic carries back to the server, so that its finding can be found again. */
export interface DiagnosticData {
  readonly check: string;
  readonly subject: string;
  readonly offset: number;
  readonly end: number;
}

export const explanationUri = (check: string): string => `${EXPLANATION_SCHEME}:/${check}.md`;

export const rangeOf = (place: Place): Range => ({
  start: { line: place.line, character: place.character },
  end: { line: place.endLine, character: place.endCharacter },
});

export const locationOf = (place: Place): Location => ({ uri: place.uri, range: rangeOf(place) });

/** The findings of a file as diagnostics; accepted ones are silent. */
export function diagnosticsOf({ findings, uri }: Pick<Analysis, 'findings' | 'uri'>): Diagnostic[] {
  const own = findings.filter((finding) => !finding.accepted && finding.place.uri === uri);
  return foldedFindings(own).map(({ finding, folded }) => diagnosticOf(finding, folded));
}

export function diagnosticOf(finding: Finding, folded: readonly Finding[] = []): Diagnostic {
  const also = alsoText(finding, folded);
  const data: DiagnosticData = {
    check: finding.check,
    subject: finding.subject,
    offset: finding.place.offset,
    end: finding.place.end,
  };
  return {
    range: rangeOf(finding.place),
    // Questions mark no text as faulty: their view lists them, and a hint shows where they are asked.
    severity: finding.check === MISSING_FACT ? DiagnosticSeverity.Hint : SEVERITIES[finding.severity],
    code: finding.check,
    codeDescription: { href: explanationUri(finding.check) },
    source: SOURCE,
    message: `${messageWithVariant(finding)}${also ? `\nalso: ${also}` : ''}`,
    relatedInformation: finding.related.map((related): DiagnosticRelatedInformation => ({
      location: locationOf(related.place),
      message: related.text,
    })),
    data,
  };
}

/** Stands at the beginning of a file whose analysis broke off, so that nobody takes it for a file without findings. */
export const failureDiagnostic = (
  fault: unknown,
  lost = 'Nothing was checked: the analysis broke off',
): Diagnostic => ({
  range: { start: { line: 0, character: 0 }, end: { line: 0, character: 1 } },
  severity: DiagnosticSeverity.Error,
  code: 'analysis-failed',
  source: SOURCE,
  message: `${lost} (${messageOf(fault)}). This is a fault of the tool, not of the design.`,
});

/** Stands at the beginning of a file that could not be read. `why` follows on its name: `is not UTF-8 text …`. */
export const unreadDiagnostic = (why: string): Diagnostic => ({
  range: { start: { line: 0, character: 0 }, end: { line: 0, character: 1 } },
  severity: DiagnosticSeverity.Error,
  code: 'file-unread',
  source: SOURCE,
  message: `Nothing was checked: this file ${why}.`,
});

/** The edit a fix makes, over all files it touches. */
export function workspaceEditOf(edits: Fix['edits']): WorkspaceEdit {
  const changes: Record<string, TextEdit[]> = {};
  for (const { place, text } of edits) (changes[place.uri] ??= []).push({ range: rangeOf(place), newText: text });
  return { changes };
}

export const quickFixOf = (fix: Fix, diagnostic: Diagnostic, preferred: boolean): CodeAction => ({
  title: fix.title,
  kind: CodeActionKind.QuickFix,
  diagnostics: [diagnostic],
  edit: workspaceEditOf(fix.edits),
  ...(preferred ? { isPreferred: true } : {}),
});

/** Changes of layout as edits of a document. */
export const layoutEditsOf = (edits: readonly LayoutEdit[], document: TextDocument): TextEdit[] =>
  edits.map(({ offset, end, text }) => ({
    range: { start: document.positionAt(offset), end: document.positionAt(end) },
    newText: text,
  }));
