import { type Place, displayValue } from '../derivation/index.js';
import type { Control, Instance, Part, Property, Rule, Run, System } from '../model/types.js';
import { comparisonsOf } from '../model/conditions.js';
import { formatQuantity } from '../quantity/index.js';
import { type Identity, type Named, wayOf } from './identity.js';
import {
  type Renamed,
  conditionMeaning,
  sameProperty,
  scenarioMeaning,
  shortText,
  sumMeaning,
  textMeaning,
} from './meaning.js';
import type { DesignEdit, EditKind, PropertyChange, Stated } from './types.js';

/** An edit while it is found: its id follows from its place among all. */
type Found = Omit<DesignEdit, 'id'>;

/** Properties that say nothing of what is built or how it behaves. */
const REMARKS: ReadonlySet<string> = new Set(['note', 'customer', 'author', 'dataSheet']);

/** Properties that no play rests on. */
const UNPLAYED: ReadonlySet<string> = new Set(['price', 'mass']);

const same: Renamed = (name) => name;

const stated = ({ text, origin, place }: Property): Stated => ({
  text: shortText(text),
  origin,
  ...(place ? { place } : {}),
});

const textStated = (text: string, place?: Place): Stated => ({
  text: shortText(text),
  origin: 'stated',
  ...(place ? { place } : {}),
});

/** Whether two properties say the same, and say it as surely. */
const isSame = (before: Property, after: Property, renamed: Renamed): boolean =>
  (before.origin === 'assumed') === (after.origin === 'assumed') && sameProperty(before, after, renamed);

/** What differs between two sets of properties. A default that comes to be stated with the same value changes nothing. */
function propertyChanges(
  before: ReadonlyMap<string, Property>,
  after: ReadonlyMap<string, Property>,
  renamed: Renamed,
): (PropertyChange & { readonly isInherited: boolean })[] {
  const names = new Set([...after.keys(), ...before.keys()]);
  return [...names].flatMap((property) => {
    if (REMARKS.has(property)) return [];
    const [was, is] = [before.get(property), after.get(property)];
    if (was && is && isSame(was, is, renamed)) return [];
    if (!was && !is) return [];
    return [
      {
        property,
        isInherited: (was?.inheritedFrom ?? is?.inheritedFrom) !== undefined && isFromPart(was) && isFromPart(is),
        ...(was ? { before: stated(was) } : {}),
        ...(is ? { after: stated(is) } : {}),
      },
    ];
  });
}

const isFromPart = (property: Property | undefined): boolean =>
  property === undefined || property.inheritedFrom !== undefined || property.origin === 'default';

const change = ({ property, before, after }: PropertyChange): PropertyChange => ({
  property,
  ...(before ? { before } : {}),
  ...(after ? { after } : {}),
});

/** Everything that was edited between two states of a design, in the order of the design after it. */
export function editsOf(before: System, after: System, identity: Identity): DesignEdit[] {
  const found = [
    ...basisEdits(before, after),
    ...settingEdits(before, after, identity),
    ...thingEdits(before, after, identity),
    ...wordEdits(before, after, identity),
  ];
  const seen = new Set<string>();
  const once = found.filter((edit) => {
    // What changes in a part changes in everything that is of it: one edit.
    const key = [edit.kind, edit.subject, edit.property, edit.before?.text, edit.after?.text].join('\n');
    if (seen.has(key)) return false;
    seen.add(key);
    return true;
  });
  return once.map((edit, index) => ({ id: `e${index + 1}`, ...edit }));
}

const valueEdit = (subject: string, given: PropertyChange, place: Place | undefined): Found => ({
  kind: 'value',
  subject,
  ...change(given),
  properties: [],
  isPlayed: !UNPLAYED.has(given.property),
  ...((given.after?.place ?? place) ? { place: given.after?.place ?? place } : {}),
});

const plainEdit = (kind: EditKind, subject: string, facts: Partial<Found>): Found => ({
  kind,
  subject,
  properties: [],
  isPlayed: true,
  ...facts,
});

export const basisText = ({ basis: { practice, edition } }: System): string =>
  `${practice}${edition ? ` ${edition}` : ''}`;

function basisEdits(before: System, after: System): Found[] {
  if (basisText(before) === basisText(after)) return [];
  return [
    plainEdit('basis', after.name, {
      property: 'basis',
      before: textStated(basisText(before), before.basis.place),
      after: textStated(basisText(after), after.basis.place),
      ...(after.basis.place ? { place: after.basis.place } : {}),
    }),
  ];
}

function settingEdits(before: System, after: System, { renamed }: Identity): Found[] {
  return [
    ...propertyChanges(before.settings, after.settings, renamed).map((each) =>
      valueEdit(after.name, each, after.place),
    ),
    ...propertyChanges(before.site.properties, after.site.properties, renamed).map((each) =>
      valueEdit('site', each, after.site.place ?? after.place),
    ),
  ];
}

