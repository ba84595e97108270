/**
 * Elements of a picture as text that is escaped by construction: the only way to write one is `element`, and every attribute and every
 * string among the children goes through `escaped`.
 */
export class SvgElement {
  /** Text of the element; only `element` makes one. */
  private constructor(readonly markup: string) {}

  static of(name: string, attributes: Attributes, children: readonly Child[]): SvgElement {
    const written = Object.entries(attributes)
      .filter(([, value]) => value !== undefined)
      .map(([key, value]) => ` ${key}="${typeof value === 'number' ? numberText(value) : escaped(String(value))}"`)
      .join('');
    const inner = children.map((child) => (typeof child === 'string' ? escaped(child) : child.markup)).join('');
    return new SvgElement(inner === '' ? `<${name}${written}/>` : `<${name}${written}>${inner}</${name}>`);
  }
}

export type Child = SvgElement | string;
export type Attributes = Readonly<Record<string, string | number | undefined>>;

/** Characters that XML 1.0 allows, with those escaped that mean something in it. */
const escaped = (text: string): string =>
  [...text]
    .filter((character) => /[\t\n\r\u0020-\ud7ff\ue000-\ufffd\u{10000}-\u{10ffff}]/u.test(character))
    .join('')
    .replace(/[&<>"']/g, (sign) => `&#${sign.charCodeAt(0)};`);

/** Two digits at most and no minus zero: the same bytes everywhere. */
const numberText = (value: number): string => String(Math.round(value * 100) / 100 || 0);

export const element = (name: string, attributes: Attributes, ...children: readonly Child[]): SvgElement =>
  SvgElement.of(name, attributes, children);

/** A file of its own. */
export const svgFile = (root: SvgElement): string => `<?xml version="1.0" encoding="UTF-8"?>\n${root.markup}\n`;
