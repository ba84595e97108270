import { kindsThat, mayBeLost, mayChargeWithin } from '../../language/src/equipment/index.js';

/** A design in the making: what its text will say, as data, so that one fact can be changed and the text written again. */
export interface Draft {
  readonly seed: number;
  /** Nominal voltage of its banks. */
  readonly bankVolts: number;
  /** Whether the runs state size and length. */
  readonly hasCables: boolean;
  readonly things: readonly Thing[];
  readonly runs: readonly Run[];
  readonly links: readonly string[];
}

export interface Amount {
  readonly value: number;
  readonly unit: string;
}

export type Facts = Readonly<Record<string, Amount | string>>;

export interface Thing {
  readonly kind: string;
  readonly name: string;
  readonly facts: Facts;
}

export interface Run {
  readonly name: string;
  /** `A -> B.dc`. */
  readonly path: string;
  readonly facts: Facts;
}

/** A question to a design in its own language; the answer is asked in a unit. */
export interface Question {
  readonly name: string;
  readonly expression: string;
  readonly unit: string;
}

export const amount = (value: number, unit: string): Amount => ({ value: Number(value.toPrecision(3)), unit });

/** Kinds that charge a bank, or may, within bounds of their own. */
export const CHARGERS: readonly string[] = kindsThat(mayChargeWithin);
/** Kinds that a play may lose for a time. */
export const SOURCES: readonly string[] = kindsThat(mayBeLost);

export const ofKind = ({ things }: Draft, ...kinds: readonly string[]): Thing[] =>
  things.filter(({ kind }) => kinds.includes(kind));

/** The things of a draft that charge its bus: what feeds a converter, and what is fed by one, does not. */
export const chargingIn = (draft: Draft): Thing[] =>
  ofKind(draft, ...CHARGERS).filter(({ name }) =>
    draft.runs.some((run) => run.name === `${name}Run` && run.path.endsWith('-> Bar')),
  );

/** A number that a thing states, in the unit in which drafts write it. */
export function stated(thing: Thing, fact: string): number | undefined {
  const value = thing.facts[fact];
  return typeof value === 'object' ? value.value : undefined;
}

const written = (facts: Facts): string =>
  Object.entries(facts)
    .map(([name, fact]) => `${name}: ${typeof fact === 'string' ? fact : `${fact.value} ${fact.unit}`.trim()}`)
    .join('   ');

/** The text of a draft, with what is asked of it, its rules and the scenario in which it is played. */
export function textOf(draft: Draft, questions: readonly Question[], rules: string, scenario: string): string {
  const lines = [
    // The sun is up all day and night in June. The air is as warm as the figures of sets and cells hold for, so that nothing is derated that the play does not derate.
    'site { altitude: 0 m   ambient: 25 degC   latitude: 89 deg   longitude: 0 deg }',
    ...draft.things.map(({ kind, name, facts }) => `${kind} ${name} { ${written(facts)} }`),
    ...draft.runs.map(({ name, path, facts }) => `run ${name}: ${path} { ${written(facts)} }`),
    ...draft.links,
    ...questions.map(({ name, expression }) => `let ${name} = ${expression}`),
    ...(rules === '' ? [] : [rules]),
    // Wind may be still at any one time, and closed forms count on none.
    `scenario Play { from: 2027-06-10   at: 00:00   wind: none   ${scenario} }`,
  ];
  return `design D {\n${lines.map((line) => `  ${line}\n`).join('')}}\n`;
}

/** The same draft with some facts of one thing changed. */
export function changed(draft: Draft, name: string, change: (facts: Facts) => Facts): Draft {
  const things = draft.things.map((thing) => (thing.name === name ? { ...thing, facts: change(thing.facts) } : thing));
  return { ...draft, things };
}
