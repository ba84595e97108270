// Characters that can move the cursor, recolour, hide or reorder text on a terminal: C0 and C1 controls, DEL, line and paragraph
// separators, and the marks that reorder or hide text (Unicode 15, general categories Cc, Zl, Zp and Cf of bidirectional and
// invisible formatting).
// eslint-disable-next-line no-control-regex -- control characters are what is looked for
export const UNSAFE = /[\u0000-\u001f\u007f-\u009f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff\ufff9-\ufffb]/g;

const spelled = (character: string): string => `\\u{${character.codePointAt(0)!.toString(16)}}`;

/** Text of a design or a file name, fit for a terminal: characters that would act on it are spelled out as `\u{1b}`. */
export const safeText = (text: string): string => text.replace(UNSAFE, spelled);

/** The same for text of several lines: line ends stay. */
export const safeLines = (text: string): string => text.split(/\r?\n/).map(safeText).join('\n');
