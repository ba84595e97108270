import type { TextDocument } from 'langium';
import type { Place } from '../derivation/index.js';
import { editBetween } from '../syntax/edit-between.js';
import type { Finding } from './types.js';

/**
 * Findings of a text as it was, at their places in the text as it is now; those that an edit has touched are left out. For an editor that
 * shows what still holds until the new text has been judged.
 */
export function carriedFindings(findings: readonly Finding[], before: string, now: TextDocument): Finding[] {
  const uri = now.uri;
  const after = now.getText();
  const { from: start, oldEnd } = editBetween(before, after);
  const by = after.length - before.length;

  const carried = (place: Place): Place | undefined => {
    if (place.uri !== uri || place.end < start || before === after) return place;
    if (place.offset <= oldEnd) return undefined;
    const [from, to] = [now.positionAt(place.offset + by), now.positionAt(place.end + by)];
    return {
      uri,
      offset: place.offset + by,
      end: place.end + by,
      line: from.line,
      character: from.character,
      endLine: to.line,
      endCharacter: to.character,
    };
  };
  return findings.flatMap((finding) => {
    const place = carried(finding.place);
    if (!place) return [];
    const related = finding.related.flatMap(({ place: beside, text }) => {
      const at = carried(beside);
      return at ? [{ place: at, text }] : [];
    });
    // Numbers and ways of mending belong to the text as it was.
    return [{ ...finding, place, related, numbers: {}, ways: [] }];
  });
}
