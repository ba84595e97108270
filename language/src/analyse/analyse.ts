import type { AstNode, LangiumDocument } from 'langium';
import { CHECKS, type Check, type Failed, type Fix, type NotChecked, findCheck } from '../checks/index.js';
import type { Place } from '../derivation/index.js';
import type { DesignContext } from '../model/context.js';
import { asResult, isCondition } from '../model/lower/evaluate.js';
import { type DesignValues, type LoweredDesign, type LoweredFile, lowerFile } from '../model/lower/lower.js';
import { placeOfNode } from '../model/lower/place.js';
import { nearest } from '../model/nearest.js';
import type { Problem, ProblemFacts } from '../model/problems.js';
import type { Accept, Requirement, System } from '../model/types.js';
import { createContext } from '../quantities/context.js';
import { DimensionMismatch, NotFinite } from '../quantity/index.js';
import { sourcesUnder } from '../reference/index.js';
import type { LanguageServices } from '../syntax/module.js';
import { designValues } from './design-values.js';
import { finding, wordProblems } from './findings.js';
import { type AnalyseOptions, loweringServices } from './surroundings.js';
import type { Analysis, AnalysedDesign, Finding, OpenQuestion, RequirementResult } from './types.js';

/**
 * Everything there is to say about one file: reads it into systems, works out what is asked for, judges it by every check. The one entry
 * for editor and command line. The document must be linked and the files it uses loaded.
 */
export function analyse(document: LangiumDocument, services: LanguageServices, options: AnalyseOptions): Analysis {
  return beginAnalysis(document, services, options).complete();
}

/** An analysis in two steps: what reading the text has found, and the whole for whoever asks for it. */
export interface BegunAnalysis {
  readonly findings: readonly Finding[];
  readonly complete: () => Analysis;
}

/** Reads a file without working anything out: a fraction of the time of the whole, for an editor that wants to answer at once. */
export function beginAnalysis(
  document: LangiumDocument,
  services: LanguageServices,
  options: AnalyseOptions,
): BegunAnalysis {
  const lowered = lowerFile(document, loweringServices(document, services, options));
  const read = wordProblems(lowered.problems);
  const waivers = new Waivers(options.today);
  const findings = read.flatMap((each) => {
    const design = lowered.designs.find(({ system }) => isOf(system, each));
    return design ? waivers.apply(design.system, [each]) : [each];
  });
  return {
    findings: sorted(unique(findings)),
    complete: () => completeAnalysis(document, lowered, read, options),
  };
}

const isOf = ({ name }: System, { subject }: Finding): boolean => subject === name || subject.startsWith(`${name}.`);

function completeAnalysis(
  document: LangiumDocument,
  lowered: LoweredFile,
  read: readonly Finding[],
  options: AnalyseOptions,
): Analysis {
  const findings: Finding[] = read.filter((each) => !lowered.designs.some(({ system }) => isOf(system, each)));
  const waivers = new Waivers(options.today);
  const requirements: RequirementResult[] = [];
  const questions: OpenQuestion[] = [];
  const designs: AnalysedDesign[] = [];
  const counts = { passed: 0, failed: 0, notChecked: 0 };

  for (const design of lowered.designs) {
    const context = createContext(design.system, options.today, lowered.partsOf);
    const values = designValues(context);
    const own = read.filter((each) => isOf(design.system, each));
    const reported: Problem[] = [];
    const outcomes = design.system.requirements.map((requirement) =>
      judgeRequirement(design, requirement, values, reported, options.today),
    );
    requirements.push(...outcomes);
    const judged = judge(context, outcomes);
    own.push(...wordProblems(reported), ...judged.findings);
    counts.passed += judged.passed;
    counts.failed += judged.findings.length;
    counts.notChecked += judged.questions.length;
    questions.push(...judged.questions);
    own.push(...missingFacts(judged.questions));
    findings.push(...waivers.apply(design.system, own));
    designs.push({ system: design.system, context, evaluate: (node) => asResult(design.evaluate(node, values)) });
  }
  findings.push(...waivers.findings(document.uri.toString()));
  return { uri: document.uri.toString(), findings: sorted(unique(findings)), requirements, questions, designs, counts };
}

