import { isOfDesign } from './subjects.js';
import type { LangiumDocument } from 'langium';
import { CHECKS, type Check, NO_LIMIT, type NotChecked, type Verdict, findCheck } from '../checks/index.js';
import { firstFew } from '../checks/text/wording.js';
import { whyOf } from '../checks/verdicts.js';
import type { Place } from '../derivation/index.js';
import type { DesignContext } from '../model/context.js';
import { asResult } from '../model/lower/evaluated.js';
import { type DesignValues, type LoweredDesign, type LoweredFile, lowerFile } from '../model/lower/lower.js';
import { besideSlips } from '../model/lower/syntax-errors.js';
import type { Problem } from '../model/problems.js';
import type { System } from '../model/types.js';
import type { Watch } from '../model/watch.js';
import { createContext } from '../quantities/context.js';
import { type OutcomeResult, judgeOutcome } from './outcomes.js';
import { readingResults } from '../quantities/readings/readings.js';
import { DimensionMismatch, NotFinite } from '../quantity/index.js';
import { sourcesUnder } from '../reference/index.js';
import type { Proof } from '../proof/index.js';
import { type Played, finished } from '../simulate/index.js';
import type { LanguageServices } from '../syntax/module.js';
import { designValues } from './design-values.js';
import { withCauses } from './causes.js';
import { asGraveAs } from './project-rules.js';
import { besideBase, finding, sorted, spokenIn, unique, wordProblems } from './findings.js';
import { judgeRequirement } from './requirements.js';
import { type ProofTask, keptProof, proofTask, provingRules } from './proofs.js';
import { AskedMeasures, type PlayTask, keptPlay, playedValues, playing, runsOfTask } from './scenarios.js';
import { asStated } from './stated.js';
import { type AnalyseOptions, loweringServices } from './surroundings.js';
import type {
  Analysis,
  AnalysedDesign,
  Finding,
  Margin,
  PassedVerdict,
  OpenQuestion,
  PlayedScenario,
  RequirementResult,
} from './types.js';
import { Waivers } from './waivers.js';

/**
 * Everything there is to say about one file: reads it into systems, works out what is asked for, plays its scenarios, judges it by every
 * check. The one entry for editor and command line. The document must be linked and the files it uses loaded.
 */
export function analyse(document: LangiumDocument, services: LanguageServices, options: AnalyseOptions): Analysis {
  const analysis = beginAnalysis(document, services, options).complete();
  if (!analysis.unplayed || options.scenarios === 'leave') return analysis;
  return finished(analysis.unplayed.play());
}

/** An analysis in steps: what reading the text has found, and the whole for whoever asks for it, scenarios last. */
export interface BegunAnalysis {
  readonly findings: readonly Finding[];
  /** Everything but the scenarios, which its `unplayed` plays. */
  readonly complete: () => Analysis;
  /** The same, in steps between which its caller can do other things, or leave off for good. */
  readonly steps: () => Generator<void, Analysis>;
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
    const { variant } = design?.system ?? {};
    return design ? waivers.apply(design.system, [variant === undefined ? each : { ...each, variant }]) : [each];
  });
  const steps = function* (): Generator<void, Analysis> {
    const whole = new FileAnalysis(document.uri.toString(), lowered, read, options);
    yield* whole.judging();
    return whole.analysis();
  };
  return {
    findings: sorted(asGraveAs(unique(findings), options.project)),
    complete: () => atOnce(steps()),
    steps,
  };
}

