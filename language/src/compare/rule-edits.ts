import type { Place } from '../derivation/index.js';
import { comparisonsOf } from '../model/conditions.js';
import type { Control, Property, Rule } from '../model/types.js';
import { formatQuantity } from '../quantity/index.js';
import { type Found, plainEdit, propertyChanges, same, textStated, valueEdit, wiring } from './found-edit.js';
import { type Renamed, conditionMeaning, sumMeaning } from './meaning.js';
import type { Stated } from './types.js';

interface Branch {
  /** Empty for the rules that hold while every link works; else the link that is lost, by its name after the change. */
  readonly without: string;
  readonly rules: readonly Rule[];
  readonly properties: ReadonlyMap<string, Property>;
}

const branchesOf = (control: Control, renamed: Renamed): readonly Branch[] => [
  { without: '', rules: control.rules, properties: new Map() },
  ...control.fallbacks.map(({ link, rules, properties }) => ({ without: renamed(link.name), rules, properties })),
];

/** Rules are matched by what they do and watch, in their order; a moved threshold is one edit of that threshold. */
export function ruleEdits(was: Control, is: Control, renamed: Renamed): Found[] {
  const old = new Map(branchesOf(was, renamed).map((branch) => [branch.without, branch]));
  const edits: Found[] = [];
  if (renamed(was.target.name) !== is.target.name)
    edits.push(wiring(is, renamed(was.target.name), is.target.name, was.place));
  for (const branch of branchesOf(is, same)) {
    const before = old.get(branch.without);
    old.delete(branch.without);
    const about = branch.without ? ` (without ${branch.without})` : '';
    edits.push(
      ...propertyChanges(before?.properties ?? new Map(), branch.properties, renamed).map((each) =>
        valueEdit(is.name, { ...each, property: `${each.property}${about}` }, is.place),
      ),
      ...pairedRules(before?.rules ?? [], branch.rules, renamed, is, about),
    );
  }
  for (const { without, rules } of old.values())
    edits.push(...pairedRules(rules, [], renamed, is, ` (without ${without})`));
  return edits;
}

const ruleMeaning = ({ verb, condition, text, dwell }: Rule, renamed: Renamed): string =>
  `${verb} ${condition ? conditionMeaning(condition, renamed) : text.replace(/\s+/g, ' ')} ${dwell}`;

/** What a rule does and watches, without its limits. */
const watched = ({ verb, condition }: Rule, renamed: Renamed): string =>
  `${verb} ${condition ? comparisonsOf(condition).map((each) => `${sumMeaning(each, renamed)} ${each.comparison}`) : ''}`;

function pairedRules(
  before: readonly Rule[],
  after: readonly Rule[],
  renamed: Renamed,
  control: Control,
  about: string,
): Found[] {
  const left = [...before];
  const take = (isOne: (rule: Rule) => boolean): Rule | undefined => {
    const at = left.findIndex(isOne);
    return at < 0 ? undefined : left.splice(at, 1)[0];
  };
  const open = after.filter((rule) => !take((each) => ruleMeaning(each, renamed) === ruleMeaning(rule, same)));
  const edits = open.map((rule): Found => {
    const was =
      take((each) => watched(each, renamed) === watched(rule, same)) ?? take(({ verb }) => verb === rule.verb);
    return ruleEdit(was, rule, renamed, control, about);
  });
  return [...edits, ...left.map((rule) => ruleEdit(rule, undefined, renamed, control, about))];
}

function ruleEdit(
  was: Rule | undefined,
  is: Rule | undefined,
  renamed: Renamed,
  control: Control,
  about: string,
): Found {
  const [one, other] = [was?.condition, is?.condition];
  const place = is?.place ?? control.place;
  const isMoved =
    one?.type === 'comparison' &&
    other?.type === 'comparison' &&
    watched(was!, renamed) === watched(is!, same) &&
    was!.dwell === is!.dwell;
  const [threshold, now] = [was?.thresholds[0], is?.thresholds[0]];
  if (isMoved && threshold && now)
    return plainEdit('rule', control.name, {
      property: `${is!.verb} when ${sumMeaning(other, same)} ${other.comparison}${about}`,
      before: limitStated(was!, threshold.limitPlace),
      after: limitStated(is!, now.limitPlace),
      place,
    });
  return plainEdit('rule', control.name, {
    property: `${(is ?? was)!.verb}${about}`,
    ...(was ? { before: textStated(was.text, was.place) } : {}),
    ...(is ? { after: textStated(is.text, is.place) } : {}),
    place,
  });
}

function limitStated({ condition }: Rule, place: Place): Stated {
  const limit = condition?.type === 'comparison' ? condition.limit : undefined;
  return { text: limit ? formatQuantity(limit, 3) : '', origin: 'stated', place };
}
