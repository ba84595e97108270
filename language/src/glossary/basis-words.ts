/** A practice whose words a reader uses. */
export type Practice = 'nec' | 'iec' | 'craft';

/** A word that differs between practices, in singular, with its plural where that is not by `s`. */
interface Term {
  /** As checks write it; what stands in code marks is never a term. */
  readonly written: string;
  readonly nec: string;
  readonly iec: string;
  readonly craft: string;
}

/**
 * The display words that follow the stated basis. Texts are written with the words of the first column and spoken in those of the design;
 * ids, properties and keys stay as they are. Longer terms stand before the words that they contain.
 */
export const BASIS_TERMS: readonly Term[] = [
  {
    written: 'earth conductor',
    nec: 'equipment grounding conductor',
    iec: 'protective conductor',
    craft: 'grounding conductor',
  },
  {
    written: 'bond of neutral and earth',
    nec: 'neutral-to-ground bond',
    iec: 'neutral-earth bond',
    craft: 'neutral-ground bond',
  },
  { written: 'earth-fault', nec: 'ground-fault', iec: 'earth-fault', craft: 'ground-fault' },
  { written: 'earth fault', nec: 'ground fault', iec: 'earth fault', craft: 'ground fault' },
  { written: 'residual-current device', nec: 'GFCI', iec: 'RCD', craft: 'ELCI or RCD' },
  {
    written: 'residual-current protection',
    nec: 'GFCI protection',
    iec: 'RCD protection',
    craft: 'ELCI or RCD protection',
  },
  { written: 'overcurrent device', nec: 'overcurrent device', iec: 'protective device', craft: 'overcurrent device' },
  {
    written: 'interrupting rating',
    nec: 'interrupting rating',
    iec: 'breaking capacity',
    craft: 'interrupting rating',
  },
  { written: 'receptacle', nec: 'receptacle', iec: 'socket-outlet', craft: 'receptacle' },
  { written: 'socket', nec: 'receptacle', iec: 'socket-outlet', craft: 'receptacle' },
  { written: 'gasoline', nec: 'gasoline', iec: 'petrol', craft: 'gasoline' },
  { written: 'earth', nec: 'ground', iec: 'earth', craft: 'ground' },
];

/** Words of other practices that no reader of one should meet, for the test of every text. */
export function foreignWords(practice: Practice): readonly string[] {
  const own = new Set(BASIS_TERMS.map((term) => term[practice]));
  const all = BASIS_TERMS.flatMap(({ written, nec, iec, craft }) => [written, nec, iec, craft]);
  return [...new Set(all)].filter((word) => ![...own].some((each) => each.includes(word)));
}

const TERMS = BASIS_TERMS.map(({ written }) => written).join('|');
/** A term, but no beginning of an id such as `earth-conductor`, with the article before it, which follows the sound of what it becomes: `an earth fault`, `a ground fault`. */
const PATTERN = new RegExp(`\\b(an? )?(${TERMS})(?=s?\\b(?!-\\w))`, 'gi');

const articleOf = (term: string): string => (/^(?:[aeio]|RCD)/i.test(term) ? 'an ' : 'a ');

const NO_NAMES: ReadonlySet<string> = new Set();

const BY_WRITTEN: ReadonlyMap<string, Term> = new Map(BASIS_TERMS.map((term) => [term.written, term]));

/** With the capital letter of the word it stands for. */
const asWritten = (word: string, written: string): string =>
  /^[A-Z]/.test(written) ? `${word.charAt(0).toUpperCase()}${word.slice(1)}` : word;

/** What stays as it is: the language, which stands in code marks, and what somebody has said in words of their own. */
function keptIn(own: ReadonlySet<string>): RegExp {
  let pattern = KEPT.get(own);
  if (!pattern) {
    const sayings = [...own].filter((each) => /\s/.test(each)).sort((one, other) => other.length - one.length);
    const escaped = sayings.map((each) => each.replace(/[.*+?^${}()|[\]\\]/g, '\\$&'));
    KEPT.set(own, (pattern = new RegExp(`(${['`[^`]*`', ...escaped].join('|')})`)));
  }
  return pattern;
}

const KEPT = new WeakMap<ReadonlySet<string>, RegExp>();

/** A text in the words of a practice. What stands in code marks stays as it is, and so do names of things and what their author says of them. */
export function inWordsOf(practice: Practice, text: string, names: ReadonlySet<string> = NO_NAMES): string {
  return text
    .split(keptIn(names))
    .map((part, at) =>
      at % 2 === 1
        ? part
        : part.replace(PATTERN, (whole, article: string | undefined, written: string) => {
            if (names.has(written)) return whole;
            const term = BY_WRITTEN.get(written.toLowerCase())![practice];
            return `${article ? asWritten(articleOf(term), article) : ''}${asWritten(term, written)}`;
          }),
    )
    .join('');
}