function judge(
  context: DesignContext,
  requirements: readonly RequirementResult[],
): { findings: Finding[]; questions: OpenQuestion[]; passed: number } {
  const findings: Finding[] = [];
  const questions: OpenQuestion[] = [];
  let passed = 0;
  for (const check of CHECKS) {
    try {
      for (const verdict of check.judge(context, requirements)) {
        if (verdict.verdict === 'failed') findings.push(underRules(check, finding(check, verdict), context.system));
        else if (verdict.verdict === 'passed') passed += 1;
        else questions.push(question(check, verdict));
      }
    } catch (error) {
      if (!(error instanceof NotFinite || error instanceof DimensionMismatch)) throw error;
      const { name: subject, place } = context.system;
      questions.push({ check: check.id, subject, place, missing: ['values small enough to calculate with'] });
    }
  }
  return { findings, questions, passed };
}

/** Groups whose findings rest on the wiring rules of the design. */
const UNDER_RULES: ReadonlySet<string> = new Set(['conductors', 'sources', 'storage']);

/** A finding with its sources in the edition of the rules that the design follows. */
const underRules = (check: Check, found: Finding, { basis }: System): Finding =>
  UNDER_RULES.has(check.group) ? { ...found, sources: sourcesUnder(basis, found.sources) } : found;

const question = (check: Check, { subject, place, missing, isRefused }: NotChecked): OpenQuestion => ({
  check: check.id,
  subject,
  place,
  missing: [...new Set(missing)],
  ...(isRefused ? { isRefused } : {}),
});

/** One finding for each thing that lacks facts: what lacks, what cannot be worked out, and which checks that holds up. */
function missingFacts(questions: readonly OpenQuestion[]): Finding[] {
  const check = findCheck('missing-fact');
  if (!check) return [];
  const bySubject = new Map<string, { place: Place; facts: Set<string>; reasons: Set<string>; checks: Set<string> }>();
  for (const { check: id, subject, place, missing, isRefused } of questions) {
    const entry = bySubject.get(subject) ?? { place, facts: new Set(), reasons: new Set(), checks: new Set() };
    for (const fact of missing) (isRefused ? entry.reasons : entry.facts).add(fact);
    entry.checks.add(id);
    bySubject.set(subject, entry);
  }
  return [...bySubject].map(([subject, { place, facts, reasons, checks }]) => {
    const lacking = facts.size > 0 ? [`missing ${[...facts].join(', ')}`] : [];
    const message = `Not checked: ${[...lacking, ...reasons].join('; ')} (holds up ${[...checks].join(', ')}).`;
    return finding(check, { verdict: 'failed', subject, place, message });
  });
}

function judgeRequirement(
  design: LoweredDesign,
  requirement: Requirement,
  values: DesignValues,
  reported: Problem[],
  today: string,
): RequirementResult {
  const { system } = design;
  const common = {
    design: system.name,
    text: requirement.text,
    place: requirement.place,
    ...(requirement.scenario ? { scenario: requirement.scenario } : {}),
    ...(requirement.reason ? { reason: requirement.reason } : {}),
  };
  const condition = design.conditionOf(requirement);
  if (!condition) return { ...common, undecided: 'no condition stands here' };
  if (isPast(requirement.until, today)) return { ...common, undecided: `it was asked for until ${requirement.until}` };
  const before = reported.length;
  const report = (node: AstNode, facts: ProblemFacts, at?: Place): void => {
    const place = at ?? (node.$cstNode ? placeOfNode(node, requirement.place.uri) : requirement.place);
    reported.push({ ...facts, place, subject: system.name });
  };
  const value = design.evaluate(condition, values, report);
  if (!isCondition(value))
    report(condition, {
      code: 'wrong-type',
      what: 'what stands after `require`',
      expected: 'a condition such as Bank.energy >= 20 kWh',
      text: requirement.text,
      proposals: [],
    });
  if (reported.length > before) return { ...common, undecided: 'its text is faulty', isFaulty: true };
  if (value.kind === 'pending') {
    const facts = [...new Set(value.missing)];
    return { ...common, undecided: `missing ${facts.join(', ')}`, missing: facts };
  }
  if (value.kind === 'bad') return { ...common, undecided: value.reason };
  if (value.kind !== 'known' || typeof value.derivation.value !== 'boolean')
    return { ...common, undecided: 'it is no condition' };
  const { derivation } = value;
  const [left, right] = derivation.inputs;
  return { ...common, holds: derivation.value as boolean, ...(left ? { left } : {}), ...(right ? { right } : {}) };
}

const isPast = (date: string | undefined, today: string): boolean => date !== undefined && date < today;

/** Sets aside what designs accept. A waiver speaks of one check on one thing; past its date it no longer counts. */
class Waivers {
  /** Waivers by where they stand, since a variant repeats those of its base: one that either needs is needed. */
  private readonly met = new Map<string, { system: System; accept: Accept; isUsed: boolean }>();

