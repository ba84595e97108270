import { isOfDesign } from '../analyse/subjects.js';
import type {
  AnalysedDesign,
  Analysis,
  Finding,
  Margin,
  PassedVerdict,
  OpenQuestion,
  PlayedScenario,
} from '../analyse/types.js';
import type { RequirementResult } from '../checks/define.js';
import type { ReadingResult } from '../quantities/readings/readings.js';
import type { LoadUse } from './types.js';
import { type Judged, nameIn, useOf } from './uses.js';

/** Everything that is said of one design on one side of a comparison. */
export interface DesignSide {
  readonly name: string;
  readonly uri: string;
  readonly design: AnalysedDesign;
  readonly findings: readonly Finding[];
  /** What passed, with and without a limit. */
  readonly passes: readonly PassedVerdict[];
  readonly margins: readonly Margin[];
  readonly questions: readonly OpenQuestion[];
  readonly requirements: readonly RequirementResult[];
  readonly scenarios: readonly PlayedScenario[];
  readonly readings: readonly ReadingResult[];
  /** What a finding, or something that passed, uses of its limit, where it is a load on one. */
  readonly useOf: (judged: Judged) => LoadUse | undefined;
}

export function designSide(analysis: Analysis, design: AnalysedDesign): DesignSide {
  const { name } = design.system;
  const kept = new Map<Judged, LoadUse | undefined>();
  return {
    name,
    uri: analysis.uri,
    design,
    findings: [...analysis.findings, ...analysis.repeated].filter(({ subject }) => isOfDesign(subject, name)),
    passes: analysis.passed.filter(({ subject }) => isOfDesign(subject, name)),
    margins: analysis.margins.filter(({ subject }) => isOfDesign(subject, name)),
    questions: openOf(analysis, design),
    requirements: analysis.requirements.filter((each) => each.design === name),
    scenarios: analysis.scenarios.filter((each) => each.design === name),
    readings: analysis.readings.filter((each) => each.design === name),
    useOf: (judged) => {
      if (!kept.has(judged)) kept.set(judged, useOf(judged, design));
      return kept.get(judged);
    },
  };
}

/** Open questions of a design; a variant leaves out those that its base asks as well, which hold for it too. */
function openOf({ questions }: Analysis, { system }: AnalysedDesign): OpenQuestion[] {
  const own = questions.filter(({ subject }) => isOfDesign(subject, system.name));
  const base = system.variantOf;
  if (base === undefined) return own;
  const names = new Set(
    [...system.instances, ...system.runs, ...system.links, ...system.controls].map(({ name }) => name),
  );
  const inherited = questions
    .filter(({ subject }) => isOfDesign(subject, base) && names.has(nameIn(subject, base).split('.')[0]!))
    .map((each) => ({ ...each, subject: `${system.name}.${nameIn(each.subject, base)}` }));
  return [...own, ...inherited];
}

/** Two sides of one design, and how the names before go over into those after. */
export interface Sides {
  readonly before: DesignSide;
  readonly after: DesignSide;
  readonly renamed: (name: string) => string;
}

/** The thing that something is about, by its name after the change. */
export const thingBefore = (subject: string, { before, after, renamed }: Sides): string => {
  const name = nameIn(subject, before.name);
  if (name === before.name) return after.name;
  const [root, ...rest] = name.split('.');
  return [renamed(root!), ...rest].join('.');
};

export const thingAfter = (subject: string, { after }: Sides): string => nameIn(subject, after.name);

/** Numbers items of one key, so that the second of a key meets the second of it on the other side. */
export function keyed<T>(items: readonly T[], keyOf: (item: T) => string): Map<string, T> {
  const counts = new Map<string, number>();
  const all = new Map<string, T>();
  for (const item of items) {
    const key = keyOf(item);
    const nth = counts.get(key) ?? 0;
    counts.set(key, nth + 1);
    all.set(`${key}\n${nth}`, item);
  }
  return all;
}
