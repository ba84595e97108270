import { type LangiumDocument, type URI, UriUtils } from 'langium';
import { CHECKS, type Check, type Failed, type NotChecked, findCheck } from '../checks/index.js';
import type { TextCheck } from '../checks/text/problem-check.js';
import type { Place } from '../derivation/index.js';
import type * as ast from '../grammar/generated/ast.js';
import type { DesignContext } from '../model/context.js';
import { type Evaluated, asResult, knownValue, pending } from '../model/lower/evaluate.js';
import { type DesignValues, type LoweredDesign, type LoweringServices, lowerFile } from '../model/lower/lower.js';
import { nearest } from '../model/nearest.js';
import type { Problem } from '../model/problems.js';
import type { Accept, Requirement, System, Thing } from '../model/types.js';
import { createContext, finite } from '../quantities/context.js';
import { DESIGN_FUNCTIONS } from '../quantities/design-functions.js';
import { DimensionMismatch, NotFinite } from '../quantity/index.js';
import type { LanguageServices } from '../syntax/module.js';
import { LIBRARY_SCHEME, VisibleDocuments, resolveUse } from '../syntax/scope.js';
import type { Analysis, AnalysedDesign, Finding, OpenQuestion, RequirementResult } from './types.js';

export interface AnalyseOptions {
  /** Today as `YYYY-MM-DD`; decides about waivers and requirements with a date. */
  readonly today: string;
  /** The folder that `use` must not leave; the file's own folder when not given. */
  readonly workspace?: URI;
}

/**
 * Everything there is to say about one file: reads it into systems, works out what is asked for, judges it by every check. The one entry
 * for editor and command line. The document must be linked and the files it uses loaded.
 */
export function analyse(document: LangiumDocument, services: LanguageServices, options: AnalyseOptions): Analysis {
  const lowered = lowerFile(document, loweringServices(document, services, options));
  const findings: Finding[] = wordProblems(lowered.problems);
  const requirements: RequirementResult[] = [];
  const questions: OpenQuestion[] = [];
  const designs: AnalysedDesign[] = [];
  const counts = { passed: 0, failed: 0, notChecked: 0 };

  for (const design of lowered.designs) {
    const context = createContext(design.system, options.today, lowered.partsOf);
    const values = designValues(context);
    const own: Finding[] = [];
    const reported: Problem[] = [];
    const outcomes = design.system.requirements.map((requirement) =>
      judgeRequirement(design, requirement, values, reported),
    );
    requirements.push(...outcomes);
    const judged = judge(context, outcomes);
    own.push(...wordProblems(reported), ...judged.findings);
    counts.passed += judged.passed;
    counts.failed += judged.findings.length;
    counts.notChecked += judged.questions.length;
    questions.push(...judged.questions);
    own.push(...missingFacts(judged.questions));
    findings.push(...applyAccepts(design.system, own, options.today));
    designs.push({ system: design.system, context, evaluate: (node) => asResult(design.evaluate(node, values)) });
  }
  return { uri: document.uri.toString(), findings: sorted(unique(findings)), requirements, questions, designs, counts };
}

function loweringServices(
  document: LangiumDocument,
  services: LanguageServices,
  options: AnalyseOptions,
): LoweringServices {
  const { LangiumDocuments } = services.shared.workspace;
  const comments = services.wattwright.documentation.CommentProvider;
  const visible = new VisibleDocuments(LangiumDocuments);
  const folder = options.workspace ?? UriUtils.dirname(document.uri);
  return {
    visible,
    mayUse: (_from, to) => isInside(folder, to),
    isLoaded: (uri) => LangiumDocuments.hasDocument(uri),
    comment: (node) => docText(comments.getComment(node)),
    isUsed: (uri) =>
      LangiumDocuments.all.some((other) => {
        if (other.uri.scheme === LIBRARY_SCHEME || UriUtils.equals(other.uri, uri)) return false;
        const { uses } = other.parseResult.value as ast.File;
        return (uses ?? []).some(
          (use) => typeof use.path === 'string' && UriUtils.equals(resolveUse(other.uri, use.path), uri),
        );
      }),
  };
}

/** Whether a file lies in a folder or below it. */
export function isInside(folder: URI, file: URI): boolean {
  const prefix = folder.path.endsWith('/') ? folder.path : `${folder.path}/`;
  return (
    folder.scheme === file.scheme &&
    folder.authority === file.authority &&
    UriUtils.normalize(file).startsWith(UriUtils.normalize(folder.with({ path: prefix })))
  );
}

/** The text of a doc comment without its marks. */
export function docText(comment: string | undefined): string | undefined {
  if (!comment?.startsWith('/**')) return undefined;
  const lines = comment
    .slice(3, -2)
    .split('\n')
    .map((line) => line.replace(/^\s*\*? ?/, '').trimEnd());
  return lines.join('\n').trim() || undefined;
}

function wordProblems(problems: readonly Problem[]): Finding[] {
  return problems.flatMap((problem) => {
    const check = findCheck(problem.code) as TextCheck | undefined;
    if (!check) return [];
    const worded = check.word(problem as never);
    return [finding(check, { verdict: 'failed', subject: problem.subject, place: problem.place, ...worded })];
  });
}