  constructor(private readonly today: string) {}

  apply(system: System, findings: readonly Finding[]): Finding[] {
    for (const accept of system.accepts) {
      const key = `${accept.place.uri} ${accept.place.offset}`;
      if (!this.met.has(key)) this.met.set(key, { system, accept, isUsed: false });
    }
    return findings.map((each) => {
      const accept = system.accepts.find(
        (candidate) => candidate.check === each.check && subjectFits(system, candidate, each.subject),
      );
      if (!accept) return each;
      this.met.get(`${accept.place.uri} ${accept.place.offset}`)!.isUsed = true;
      if (isPast(accept.until, this.today) || !accept.reason) return each;
      return { ...each, accepted: { reason: accept.reason, ...(accept.until ? { until: accept.until } : {}) } };
    });
  }

  /** What is wrong with the waivers of one file, once all its designs are judged. */
  findings(uri: string): Finding[] {
    return [...this.met.values()].flatMap(({ system, accept, isUsed }) =>
      accept.place.uri === uri ? acceptFinding(system, accept, isUsed, this.today) : [],
    );
  }
}

/** Whether the thing a waiver is on exists; a name that stands for nothing is reported as such, not as a waiver. */
function isOnSomething(system: System, { subject }: Accept): boolean {
  const [root] = subject?.split('.') ?? [];
  if (root === undefined || root === 'site') return true;
  return [...system.instances, ...system.runs, ...system.links, ...system.controls, ...system.scenarios].some(
    ({ name }) => name === root,
  );
}

const subjectFits = (system: System, accept: Accept, subject: string): boolean =>
  accept.subject === undefined
    ? subject === system.name
    : subject === `${system.name}.${accept.subject}` || subject.startsWith(`${system.name}.${accept.subject}.`);

function acceptFinding(system: System, accept: Accept, isUsed: boolean, today: string): Finding[] {
  const about = accept.subject ? ` on ${accept.subject}` : '';
  const fail = (id: string, message: string, place: Place, fixes: Failed['fixes'] = []): Finding[] => {
    const check = findCheck(id);
    return check ? [finding(check, { verdict: 'failed', subject: system.name, place, message, fixes })] : [];
  };
  const remove = (safe: boolean): Fix[] => [
    { title: 'Remove this waiver', safe, edits: [{ place: accept.place, text: '' }] },
  ];
  if (!findCheck(accept.check)) {
    const meant = nearest(
      accept.check,
      CHECKS.map(({ id }) => id),
    );
    const hint = meant.length > 0 ? ` Did you mean \`${meant[0]}\`?` : '';
    return fail(
      'unused-accept',
      `There is no check \`${accept.check}\`.${hint}`,
      accept.checkPlace,
      meant.map((id) => ({
        title: `Change to \`${id}\``,
        safe: false,
        edits: [{ place: accept.checkPlace, text: id }],
      })),
    );
  }
  if (!accept.reason)
    return fail(
      'unused-accept',
      `The waiver of \`${accept.check}\`${about} gives no reason, so it does not count. Write \`because "…"\` behind it.`,
      accept.place,
    );
  if (!isOnSomething(system, accept)) return [];
  if (!isUsed)
    return fail(
      'unused-accept',
      `The waiver of \`${accept.check}\`${about} silences nothing: the check finds nothing there. Remove it.`,
      accept.place,
      remove(true),
    );
  if (isPast(accept.until, today))
    return fail(
      'expired-accept',
      `The waiver of \`${accept.check}\`${about} ended on ${accept.until} (today is ${today}). Mend the finding, or give a new date and reason.`,
      accept.place,
      remove(false),
    );
  return [];
}

/** Findings in the order of the text, errors first at one place. */
const RANK = { error: 0, warning: 1, info: 2 } as const;

function sorted(findings: readonly Finding[]): Finding[] {
  return [...findings].sort(
    (a, b) =>
      a.place.offset - b.place.offset ||
      RANK[a.severity] - RANK[b.severity] ||
      (a.check < b.check ? -1 : a.check > b.check ? 1 : 0) ||
      (a.subject < b.subject ? -1 : a.subject > b.subject ? 1 : 0),
  );
}

/** A variant repeats most of its base: the same words at the same place are said once. */
function unique(findings: readonly Finding[]): Finding[] {
  const seen = new Set<string>();
  return findings.filter((each) => {
    const key = `${each.check} ${each.place.uri} ${each.place.offset} ${each.place.end} ${each.message}`;
    if (seen.has(key)) return false;
    seen.add(key);
    return true;
  });
}
