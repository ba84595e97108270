import {
  type DesignContext,
  AWG_SERIES,
  METRIC_SERIES,
  type PropertyDefinition,
  type RatingChoice,
  type SizeChoice,
  type Standing,
  type WrittenDevice,
  classChoices,
  saidValue,
  numberIn,
  ratingChoices,
  sizeChoices,
} from '@wattwright/language';
import { CompletionItemKind } from 'vscode-languageserver';
import type { Owner } from './completion-context.js';
import { type Item, valueItem } from './completion-items.js';
import type { NamesAround } from './completion-names.js';

/** Values that are worked out for the thing that is being written: sizes, ratings and classes with what they leave of their limits. */
export function computedValues(
  { name }: PropertyDefinition,
  dimensions: readonly string[],
  owner: Owner | undefined,
  names: NamesAround,
): Item[] {
  if (dimensions.includes('area')) return sizeItems(owner, names);
  if (name === 'rating' && owner) return ratingItems(owner, names);
  return [];
}

/** Conductor sizes: for a run that is known those of its series, each with what it carries and loses; else every standard size. */
function sizeItems(owner: Owner | undefined, names: NamesAround): Item[] {
  const placed = owner && names.placed(owner.name);
  if (placed?.thing.kind !== 'run') return [...AWG_SERIES, ...METRIC_SERIES].map(({ name }) => valueItem(name));
  return passingFirst(sizeChoices(placed.thing, placed.context)).map((choice) => ({
    ...valueItem(choice.size.name, sizeDetail(choice)),
    labelDetails: { description: sizeMark(choice) },
    ...(choice.broken.length > 0 ? { documentation: `It breaks ${choice.broken.join(', ')}.` } : {}),
  }));
}

function sizeDetail({ ampacity, drop, standing, broken }: SizeChoice): string {
  const facts = [
    ampacity ? `carries ${saidValue(ampacity, 3)}` : '',
    drop ? `loses ${percent(numberIn(drop, ''))}` : '',
    standing === 'breaks' ? `breaks ${broken[0]}` : '',
  ].filter(Boolean);
  return facts.length > 0 ? facts.join(', ') : 'facts are missing to judge it';
}

/** A size in a row of the list: what it carries and loses, or the rule that it breaks. */
function sizeMark({ ampacity, drop, standing, broken }: SizeChoice): string {
  if (standing === 'breaks') return `✗ ${broken[0]}`;
  return [ampacity && saidValue(ampacity, 3), drop && percent(numberIn(drop, ''))].filter(Boolean).join(', ');
}

/** A rating in a row of the list: how far above what is needed it lies, or why it does not do. */
function ratingMark({ rating, least, most, standing }: RatingChoice): string {
  if (least && rating < numberIn(least, 'A') * (1 - 1e-9)) return '✗ too small';
  if (most && rating > numberIn(most, 'A') * (1 + 1e-9)) return '✗ too large';
  if (standing === 'breaks') return '✗';
  return least && numberIn(least, 'A') > 0 ? `+${percent(rating / numberIn(least, 'A') - 1)}` : '';
}

const percent = (share: number): string => `${Number((share * 100).toPrecision(2))} %`;

/** Standard ratings of a device's class, each with what it leaves over the least and under the most that its conductors allow. */
function ratingItems(owner: Owner, names: NamesAround): Item[] {
  const { written, context } = deviceOf(owner, names);
  if (!context) return [];
  return passingFirst(ratingChoices(written, context)).map((choice) => ({
    ...valueItem(`${choice.rating} A`, ratingDetail(choice)),
    labelDetails: { description: ratingMark(choice) },
  }));
}

function ratingDetail({ rating, least, most, standing }: RatingChoice): string {
  if (least && rating < numberIn(least, 'A') * (1 - 1e-9)) return `too small: ${saidValue(least, 3)} is needed`;
  if (most && rating > numberIn(most, 'A') * (1 + 1e-9)) return `too large: the conductors allow ${saidValue(most, 3)}`;
  const margins = [
    least && numberIn(least, 'A') > 0
      ? `${percent(rating / numberIn(least, 'A') - 1)} over ${saidValue(least, 3)} needed`
      : '',
    most ? `conductors allow ${saidValue(most, 3)}` : '',
  ].filter(Boolean);
  if (standing === 'breaks') return ['breaks another rule', ...margins].join(', ');
  return margins.length > 0 ? margins.join(', ') : 'standard rating';
}

/** Classes for a device: those of its kind alone, the ones that suit its place first. */
export function classItems(owner: Owner, names: NamesAround): Item[] | undefined {
  const { written, context } = deviceOf(owner, names);
  if (!context) return undefined;
  return classChoices(written, context).map(({ part, standing }) => ({
    label: part.name,
    kind: CompletionItemKind.Class,
    detail: standing === 'unknown' ? (part.label ?? '') : STANDING_WORDS[standing],
    documentation: part.doc ?? '',
  }));
}

const STANDING_WORDS: Readonly<Record<Standing, string>> = {
  fits: 'stands the voltage and fault here',
  breaks: 'does not suit voltage, fault or rating here',
  unknown: '',
};

function deviceOf(
  { kind, name, values }: Owner,
  names: NamesAround,
): { readonly written: WrittenDevice; readonly context: DesignContext | undefined } {
  const placed = names.placed(name);
  const className = values.get('class');
  const written = {
    kind,
    ...(className === undefined ? {} : { className }),
    ...(placed && 'terminals' in placed.thing ? { placed: placed.thing } : {}),
  };
  return { written, context: placed?.context ?? names.analysed?.context };
}

/** What keeps every rule first, then what is not known to, then what breaks one; each as it was, small before large. */
function passingFirst<T extends { readonly standing: Standing }>(choices: readonly T[]): readonly T[] {
  const by = (standing: Standing): readonly T[] => choices.filter((each) => each.standing === standing);
  return [...by('fits'), ...by('unknown'), ...by('breaks')];
}