function finding(check: Check, failed: Failed): Finding {
  return {
    check: check.id,
    severity: failed.severity ?? check.severity,
    place: failed.place,
    subject: failed.subject,
    message: failed.message,
    numbers: failed.numbers ?? {},
    sources: [...check.docs.sources, ...(failed.sources ?? [])],
    related: failed.related ?? [],
    fixes: failed.fixes ?? [],
  };
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
        if (verdict.verdict === 'failed') findings.push(finding(check, verdict));
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

/** Values of a design for its expressions. */
function designValues(context: DesignContext): DesignValues {
  const { system } = context;
  const things = new Map<string, Thing>(
    [...system.instances, ...system.runs, ...system.links, ...system.controls].map((thing) => [thing.name, thing]),
  );
  const quantity = (name: string, quantityName: string): Evaluated | undefined => {
    const thing = things.get(name);
    if (!thing) return undefined;
    // `Rect.dc.current`: the last step names the quantity, the terminal before it the side.
    const direct = context.quantityNames(thing).includes(quantityName)
      ? quantityName
      : TERMINAL_QUANTITIES[`${thing.kind}.${quantityName}`];
    return direct ? fromResult(context.quantity(thing, direct)) : undefined;
  };
  return {
    quantity,
    quantityNames: (name) => {
      const thing = things.get(name);
      return thing ? context.quantityNames(thing) : [];
    },
    call: (name, given) => {
      const definition = DESIGN_FUNCTIONS.get(name);
      const first = given[0]?.value;
      const thing = first?.kind === 'thing' ? things.get(first.name) : undefined;
      if (!definition || !thing) return undefined;
      const facts = given.slice(1).flatMap(({ value }) => (value.kind === 'pending' ? value.missing : []));
      if (facts.length > 0) return pending(undefined, ...facts);
      const rest = given
        .slice(1)
        .flatMap(({ name: argument, value }) =>
          value.kind === 'known' ? [{ ...(argument ? { name: argument } : {}), derivation: value.derivation }] : [],
        );
      return fromResult(finite(() => definition.compute(thing, rest, context), `${name}(${thing.name}, …)`));
    },
    callNames: [...DESIGN_FUNCTIONS.keys()],
  };
}

/** Quantities at a terminal: what the current or voltage at that side of a thing is called. */
const TERMINAL_QUANTITIES: Readonly<Record<string, string>> = {
  'charger.dc.current': 'outputCurrent',
  'charger.ac.current': 'inputCurrent',
  'inverter.dc.current': 'dcCurrent',
  'inverter.input.current': 'inputCurrent',
  'chargeController.dc.current': 'outputCurrent',
};

function fromResult(result: ReturnType<DesignContext['quantity']>): Evaluated {
  if (result.kind === 'known') return knownValue(result.derivation);
  return result.kind === 'missing' ? pending(undefined, ...result.missing) : { kind: 'bad', reason: result.reason };
}

function judgeRequirement(
  design: LoweredDesign,
  requirement: Requirement,
  values: DesignValues,
  reported: Problem[],
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
  const value = design.evaluate(condition, values, (node, facts) => {
    const cst = node.$cstNode;
    const place = cst
      ? {
          ...requirement.place,
          offset: cst.offset,
          end: cst.end,
          line: cst.range.start.line,
          character: cst.range.start.character,
          endLine: cst.range.end.line,
          endCharacter: cst.range.end.character,
        }
      : requirement.place;
    reported.push({ ...facts, place, subject: system.name });
  });
  if (value.kind === 'pending') return { ...common, undecided: `missing ${[...new Set(value.missing)].join(', ')}` };
  if (value.kind === 'bad') return { ...common, undecided: value.reason };
  if (value.kind !== 'known' || typeof value.derivation.value !== 'boolean')
    return { ...common, undecided: 'it is no condition' };
  const { derivation } = value;
  const [left, right] = derivation.inputs;
  return { ...common, holds: derivation.value as boolean, ...(left ? { left } : {}), ...(right ? { right } : {}) };
}

const isPast = (date: string | undefined, today: string): boolean => date !== undefined && date < today;

/** Sets aside what the design accepts. A waiver speaks of one check on one thing; past its date it no longer counts. */
function applyAccepts(system: System, findings: readonly Finding[], today: string): Finding[] {
  const used = new Set<Accept>();
  const result = findings.map((each) => {
    const accept = system.accepts.find(
      (candidate) => candidate.check === each.check && subjectFits(system, candidate, each.subject),
    );
    if (!accept) return each;
    used.add(accept);
    if (isPast(accept.until, today) || !accept.reason) return each;
    return { ...each, accepted: { reason: accept.reason, ...(accept.until ? { until: accept.until } : {}) } };
  });
  return [...result, ...system.accepts.flatMap((accept) => acceptFinding(system, accept, used.has(accept), today))];
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
  const remove = [{ title: 'Remove this waiver', safe: false, edits: [{ place: accept.place, text: '' }] }];
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
  if (!isUsed)
    return fail(
      'unused-accept',
      `The waiver of \`${accept.check}\`${about} silences nothing: the check finds nothing there. Remove it.`,
      accept.place,
      remove,
    );
  if (isPast(accept.until, today))
    return fail(
      'expired-accept',
      `The waiver of \`${accept.check}\`${about} ended on ${accept.until} (today is ${today}). Mend the finding, or give a new date and reason.`,
      accept.place,
      remove,
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
