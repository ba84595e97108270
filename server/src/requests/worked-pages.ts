import {
  type AnalysedDesign,
  type Analysis,
  CAUTIONS,
  CAUTION_SHORT,
  type Derivation,
  type Thing,
  codeSpan as code,
  escapeMarkdown as plain,
} from '@wattwright/language';
import { EXPLANATION_SCHEME } from '../convert/to-lsp.js';
import { setPointsMarkdown } from './set-points.js';
import { workedMarkdown } from './worked.js';

/** The page with the cautions, among those of checks. */
export const CAUTIONS_PAGE = 'cautions';

/** A quantity of a thing by the name the language has for it. */
export interface NamedQuantity {
  readonly name: string;
  readonly derivation: Derivation;
}

/** What can be worked out for a thing, from the finished analysis. */
export function quantitiesOf(thing: Thing, { context }: AnalysedDesign): NamedQuantity[] {
  return context.quantityNames(thing).flatMap((name) => {
    const result = context.quantity(thing, name);
    return result.kind === 'known' ? [{ name, derivation: result.derivation }] : [];
  });
}

const pageUri = (name: string, query = ''): string =>
  `${EXPLANATION_SCHEME}:/${encodeURIComponent(name)}.md${query ? `?${encodeURIComponent(query)}` : ''}`;

/** The last line of a hover with a calculation: the whole of it, and what to keep in mind. */
export const moreMarkdown = (path: string, uri: string): string =>
  `[more](${pageUri(path, uri)}) · *Local codes and licensed practice come first: [cautions](${pageUri(CAUTIONS_PAGE)})*`;

/** A link to the page of a check or function. */
export const moreOf = (name: string): string => `[more](${pageUri(name)})`;

export const cautionsMarkdown = (): string =>
  ['# Cautions', CAUTION_SHORT, CAUTIONS.map((caution) => `- ${caution}`).join('\n')].join('\n\n');

/** Everything that is worked out for a thing of a design, by its path `Hut.Feed`; undefined where it has none. */
export function workedPage(path: string, { designs, uri }: Analysis): string | undefined {
  for (const design of designs) {
    const { instances, runs, links, controls } = design.system;
    const thing: Thing | undefined = [...instances, ...runs, ...links, ...controls].find((each) => each.path === path);
    if (!thing) continue;
    const worked = quantitiesOf(thing, design).map(
      ({ name, derivation }) => `## ${code(name)}\n\n${workedMarkdown(derivation, uri)}`,
    );
    return [
      `# ${plain(thing.path)}`,
      ...worked,
      setPointsMarkdown(thing, design),
      cautionsMarkdown().replace(/^#/, '##'),
    ]
      .filter((block) => block !== undefined)
      .join('\n\n');
  }
  return undefined;
}
