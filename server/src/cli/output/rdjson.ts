import { type AnsweredFinding, type Place, type Severity, messageWithVariant } from '@wattwright/language';
import type { CheckReport } from '../report.js';
import { shownFrom } from './identity.js';

const SEVERITY: Readonly<Record<Severity, string>> = { error: 'ERROR', warning: 'WARNING', info: 'INFO' };

type TextOf = (uri: string) => string | undefined;

/** A position as the format counts it: from 1, columns in bytes of UTF-8. */
function position(uri: string, line: number, character: number, textOf: TextOf): object {
  const text = textOf(uri)?.split('\n')[line] ?? '';
  return { line: line + 1, column: Buffer.byteLength(text.slice(0, character), 'utf8') + 1 };
}

const range = (place: Place, textOf: TextOf): object => ({
  start: position(place.uri, place.line, place.character, textOf),
  end: position(place.uri, place.endLine, place.endCharacter, textOf),
});

const location = (place: Place, root: string, textOf: TextOf): object => ({
  path: shownFrom(root, place.uri),
  range: range(place, textOf),
});

/** A suggestion has one stretch of the file it stands in: half of a change would break the design, so that longer ones are left out. */
const suggestions = ({ fixes, place }: AnsweredFinding, textOf: TextOf): object[] =>
  fixes.flatMap(({ edits }) => {
    const [edit] = edits;
    if (!edit || edits.length > 1 || edit.place.uri !== place.uri) return [];
    return [{ range: range(edit.place, textOf), text: edit.text }];
  });

/** `check --format rdjson`: the diagnostic format of review bots. */
export function reportRdjson(report: CheckReport, root: string, textOf: TextOf): object {
  return {
    source: { name: 'wattwright' },
    ...(report.findings.length > 0 ? { severity: SEVERITY[worst(report)] } : {}),
    diagnostics: report.findings.map((finding) => {
      const offered = suggestions(finding, textOf);
      return {
        message: `${finding.subject ? `${finding.subject}: ` : ''}${messageWithVariant(finding)}`,
        location: location(finding.place, root, textOf),
        severity: SEVERITY[finding.severity],
        code: { value: finding.check },
        ...(offered.length > 0 ? { suggestions: offered } : {}),
        ...(finding.related.length > 0
          ? {
              relatedLocations: finding.related.map(({ place, text }) => ({
                message: text,
                location: location(place, root, textOf),
              })),
            }
          : {}),
      };
    }),
  };
}

const worst = ({ findings }: CheckReport): Severity =>
  findings.some(({ severity }) => severity === 'error')
    ? 'error'
    : findings.some(({ severity }) => severity === 'warning')
      ? 'warning'
      : 'info';
