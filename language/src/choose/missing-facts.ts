import type { Analysis, OpenQuestion } from '../analyse/types.js';

import type { TextEdit } from '../checks/define.js';
import { setProperties } from '../checks/fixes.js';
import { type PropertyDefinition, kindOf } from '../equipment/index.js';
import type { DesignContext } from '../model/context.js';
import type { InsertionPoint, Instance, Property, Run } from '../model/types.js';
import { keyOf } from '../propose/proof.js';
import { NOTHING_TOLD } from './told.js';
import type { Filling, Trials } from './trials.js';

/** Facts that a choice would rest on and that nobody has stated. */
export interface Lacking {
  /** Index of the hole. */
  readonly hole: number;
  readonly question: OpenQuestion;
}

/** Rounds in which facts that come up behind others are tried out as well. */
const MOST_ROUNDS = 4;

/**
 * Which holes a choice would fill although a check that looks at them lacks facts. A fact that lacks is tried out with some value that it
 * may have: where the check then says something else as soon as the hole is open, it looks at the hole. Yields after each trial.
 */
export function* lackingFacts(
  filling: Filling,
  trials: Trials,
  designs: Analysis['designs'],
): Generator<void, readonly Lacking[]> {
  const asked = trials.try(filling, 'judged').analysis.questions.filter((each) => !each.isRefused);
  if (asked.length === 0) return [];
  const facts = factsOf(designs);
  // Only what asks is looked at: what other checks say of facts that are tried out counts for nothing.
  const asking = new Set(asked.map(({ check }) => check));
  const wanted = new Set(asked.flatMap(({ missing }) => missing));
  let probed = trials;
  for (let round = 0; round < MOST_ROUNDS; round += 1) {
    probed = trials.with(writing(wanted, facts, trials.uri));
    const before = wanted.size;
    const { questions } = probed.try(filling, 'suspects', asking).analysis;
    yield;
    const keys = new Set(asked.map(keyOf));
    for (const question of questions)
      if (keys.has(keyOf(question))) question.missing.forEach((fact) => wanted.add(fact));
    if (wanted.size === before) break;
  }
  const full = probed.try(filling, 'suspects', asking).said;
  const lacking: Lacking[] = [];
  for (const hole of filling.keys()) {
    if (filling[hole] === undefined || trials.effort.isSpent) continue;
    const open = probed.try(
      filling.map((text, index) => (index === hole ? undefined : text)),
      'suspects',
      asking,
    ).said;
    yield;
    for (const question of asked) {
      const [now, then] = [full, open].map((said) => (said.get(keyOf(question)) ?? NOTHING_TOLD).content);
      if (now !== then) lacking.push({ hole, question });
    }
  }
  return lacking;
}

/** A fact that could be stated, with where and as what it is tried out. */
interface Statable {
  readonly owner: { readonly properties: ReadonlyMap<string, Property>; readonly insert: InsertionPoint };
  readonly property: string;
  readonly text: () => string | undefined;
}

/** Facts that a design lacks, by the names under which they are missing. */
function factsOf(designs: Analysis['designs']): ReadonlyMap<string, Statable> {
  const facts = new Map<string, Statable>();
  for (const { context } of designs) {
    const { instances, runs, site } = context.system;
    for (const thing of [...instances, ...runs])
      for (const definition of kindOf(thing.kind)?.properties ?? []) {
        const name = nameOf(thing, definition, context);
        if (name !== undefined && !facts.has(name))
          facts.set(name, { owner: thing, property: definition.name, text: () => probeOf(definition, context) });
      }
    const { insert } = site;
    for (const definition of insert ? (kindOf('site')?.properties ?? []) : [])
      if (insert && !site.properties.has(definition.name))
        facts.set(`${definition.name} of the site`, {
          owner: { ...site, insert },
          property: definition.name,
          text: () => probeOf(definition, context),
        });
  }
  return facts;
}

/** The name under which a property of a thing lacks; undefined where it does not. */
function nameOf(thing: Instance | Run, { name }: PropertyDefinition, context: DesignContext): string | undefined {
  if (thing.properties.has(name)) return undefined;
  const result = context.fact(thing, name as Parameters<DesignContext['fact']>[1]);
  return result.kind === 'missing' ? result.missing[0] : undefined;
}

/** Numbers that a fact may well be, by unit: nothing is read from them but whether a check then looks at a hole. */
const USUAL: Readonly<Record<string, number>> = {
  A: 50,
  V: 48,
  W: 500,
  VA: 500,
  Ah: 200,
  m: 2,
  mm: 10,
  mm2: 10,
  degC: 25,
  h: 4,
  s: 1,
  '%': 50,
  mohm: 10,
  deg: 30,
  Hz: 50,
};

function probeOf({ type, default: usual }: PropertyDefinition, context: DesignContext): string | undefined {
  if (usual) return usual.text;
  switch (type.type) {
    case 'quantity': {
      const { minimum = 0, maximum = Infinity, unit } = type;
      const number = Math.min(Math.max(USUAL[unit] ?? 1, minimum), maximum);
      return unit === '' ? String(number) : `${number} ${unit}`;
    }
    case 'word':
    case 'words':
      return type.words[0]?.word;
    case 'flag':
      return 'no';
    case 'system':
      return context.system.basis.practice === 'nec' ? '120 V' : '230 V';
    case 'part':
      return type.kinds.flatMap((kind) => context.parts(kind))[0]?.name;
    case 'profile':
      return 'always';
    default:
      return undefined;
  }
}

/** The edits that state some facts in the text as it is. */
function writing(
  wanted: ReadonlySet<string>,
  facts: ReadonlyMap<string, Statable>,
  uri: string,
): { readonly start: number; readonly end: number; readonly text: string }[] {
  const byOwner = new Map<Statable['owner'], Record<string, string>>();
  for (const name of wanted) {
    const fact = facts.get(name);
    const text = fact?.text();
    if (!fact || text === undefined) continue;
    byOwner.set(fact.owner, { ...byOwner.get(fact.owner), [fact.property]: text });
  }
  const edits = [...byOwner].flatMap(([owner, values]): TextEdit[] => setProperties(owner, values));
  return edits
    .filter(({ place }) => place.uri === uri)
    .map(({ place, text }) => ({ start: place.offset, end: place.end, text }));
}
