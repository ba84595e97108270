import type { Place } from '../derivation/index.js';
import type { System } from '../model/types.js';
import { formatQuantity } from '../quantity/index.js';
import { type Found, plainEdit, same, textStated } from './found-edit.js';
import type { Identity } from './identity.js';
import { type Renamed, shortText, textMeaning } from './meaning.js';

/** One sentence of a design that is no thing: a requirement, a waiver, a reading. */
interface Sentence {
  readonly kind: 'requirement' | 'accept' | 'reading';
  readonly subject: string;
  readonly property: string;
  /** What it says beyond its key; the same for the same meaning. */
  readonly text: string;
  readonly place: Place;
}

function sentencesOf({ name, requirements, accepts, readings, outcomes }: System, renamed: Renamed): Sentence[] {
  const thing = (path: string | undefined): string => {
    if (path === undefined) return name;
    const [root, ...rest] = path.split('.');
    return [renamed(root!), ...rest].join('.');
  };
  return [
    ...requirements.map(({ text, scenario, until, place }): Sentence => ({
      kind: 'requirement',
      subject: scenario === undefined ? name : renamed(scenario),
      property: textMeaning(text, renamed),
      text: `${shortText(text)}${until ? ` until ${until}` : ''}`,
      place,
    })),
    ...accepts.map(({ check, subject, reason, until, place }): Sentence => ({
      kind: 'accept',
      subject: thing(subject),
      property: check,
      text: shortText([reason, until ? `until ${until}` : ''].filter(Boolean).join(' ')),
      place,
    })),
    ...readings.map(({ subject, value, date, place }): Sentence => ({
      kind: 'reading',
      subject: thing(subject),
      property: date ?? 'reading',
      text: formatQuantity(value, 6),
      place,
    })),
    ...outcomes.map(({ scenario, text, value, place }): Sentence => ({
      kind: 'reading',
      subject: renamed(scenario),
      property: textMeaning(text, renamed),
      text: formatQuantity(value, 6),
      place,
    })),
  ];
}

/** Requirements, waivers and readings that are new, gone or say something else. */
export function sentenceEdits(before: System, after: System, { renamed }: Identity): Found[] {
  const keyOf = ({ kind, subject, property }: Sentence, own: string): string =>
    [kind, subject === own ? '' : subject, property].join('\n');
  const meaningOf = ({ kind, text }: Sentence): string => (kind === 'requirement' ? textMeaning(text, renamed) : text);
  const old = new Map(sentencesOf(before, renamed).map((each) => [keyOf(each, before.name), each]));
  const edit = (was: Sentence | undefined, is: Sentence | undefined): Found => {
    const { kind, subject, property } = (is ?? was)!;
    return plainEdit(kind, subject, {
      property: kind === 'requirement' ? 'require' : property,
      ...(was ? { before: textStated(was.text, was.place) } : {}),
      ...(is ? { after: textStated(is.text, is.place) } : {}),
      isPlayed: false,
      place: (is ?? was)!.place,
    });
  };
  const edits = sentencesOf(after, same).flatMap((is): Found[] => {
    const key = keyOf(is, after.name);
    const was = old.get(key);
    old.delete(key);
    return was && meaningOf(was) === textMeaningOf(is) ? [] : [edit(was, is)];
  });
  return [...edits, ...[...old.values()].map((was) => edit(was, undefined))];
}

const textMeaningOf = ({ kind, text }: Sentence): string => (kind === 'requirement' ? textMeaning(text, same) : text);