/** The end of something in steps, without a pause. */
function atOnce<T>(steps: Generator<void, T>): T {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

const isOf = ({ name }: System, { subject }: Finding): boolean => isOfDesign(subject, name);

/** What has been judged of one design. */
export interface Judged {
  readonly findings: readonly Finding[];
  readonly questions: readonly OpenQuestion[];
  readonly passed: readonly PassedVerdict[];
}

const NOTHING_JUDGED: Judged = { findings: [], questions: [], passed: [] };

/** What is kept of a judgement for the next one of the same systems, in which some of their values are others. */
export interface Keeper {
  readonly contextOf: (system: System, make: (watch: Watch) => DesignContext) => DesignContext;
  /** What a check says of a system. */
  readonly judged: (system: System, check: string, make: () => Judged) => Judged;
}

/** Judges systems that were read before. */
export function judgeAgain(
  lowered: LoweredFile,
  read: readonly Finding[],
  options: AnalyseOptions,
  keeper: Keeper,
): Analysis {
  const whole = new FileAnalysis(lowered.uri, lowered, read, options, keeper);
  atOnce(whole.judging());
  return whole.analysis();
}

/** One design while it is judged: first without its scenarios, then with each of them. */
interface DesignState {
  readonly design: LoweredDesign;
  readonly context: DesignContext;
  readonly values: DesignValues;
  /** What reading the text has found, its requirements included. */
  readonly read: readonly Finding[];
  readonly requirements: readonly RequirementResult[];
  readonly outcomes: readonly OutcomeResult[];
  readonly judged: Judged;
  /** Scenarios that somebody asks about. */
  readonly tasks: readonly PlayTask[];
  /** Its rules, where it has any. */
  readonly proof: ProofTask | undefined;
}

/** What was played: scenarios, and the rules of designs. */
interface Plays {
  readonly scenarios: ReadonlyMap<PlayTask, Played>;
  readonly proofs: ReadonlyMap<ProofTask, Proof>;
}

const NOTHING_PLAYED: Plays = { scenarios: new Map(), proofs: new Map() };

class FileAnalysis {
  private readonly designs: DesignState[] = [];

  constructor(
    private readonly uri: string,
    private readonly lowered: LoweredFile,
    private readonly read: readonly Finding[],
    private readonly options: AnalyseOptions,
    private readonly keeper?: Keeper,
  ) {}

  /** Judges every design, check by check. To be run to its end before anything else is asked. */
  *judging(): Generator<void, void> {
    for (const design of this.lowered.designs)
      if (this.options.designs?.(design.system.name) ?? true) this.designs.push(yield* this.judgeDesign(design));
  }

  private *judgeDesign(design: LoweredDesign): Generator<void, DesignState> {
    const { system } = design;
    const read = this.read.filter((each) => isOf(system, each));
    const make = (watch?: Watch): DesignContext =>
      createContext(system, this.options.today, this.lowered.partsOf, watch);
    const context = this.keeper?.contextOf(system, make) ?? make();
    const values = designValues(context);
    if (design.isBroken)
      return {
        design,
        context,
        values,
        read,
        requirements: [],
        outcomes: [],
        judged: NOTHING_JUDGED,
        tasks: [],
        proof: undefined,
      };
    const reported: Problem[] = [];
    const asked = new Map(system.scenarios.map((scenario) => [scenario.name, new AskedMeasures(scenario)]));
    const requirements = system.requirements.map((requirement) => {
      const measures = requirement.scenario === undefined ? undefined : asked.get(requirement.scenario);
      const seen = measures?.valuesFrom(values) ?? values;
      return judgeRequirement(design, requirement, seen, reported, this.options.today);
    });
    const outcomes = system.outcomes.map((outcome) =>
      judgeOutcome(design, outcome, asked.get(outcome.scenario)?.valuesFrom(values) ?? values, reported),
    );
    const isLookedAt = ({ name }: { readonly name: string }): boolean =>
      PLAY_CHECKS.length > 0 ||
      requirements.some(({ scenario, isWaiting }) => scenario === name && isWaiting) ||
      outcomes.some(({ outcome: { scenario }, isWaiting }) => scenario === name && isWaiting);
    return {
      design,
      context,
      values,
      read: [...read, ...wordProblems(besideSlips(reported, this.lowered.problems))],
      requirements,
      outcomes,
      judged: yield* judging(context, (check) => check.judge(context, requirements), this.options.checks, this.keeper),
      tasks: system.scenarios.filter(isLookedAt).map((scenario) => ({
        context,
        system,
        scenario,
        measures: asked.get(scenario.name)?.measures ?? [],
        isFaulty: scenario.isFaulty || requirements.some((each) => each.scenario === scenario.name && each.isFaulty),
      })),
      proof: proofTask(context, this.isFaulty(system)),
    };
  }

  /** Whether the text of a design, or of what it is a variant of, is wrong where its rules may rest on it: anywhere but in its scenarios. */
  private isFaulty(system: System): boolean {
    const all = this.lowered.designs.map((each) => each.system);
    const own = all.filter(({ name, variant }) => name === system.name || (!variant && name === system.variantOf));
    const starts = all.map(({ place }) => place.offset).sort((a, b) => a - b);
    const isWithin = ({ place: own }: System, { place }: Finding): boolean =>
      place.uri === own.uri &&
      place.offset >= own.offset &&
      place.offset < (starts.find((start) => start > own.offset) ?? Infinity);
    // What is wrong in a part, or with a file that is drawn in, may be wrong in every design of the file.
    const isOfNone = (found: Finding): boolean =>
      !all.some((each) => isOf(each, found) || (found.check === 'syntax-error' && isWithin(each, found)));
    return this.read.some(
      (found) =>
        found.severity === 'error' &&
        (isOfNone(found) ||
          own.some(
            (each) =>
              (isOf(each, found) || (found.check === 'syntax-error' && isWithin(each, found))) &&
              !each.scenarios.some(({ path }) => found.subject === path),
          )),
    );
  }

  /** Everything without the scenarios, which wait to be played. */
  analysis(): Analysis {
    const count = this.tasks.length + this.proofs.length;
    const analysis = this.assembled(NOTHING_PLAYED);
    return count === 0
      ? analysis
      : {
          ...analysis,
          unplayed: {
            count,
            kept: () => this.kept(),
            play: (isAsked) => this.play(isAsked),
            runsOf: (design, scenario, alive) => {
              const found = this.tasks.find((task) => task.system.name === design && task.scenario.name === scenario);
              return found && runsOfTask(found, this.options, alive);
            },
          },
        };
  }

  private get tasks(): readonly PlayTask[] {
    return this.designs.flatMap(({ tasks }) => tasks);
  }

  private get proofs(): readonly ProofTask[] {
    return this.designs.flatMap(({ proof }) => (proof ? [proof] : []));
  }

  private kept(): Analysis | undefined {
    const { cache } = this.options;
    if (!cache) return undefined;
    const scenarios = new Map<PlayTask, Played>();
    for (const task of this.tasks) {
      const played = keptPlay(task, this.options, cache);
      if (!played) return undefined;
      scenarios.set(task, played);
    }
    const proofs = new Map<ProofTask, Proof>();
    for (const task of this.proofs) {
      const proof = keptProof(task, cache);
      if (!proof) return undefined;
      proofs.set(task, proof);
    }
    return this.assembled({ scenarios, proofs });
  }

  /** Rules first, since they are quick and concern everybody; who asks for some scenarios asks for no rules. */
  private *play(isAsked?: (design: string, scenario: string) => boolean): Generator<number, Analysis> {
    const asked = this.tasks.filter(({ system, scenario }) => isAsked?.(system.name, scenario.name) ?? true);
    const rules = isAsked ? [] : this.proofs;
    const count = asked.length + rules.length;
    const scenarios = new Map<PlayTask, Played>();
    const proofs = new Map<ProofTask, Proof>();
    const { cache } = this.options;
    const share = (of: number): number => (scenarios.size + proofs.size + of) / count;
    for (const task of rules) proofs.set(task, yield* shared(provingRules(task, cache), share));
    for (const task of asked) scenarios.set(task, yield* shared(playing(task, this.options, cache), share));
    return this.assembled({ scenarios, proofs });
  }

  private assembled(plays: Plays): Analysis {
    const findings: Finding[] = this.read.filter(
      (each) => !this.lowered.designs.some(({ system }) => isOf(system, each)),
    );
    const waivers = new Waivers(this.options.today);
    const requirements: RequirementResult[] = [];
    const questions: OpenQuestion[] = [];
    const designs: AnalysedDesign[] = [];
    const scenarios: PlayedScenario[] = [];
    const outcomes: OutcomeResult[] = [];
    const counts = { failed: 0, notChecked: 0 };
    const passed: PassedVerdict[] = [];
    const judged: { readonly system: System; readonly findings: readonly Finding[]; open: readonly OpenQuestion[] }[] =
      [];
    for (const state of this.designs) {
      const { design, context, values, tasks } = state;
      const timed = this.judgePlays(state, plays);
      const open = [...state.judged.questions, ...timed.judged.questions];
      const own = [...state.judged.findings, ...timed.judged.findings];
      judged.push({
        system: design.system,
        findings: waivers.apply(design.system, [...state.read, ...own, ...missingFacts(open)]),
        open,
      });
      requirements.push(...timed.requirements);
      outcomes.push(...timed.outcomes);
      passed.push(...state.judged.passed, ...timed.judged.passed);
      counts.failed += own.length;
      counts.notChecked += open.length;
      designs.push({ system: design.system, context, evaluate: (node) => asResult(design.evaluate(node, values)) });
      for (const task of tasks) {
        const played = plays.scenarios.get(task);
        if (played) scenarios.push({ design: design.system.name, scenario: task.scenario, played });
      }
    }
    const repeated: Finding[] = [];
    for (const { system, findings: found, open } of judged) {
      const base = judged.find((each) => each.system.name === system.variantOf && !each.system.variant);
      const beside = system.variant
        ? besideBase(found, system.name, base && { name: base.system.name, findings: base.findings })
        : { own: found, repeated: [] };
      findings.push(...beside.own);
      repeated.push(...beside.repeated);
      const asked = new Set(system.variant ? base?.open.map((each) => askedFor(each, base.system)) : []);
      questions.push(...open.filter((each) => !asked.has(askedFor(each, system))));
    }
    findings.push(...waivers.findings(this.uri));
    const readings = designs.flatMap(({ context }) => readingResults(context));
    const { project } = this.options;
    const sortedFindings = withCauses(sorted(asGraveAs(unique(findings), project)));
    return {
      uri: this.uri,
      findings: sortedFindings,
      repeated: sorted(asGraveAs(unique(repeated), project)),
      requirements,
      outcomes,
      readings,
      questions,
      designs,
      counts,
      passed,
      margins: passed.filter(hasLimit),
      scenarios,
    };
  }

  /** Requirements with the results of the scenarios that were played, and what checks say of these. */
  private judgePlays(
    { design, context, values, requirements, outcomes, tasks, proof }: DesignState,
    plays: Plays,
  ): { requirements: readonly RequirementResult[]; outcomes: readonly OutcomeResult[]; judged: Judged } {
    const played = new Map(
      tasks.flatMap((task) => {
        const result = plays.scenarios.get(task);
        return result ? [[task.scenario.name, playedValues(values, task.scenario, result)] as const] : [];
      }),
    );
    const decided = new Map<RequirementResult, RequirementResult>();
    for (const [index, before] of requirements.entries()) {
      const seen = before.isWaiting ? played.get(before.scenario ?? '') : undefined;
      // Faults of the text were reported when it was worked out without results.
      if (seen)
        decided.set(before, judgeRequirement(design, design.system.requirements[index]!, seen, [], this.options.today));
    }
    const fresh = [...decided.values()];
    const verdicts = function* (check: Check): Generator<Verdict> {
      if (check.id === 'requirement-failed') yield* check.judge(context, fresh);
      for (const task of tasks) {
        const result = plays.scenarios.get(task);
        if (result && check.judgePlayed) yield* check.judgePlayed(context, task.scenario, result);
      }
      const proven = proof && plays.proofs.get(proof);
      if (proven && check.judgeProof) yield* check.judgeProof(context, proven);
    };
    const judged = atOnce(judging(context, verdicts, this.options.checks));
    return {
      requirements: requirements.map((each) => decided.get(each) ?? each),
      outcomes: outcomes.map((before) => {
        const seen = before.isWaiting ? played.get(before.outcome.scenario) : undefined;
        return seen ? judgeOutcome(design, before.outcome, seen, []) : before;
      }),
      judged,
    };
  }
}

/** The steps of one play as shares of all. */
function* shared<T>(steps: Generator<number, T>, share: (of: number) => number): Generator<number, T> {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
    yield share(step.value);
  }
}
/** What a question asks, without the name of the design: the same for a variant and its base where nothing has changed. */
const askedFor = ({ check, subject, missing }: OpenQuestion, { name }: System): string =>
  [check, subject.slice(name.length), ...missing].join('\n');

