import {
  type Derivation,
  type Place,
  type WorkedLine,
  codeSpan as code,
  escapeMarkdown as plain,
  workedLines,
} from '@wattwright/language';

/** A page of more lines helps nobody; the rest is in `wattwright calc`. */
const MOST_LINES = 300;
/** Lines of a derivation in a hover, behind the value itself. */
const FIRST_LINES = 3;
/** What says how a value comes about in few lines. */
const TELLING: ReadonlySet<WorkedLine['kind']> = new Set(['value', 'formula', 'numbers', 'source']);

/** Says where a place is, seen from the file `uri`. */
export function placeText(place: Place, uri: string): string {
  const line = `line ${place.line + 1}`;
  return place.uri === uri ? line : `${place.uri.replace(/^.*\//, '')} ${line}`;
}

/** A worked calculation as a nested list: each value, how it comes about, then what went into it. */
export function workedMarkdown(derivation: Derivation, uri: string): string {
  const all = workedLines(derivation, { placeText: (place) => placeText(place, uri) });
  const shown = all.slice(0, MOST_LINES);
  const lines = shown.map(markdownLine);
  if (shown.length < all.length) lines.push('- … the whole calculation: `wattwright calc`');
  return lines.join('\n');
}

/** The first steps of a calculation: how a value comes about, and of what. */
export function firstSteps(derivation: Derivation, uri: string): string {
  const [, ...steps] = workedLines(derivation, { placeText: (place) => placeText(place, uri) });
  const told = steps.filter(({ kind, depth }) => TELLING.has(kind) && depth <= 2);
  const joined = told.flatMap((line, index) => {
    // The numbers stand behind the formula they are put into.
    if (line.kind === 'numbers' && told[index - 1]?.kind === 'formula') return [];
    const numbers = line.kind === 'formula' && told[index + 1]?.kind === 'numbers' ? ` ${told[index + 1]!.text}` : '';
    return [{ ...line, depth: 0, text: `${line.text}${numbers}` }];
  });
  return joined.slice(0, FIRST_LINES).map(markdownLine).join('\n');
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
