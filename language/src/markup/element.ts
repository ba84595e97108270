/**
 * Elements of pictures and pages as text that is escaped by construction: the only way to write one is `element` or `html`, and every
 * attribute and every string among the children goes through `escaped`.
 */
export class Markup {
  /** Text of the element; only the functions below make one. */
  private constructor(readonly text: string) {}

  static of(name: string, attributes: Attributes, children: readonly Child[], emptied: 'closed' | 'paired'): Markup {
    const written = Object.entries(attributes)
      .filter(([, value]) => value !== undefined)
      .map(([key, value]) => ` ${key}="${typeof value === 'number' ? numberText(value) : escaped(String(value))}"`)
      .join('');
    const inner = children.map((child) => (typeof child === 'string' ? escaped(child) : child.text)).join('');
    if (inner === '' && emptied === 'closed') return new Markup(`<${name}${written}/>`);
    return new Markup(VOID.has(name) ? `<${name}${written}>` : `<${name}${written}>${inner}</${name}>`);
  }

  /** A style sheet of our own, which holds no text of anybody's. */
  static style(rules: string): Markup {
    return new Markup(`<style>${rules}</style>`);
  }
}

/** Elements of pages that have no end. */
const VOID: ReadonlySet<string> = new Set(['meta', 'br', 'hr', 'col', 'img']);

export type Child = Markup | string;
export type Attributes = Readonly<Record<string, string | number | undefined>>;

/** Characters that XML 1.0 allows, with those escaped that mean something in it. */
const escaped = (text: string): string =>
  [...text]
    .filter((character) => /[\t\n\r\u0020-\ud7ff\ue000-\ufffd\u{10000}-\u{10ffff}]/u.test(character))
    .join('')
    .replace(/[&<>"']/g, (sign) => `&#${sign.charCodeAt(0)};`);

/** Two digits at most and no minus zero: the same bytes everywhere. */
const numberText = (value: number): string => String(Math.round(value * 100) / 100 || 0);

/** An element of a picture. */
export const element = (name: string, attributes: Attributes, ...children: readonly Child[]): Markup =>
  Markup.of(name, attributes, children, 'closed');

/** An element of a page. */
export const html = (name: string, attributes: Attributes, ...children: readonly Child[]): Markup =>
  Markup.of(name, attributes, children, 'paired');

/** A picture as a file of its own. */
export const svgFile = (root: Markup): string => `<?xml version="1.0" encoding="UTF-8"?>\n${root.text}\n`;

/** A page as a file of its own. */
export const htmlFile = (root: Markup): string => `<!doctype html>\n${root.text}\n`;