/** Checks that look at played scenarios. */
const PLAY_CHECKS = CHECKS.filter(({ judgePlayed }) => judgePlayed);

/** Asks every check, and pauses after each thing that it has judged. */
function* judging(
  context: DesignContext,
  verdicts: (check: Check) => Iterable<Verdict>,
  isAsked: (id: string) => boolean = () => true,
  keeper?: Keeper,
): Generator<void, Judged> {
  const findings: Finding[] = [];
  const questions: OpenQuestion[] = [];
  const passed: PassedVerdict[] = [];
  for (const check of CHECKS) {
    if (!isAsked(check.id)) continue;
    // What is said of requirements hangs on their outcomes, which are no values of the design.
    const isKept = keeper !== undefined && check.id !== 'requirement-failed';
    const judged = isKept
      ? keeper.judged(context.system, check.id, () => atOnce(judgingBy(check, verdicts, context)))
      : yield* judgingBy(check, verdicts, context);
    findings.push(...judged.findings);
    questions.push(...judged.questions);
    passed.push(...judged.passed);
  }
  return { findings, questions, passed };
}

const hasLimit = (verdict: PassedVerdict): verdict is Margin => verdict.use !== undefined;

/** Asks one check. */
function* judgingBy(
  check: Check,
  verdicts: (check: Check) => Iterable<Verdict>,
  { system }: DesignContext,
): Generator<void, Judged> {
  const findings: Finding[] = [];
  const questions: OpenQuestion[] = [];
  const passed: PassedVerdict[] = [];
  try {
    for (const verdict of verdicts(check)) {
      if (verdict.verdict === 'failed')
        findings.push(spokenIn(system.basis.practice, underRules(check, finding(check, verdict), system)));
      else if (verdict.verdict === 'passed') {
        const { subject, use } = verdict;
        passed.push({ check: check.id, subject, ...(use === NO_LIMIT ? {} : { use }) });
      } else questions.push(question(check, verdict, system));
      yield;
    }
  } catch (error) {
    if (!(error instanceof NotFinite || error instanceof DimensionMismatch)) throw error;
    const { name: subject, place } = system;
    questions.push({ check: check.id, subject, place, missing: ['values small enough to calculate with'] });
  }
  return { findings, questions, passed };
}

