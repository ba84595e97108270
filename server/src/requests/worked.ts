import {
  type Derivation,
  type Place,
  type WorkedLine,
  codeSpan as code,
  escapeMarkdown as plain,
  workedLines,
} from '@wattwright/language';

/** More lines than this do not help in a hover; the rest is in `wattwright calc`. */
const MOST_LINES = 60;
/** Steps deeper than this are left out. */
const DEEPEST_STEP = 5;

/** Says where a place is, seen from the file `uri`. */
export function placeText(place: Place, uri: string): string {
  const line = `line ${place.line + 1}`;
  return place.uri === uri ? line : `${place.uri.replace(/^.*\//, '')} ${line}`;
}

/** A worked calculation as a nested list: each value, how it comes about, then what went into it. */
export function workedMarkdown(derivation: Derivation, uri: string): string {
  const all = workedLines(derivation, { placeText: (place) => placeText(place, uri) });
  const shown = all.filter((line) => line.depth <= DEEPEST_STEP * 2).slice(0, MOST_LINES);
  const lines = shown.map(markdownLine);
  if (shown.length < all.length) lines.push('- … the whole calculation: `wattwright calc`');
  return lines.join('\n');
}

function markdownLine(line: WorkedLine): string {
  const indent = '  '.repeat(line.depth);
  switch (line.kind) {
    case 'value': {
      const { label, shown, remark } = line.value ?? { label: line.text, shown: '', remark: '' };
      return `${indent}- ${plain(label)} = **${plain(shown)}**${remark ? ` *(${plain(remark)})*` : ''}`;
    }
    case 'formula':
    case 'numbers':
      return `${indent}- ${code(line.text)}`;
    case 'part':
      return `${indent}- with ${plain(line.text)}`;
    case 'governing':
      return `${indent}- governs: ${plain(line.text)}`;
    case 'source':
      return `${indent}- source: ${plain(line.text)}`;
    case 'note':
      return `${indent}- ${plain(line.text)}`;
  }
}

/** Whether a derivation rests on what is written at a place. */
export function restsOn(derivation: Derivation, place: Place): boolean {
  const seen = new Set<Derivation>();
  const queue = [derivation];
  for (let step = queue.pop(); step; step = queue.pop()) {
    if (seen.has(step)) continue;
    seen.add(step);
    const at = step.place;
    if (at && at.uri === place.uri && at.offset >= place.offset && at.end <= place.end) return true;
    queue.push(...step.inputs);
  }
  return false;
}