function thingEdits(before: System, after: System, identity: Identity): Found[] {
  const order = new Map(
    [...after.instances, ...after.runs, ...after.links, ...after.controls, ...after.scenarios].map(
      ({ name }, index) => [name, index],
    ),
  );
  const pairs = [...identity.pairs].sort(([, left], [, right]) => order.get(left.name)! - order.get(right.name)!);
  return [
    ...pairs.flatMap(([was, is]) => pairEdits(was, is, identity)),
    ...identity.added.map((thing) =>
      plainEdit('added', thing.name, { after: textStated(thingText(thing), thing.place), place: thing.place }),
    ),
    ...identity.removed.map((thing) =>
      plainEdit('removed', thing.name, { before: textStated(thingText(thing), thing.place), place: before.place }),
    ),
  ];
}

const thingText = (thing: Named): string =>
  'part' in thing && thing.part ? `${thing.kind} ${thing.part.name}` : thing.kind;

function pairEdits(was: Named, is: Named, identity: Identity): Found[] {
  const { renamed } = identity;
  const edits: Found[] = [];
  if (was.name !== is.name)
    edits.push(
      plainEdit('renamed', is.name, {
        before: textStated(was.name, was.place),
        after: textStated(is.name, is.place),
        isPlayed: false,
        place: is.place,
      }),
    );
  if (was.kind !== is.kind)
    return [
      ...edits,
      plainEdit('replaced', is.name, {
        before: textStated(thingText(was), was.place),
        after: textStated(thingText(is), is.place),
        place: is.place,
      }),
    ];
  const changes = propertyChanges(was.properties, is.properties, renamed);
  if ('terminals' in was && 'terminals' in is) edits.push(...instanceEdits(was, is, changes));
  else edits.push(...changes.map((each) => valueEdit(is.name, each, is.place)));
  if (was.kind === 'run' && is.kind === 'run') edits.push(...wayEdits(was, is, renamed));
  if (was.kind === 'link' && is.kind === 'link') {
    const [from, to] = [`${renamed(was.from.name)} -> ${renamed(was.to.name)}`, `${is.from.name} -> ${is.to.name}`];
    if (from !== to) edits.push(wiring(is, from, to, was.place));
  }
  if (was.kind === 'control' && is.kind === 'control') edits.push(...ruleEdits(was, is, renamed));
  if (was.kind === 'scenario' && is.kind === 'scenario') {
    const [from, to] = [scenarioMeaning(was, renamed), scenarioMeaning(is, same)];
    if (from !== to) edits.push(plainEdit('scenario', is.name, { place: is.place }));
  }
  return edits;
}

const wiring = (thing: Named, before: string, after: string, place: Place): Found =>
  plainEdit('wiring', thing.name, {
    before: textStated(before, place),
    after: textStated(after, thing.place),
    place: thing.place,
  });

/** Another part with all that it changes is one edit; what changes in the text of a part is an edit of the part. */
function instanceEdits(
  was: Instance,
  is: Instance,
  changes: readonly (PropertyChange & { readonly isInherited: boolean })[],
): Found[] {
  const name = (part: Part | undefined, kind: string): string => part?.name ?? kind;
  if (was.part?.name !== is.part?.name) {
    const inherited = changes.filter(({ isInherited }) => isInherited);
    return [
      plainEdit('part', is.name, {
        before: textStated(name(was.part, was.kind), was.place),
        after: textStated(name(is.part, is.kind), is.place),
        properties: inherited.map(change),
        place: is.place,
      }),
      ...changes.filter(({ isInherited }) => !isInherited).map((each) => valueEdit(is.name, each, is.place)),
    ];
  }
  return changes.map((each) => valueEdit(each.isInherited && is.part ? is.part.name : is.name, each, is.place));
}

function wayEdits(was: Run, is: Run, renamed: Renamed): Found[] {
  const [from, to] = [wayOf(was, renamed), wayOf(is)];
  if (from !== to) return [wiring(is, from, to, was.place)];
  return was.through.flatMap((stop, index) => {
    const other = is.through[index]!;
    const [left, right] = [stop.distance, other.distance].map((each) => each && displayValue(each));
    if (left === right) return [];
    return [
      valueEdit(
        is.name,
        {
          property: `@ ${other.instance.name}`,
          ...(left === undefined ? {} : { before: textStated(left, stop.distance?.place ?? stop.place) }),
          ...(right === undefined ? {} : { after: textStated(right, other.distance?.place ?? other.place) }),
        },
        other.place,
      ),
    ];
  });
}

/** One sentence of a design that is no thing: a requirement, a waiver, a reading. */
interface Sentence {
  readonly kind: 'requirement' | 'accept' | 'reading';
  readonly subject: string;
  readonly property: string;
  /** What it says beyond its key; the same for the same meaning. */
  readonly text: string;
  readonly place: Place;
}

function sentencesOf({ name, requirements, accepts, readings }: System, renamed: Renamed): Sentence[] {
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
  ];
}

/** Requirements, waivers and readings that are new, gone or say something else. */
function wordEdits(before: System, after: System, { renamed }: Identity): Found[] {
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
function ruleEdits(was: Control, is: Control, renamed: Renamed): Found[] {
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