/** Groups whose findings rest on the wiring rules of the design. */
const UNDER_RULES: ReadonlySet<string> = new Set(['conductors', 'sources', 'storage']);

/** A finding with its sources in the edition of the rules that the design follows. */
const underRules = (check: Check, found: Finding, { basis }: System): Finding =>
  UNDER_RULES.has(check.group) ? { ...found, sources: sourcesUnder(basis, found.sources) } : found;

const question = (
  check: Check,
  { subject, place, missing, isRefused, isOfMarking }: NotChecked,
  system: System,
): OpenQuestion => ({
  check: check.id,
  subject,
  place,
  missing: asStated(system, [...new Set(missing)]),
  ...(isRefused ? { isRefused } : {}),
  ...(isOfMarking ? { isOfMarking } : {}),
});

/** Two facts stand in a headline where they are no longer than this together. */
const MOST_FACTS = 50;

/** A missing fact without the remark behind it, which says when it matters. */
const shortFact = (fact: string): string => fact.replace(/[ ,]*(?:\(.*\)|, from its .*)$/s, '');

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
    const [reason] = reasons;
    const names = [...facts].map(shortFact);
    const lacking = firstFew(names, names.slice(0, 2).join().length > MOST_FACTS ? 1 : 2);
    const { why } = whyOf(reason, `skips ${firstFew([...checks])}`);
    return finding(check, {
      verdict: 'failed',
      subject,
      place,
      headline: facts.size > 0 ? `Not checked: missing ${lacking}` : 'Not checked: a calculation does not hold here',
      ...(why ? { why } : {}),
      ...(facts.size > 0 ? { advice: `State ${[...facts].join(', ')}.` } : {}),
      use: NO_LIMIT,
    });
  });
}
