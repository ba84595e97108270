import { isOfDesign, withoutDesign } from '../analyse/subjects.js';
import type { Analysis, AnalysedDesign, Finding } from '../analyse/types.js';
import { inWordsOf } from '../glossary/basis-words.js';
import { type Fix, type Way, findCheck } from '../checks/index.js';
import type { DesignContext } from '../model/context.js';
import { type Variant, isFile, isVariant } from '../grammar/generated/ast.js';
import type { Answer, Obstacle } from './answer.js';
import { conductorFixes } from './conductors/conductor-ways.js';
import { parallelConductors } from './conductors/parallel-conductors.js';
import { type Edit, composed, edited, editsIn, isInsertion, overlaps } from './edits.js';
import { Effort, PLAYED } from './effort.js';
import { asOverrides, shifted } from './overrides.js';
import { type Outcome, UNUSED_WAIVER, keyOf, outcomeOf, standing } from './proof.js';
import { type Change, byCost, changeOf, isBelowCopper } from './ranking.js';
import { type Ground, analyseAs } from './trial.js';

/** What a check declares, with the way that it comes from: of several changes of one way the first that holds is wanted. */
interface Declared {
  readonly fix: Fix;
  readonly way: Way;
}

/** A change that is to be tried: what a check declares, or several such ways one after the other. */
interface Candidate {
  readonly title: string;
  readonly isSafe: boolean;
  /** Whether its check would take it first. */
  readonly isPreferred: boolean;
  readonly edits: readonly Edit[];
}

/** A change that has been tried. */
interface Tried extends Candidate {
  readonly outcome: Outcome;
  readonly after: Analysis;
}

interface Proven extends Tried {
  readonly change: Change;
}

/** The designs that a finding concerns, as they are: what every change of it is held against. */
interface Stage {
  readonly designs: (name: string) => boolean;
  readonly before: Analysis;
  readonly scenarios: 'play' | 'leave';
  /** How many things are judged again at each try. */
  readonly things: number;
}

/** Changes joined one after the other at most: a setting, the device that goes with it, the conductors that go with that. */
const MOST_JOINED = 3;
/** Ways tried at most to mend what a change brings. */
const MOST_SIDE_WAYS = 2;
/** Ways tried of one finding at most. */
const MOST_WAYS = 8;
/** Growth of copper, as a quotient of areas, beyond which it is not offered beside a setting or device. Common practice, no source. */
const MOST_GROWTH = 2.2;

/**
 * Makes proposals for the findings of one file. Each is applied in memory, and the designs that it concerns are analysed again: it is
 * offered only if its finding is gone, no error is new and less is wrong than before.
 */
export class Proposer {
  private readonly text: string;
  private readonly uri: string;
  private readonly stages = new Map<string, Stage>();
  private readonly tried = new Map<string, Tried>();
  private readonly made = new WeakMap<Finding, readonly Declared[]>();

  constructor(
    private readonly analysis: Analysis,
    private readonly ground: Ground,
    private readonly effort = new Effort(),
  ) {
    this.text = ground.document.textDocument.getText();
    this.uri = ground.document.uri.toString();
  }

  /** What can be done about a finding. Yields after each change that has been tried, so that its caller can leave off. */
  *answer(finding: Finding): Generator<void, Answer> {
    const obstacles: Obstacle[] = [];
    const proven: Proven[] = [];
    const ways = this.fixes(finding, this.analysis);
    const isSized = finding.ways.some((way) => !isWorkedOut(way) && way.way === 'size');
    if (ways.length === 0 && !isSized) return { proposals: [], obstacles: [{ kind: 'no-way' }], isSought: true };
    const stage = this.stageOf(finding);
    let isSought = true;
    const held = new Set<Way>();
    for (const { fix, way } of ways.slice(0, MOST_WAYS)) {
      if (held.has(way)) continue;
      if (this.effort.isSpent) {
        isSought = false;
        break;
      }
      const edits = this.editsOf(fix, finding);
      if (!edits) {
        if (fix.edits.length > 0) obstacles.push({ kind: 'elsewhere', title: fix.title });
        continue;
      }
      const first = this.try({ ...declared(fix), edits }, finding, stage);
      yield;
      const found = yield* this.joined(first, finding, stage, obstacles);
      if (!found) continue;
      const rival = yield* this.undoneBy(found, finding, stage);
      if (rival) obstacles.push({ kind: 'undoes', title: found.title, ...rival });
      else {
        proven.push({ ...found, change: changeOf(stage.before, found.after) });
        held.add(way);
      }
    }
    if (isSized) proven.push(...(yield* this.inParallel(proven, finding, stage)));
    const isElsewhere = obstacles.some(({ kind }) => kind === 'elsewhere');
    const isOfCurrent = isSized && isSought && proven.length === 0 && !isElsewhere && this.isDirect(finding);
    if (isOfCurrent) obstacles.push({ kind: 'current', subject: finding.subject });
    if (proven.length === 0 && obstacles.length === 0) obstacles.push({ kind: 'no-way' });
    const proposals = offered(proven).map((each, index) => this.fixOf(each, index === 0, finding));
    return { proposals, obstacles, isSought };
  }

  /**
   * The edits of a change in the text of this file, after others have been made. What would change the base of a variant in another file
   * is said in the variant instead.
   */
  private editsOf(
    { edits }: Fix,
    finding: Finding,
    text = this.text,
    made: readonly Edit[] = [],
  ): readonly Edit[] | undefined {
    const own = editsIn(this.uri, text, edits);
    if (own) return own;
    const name = this.analysis.designs.find((design) => concerns(design, finding))?.system.name;
    const variant = this.variants().find((each) => each.name === name);
    return variant?.$cstNode && asOverrides(this.uri, text, shifted(variant.$cstNode.end - 1, made), edits);
  }

  private variants(): readonly Variant[] {
    const file = this.ground.document.parseResult.value;
    return isFile(file) ? file.declarations.filter(isVariant) : [];
  }

  private isDirect({ ways }: Finding): boolean {
    return ways.some((way) => !isWorkedOut(way) && way.way === 'size' && way.run.carries === 'dc');
  }

  private contextOf(finding: Finding, { designs }: Analysis): DesignContext | undefined {
    return designs.find((design) => concerns(design, finding))?.context;
  }

  /** What a check declares, worked out: the changes of its ways, each once. */
  private fixes(finding: Finding, analysis: Analysis): readonly Declared[] {
    const kept = this.made.get(finding);
    if (kept) return kept;
    const context = this.contextOf(finding, analysis);
    const made = finding.ways.flatMap((way): readonly Declared[] => {
      const fixes = isWorkedOut(way) ? [way] : context ? conductorFixes(way, context) : [];
      return fixes.map((fix) => ({ fix, way }));
    });
    const seen = new Set<string>();
    const distinct = made.filter(({ fix }) => {
      const key = JSON.stringify(fix.edits.map(({ place, text }) => [place.uri, place.offset, place.end, text]));
      return !seen.has(key) && Boolean(seen.add(key));
    });
    this.made.set(finding, distinct);
    return distinct;
  }

  private stageOf(finding: Finding): Stage {
    const names = this.namesBeside(finding);
    const check = findCheck(finding.check);
    // What only time shows is played again; it can be compared only where it was played before.
    const isTimed = check?.group === 'control' || check?.judgePlayed !== undefined || finding.check === UNUSED_WAIVER;
    const scenarios =
      isTimed && !this.analysis.unplayed && this.ground.options.scenarios !== 'leave' ? 'play' : 'leave';
    const key = `${scenarios} ${[...(names ?? [])].join(' ')}`;
    const kept = this.stages.get(key);
    if (kept) return kept;
    const designs = (name: string): boolean => names?.has(name) ?? true;
    const isWhole = this.analysis.designs.every(({ system }) => designs(system.name));
    const isAlike = scenarios === 'play' || this.analysis.scenarios.length === 0;
    const before = isWhole && isAlike ? this.analysis : analyseAs(this.text, this.ground, designs, scenarios);
    const things = before.designs.reduce(
      (sum, { system }) => sum + system.runs.length + system.instances.length + system.controls.length,
      1,
    );
    const stage: Stage = { designs, before, scenarios, things: scenarios === 'play' ? PLAYED * things : things };
    this.effort.spend(stage.things);
    this.stages.set(key, stage);
    return stage;
  }

  /** The design of a finding with its variants, and that of a variant with its base; undefined for what concerns the file. */
  private namesBeside(finding: Finding): ReadonlySet<string> | undefined {
    const own = this.analysis.designs.find((design) => concerns(design, finding))?.system.name;
    if (own === undefined || !isFile(this.ground.document.parseResult.value)) return undefined;
    const variants = this.variants();
    const root = variants.find(({ name }) => name === own)?.base.$refText ?? own;
    return new Set([root, ...variants.filter(({ base }) => base.$refText === root).map(({ name }) => name)]);
  }

  private try(candidate: Candidate, finding: Finding, stage: Stage): Tried {
    const key = JSON.stringify([candidate.edits, keyOf(finding), finding.message, stage.scenarios]);
    const kept = this.tried.get(key);
    if (kept) return { ...kept, ...candidate };
    this.effort.spend(stage.things);
    const after = analyseAs(edited(this.text, candidate.edits), this.ground, stage.designs, stage.scenarios);
    const tried = { ...candidate, after, outcome: outcomeOf(finding, stage.before, after) };
    this.tried.set(key, tried);
    return tried;
  }

  /** A change that holds: as it is, or with what mends the errors it brings; undefined with the obstacle where none does. */
  private *joined(
    first: Tried,
    finding: Finding,
    stage: Stage,
    obstacles: Obstacle[],
  ): Generator<void, Tried | undefined> {
    let open: Tried[] = [first];
    for (let count = 1; count <= MOST_JOINED; count += 1) {
      const sound = open.find(({ outcome }) => isSound(outcome));
      if (sound) return sound;
      if (count === MOST_JOINED || this.effort.isSpent) break;
      const next: Tried[] = [];
      for (const each of open.slice(0, MOST_SIDE_WAYS)) {
        const [stands] = each.outcome.errors;
        if (!each.outcome.isGone || !stands) continue;
        const text = edited(this.text, each.edits);
        for (const { fix } of this.fixes(stands, each.after).slice(0, MOST_SIDE_WAYS)) {
          const edits = this.editsOf(fix, stands, text, each.edits);
          if (!edits || this.effort.isSpent) continue;
          const candidate = {
            title: `${each.title}, and ${lowerFirst(fix.title)}`,
            isSafe: false,
            isPreferred: each.isPreferred,
            edits: composed(this.text, each.edits, edits),
          };
          next.push(this.try(candidate, finding, stage));
          yield;
        }
      }
      if (next.length === 0) break;
      open = next;
    }
    obstacles.push(obstacleOf(first));
    return undefined;
  }

  /** The finding whose own change this one would undo: each leaves the other's finding where it is, and both write at one place. */
  private *undoneBy(
    { edits, after }: Tried,
    finding: Finding,
    stage: Stage,
  ): Generator<void, { readonly check: string; readonly subject: string } | undefined> {
    for (const other of standing(stage.before)) {
      const isSame = keyOf(other) === keyOf(finding) && other.message === finding.message;
      if (isSame || !isLeft(other, finding, after)) continue;
      for (const { fix } of this.fixes(other, stage.before)) {
        const theirs = this.editsOf(fix, other);
        if (!theirs || !theirs.some((edit) => edits.some((own) => clash(own, edit))) || this.effort.isSpent) continue;
        const rival = this.try({ ...declared(fix), edits: theirs }, other, stage);
        yield;
        if (isSound(rival.outcome) && isLeft(finding, other, rival.after))
          return { check: other.check, subject: other.subject };
      }
    }
    return undefined;
  }

  /** Several conductors in parallel where one would be too heavy for the gear it ends in, or none is large enough. */
  private *inParallel(proven: readonly Proven[], finding: Finding, stage: Stage): Generator<void, readonly Proven[]> {
    if (proven.some(({ change }) => change.tier !== 'heavy-conductor')) return [];
    const way = finding.ways.find((each) => !isWorkedOut(each) && each.way === 'size');
    const context = this.contextOf(finding, stage.before);
    if (!way || isWorkedOut(way) || way.way !== 'size' || !context) return [];
    for (const fix of parallelConductors(way.run, proven[0]?.after, finding, context)) {
      const edits = this.editsOf(fix, finding);
      if (!edits || this.effort.isSpent) continue;
      const first = this.try({ ...declared(fix), edits }, finding, stage);
      yield;
      const tried = yield* this.joined(first, finding, stage, []);
      if (!tried || (yield* this.undoneBy(tried, finding, stage))) continue;
      return [{ ...tried, change: changeOf(stage.before, tried.after) }];
    }
    return [];
  }

  /** A change as it is offered, with the warnings that it brings named in its title. */
  private fixOf({ title, isSafe, edits, outcome }: Proven, isFirst: boolean, finding: Finding): Fix {
    const { textDocument } = this.ground.document;
    const practice = this.analysis.designs.find((design) => concerns(design, finding))?.system.basis.practice;
    const spoken = practice ? inWordsOf(practice, title) : title;
    const clears = outcome.ends.filter((each) => keyOf(each) !== keyOf(finding));
    const brought = [...new Set(outcome.warnings.map(({ check, subject }) => `${check} on ${lastName(subject)}`))];
    return {
      title: `${spoken}${brought.length > 0 ? ` (brings the warning ${brought.join(', ')})` : ''}${outcome.asksForMarks ? ' (needs the marking of its terminals)' : ''}`,
      safe: isSafe,
      ...(isFirst ? { preferred: true } : {}),
      ...(clears.length > 0 ? { clears: clears.map(({ check, subject }) => ({ check, subject })) } : {}),
      edits: edits.map(({ start, end, text }) => {
        const [from, to] = [textDocument.positionAt(start), textDocument.positionAt(end)];
        const place = {
          uri: this.uri,
          offset: start,
          end,
          line: from.line,
          character: from.character,
          endLine: to.line,
          endCharacter: to.character,
        };
        return { place, text };
      }),
    };
  }
}

const declared = ({ title, safe, preferred }: Fix): Omit<Candidate, 'edits'> => ({
  title,
  isSafe: safe,
  isPreferred: preferred ?? false,
});

const isWorkedOut = (way: Way): way is Fix => 'edits' in way;

const concerns = ({ system }: AnalysedDesign, { subject }: Finding): boolean => isOfDesign(subject, system.name);

/** A finding on the text or an error may bring warnings, which are named; anything less must leave less wrong than before. */
const isSound = ({ isGone, errors, lost, isLess }: Outcome): boolean =>
  isGone && errors.length === 0 && lost.length === 0 && isLess;

/** Whether two changes want different things of one place; different properties written beside each other do not clash. */
const clash = (left: Edit, right: Edit): boolean =>
  overlaps(left, right) &&
  left.text !== right.text &&
  !(isInsertion(left) && isInsertion(right) && added(left) !== added(right));

/** What an edit adds: the name of a property, or kind and name of a thing. */
const added = ({ text }: Edit): string | undefined => /[\w-]+(?:\s*:|\s+[\w-]+)/.exec(text)?.[0];

/** Whether another finding stands after the change of one. Of two of one check and thing one is left when any is. */
function isLeft(other: Finding, one: Finding, after: Analysis): boolean {
  const same = standing(after).filter((each) => keyOf(each) === keyOf(other));
  return keyOf(other) === keyOf(one) ? same.length > 0 : same.some(({ severity }) => severity === other.severity);
}

function obstacleOf({ title, outcome }: Tried): Obstacle {
  const [brought] = [...outcome.errors, ...outcome.warnings];
  const [open] = outcome.lost;
  if (!outcome.isGone && !open) return { kind: 'stays', title };
  if (brought)
    return { kind: 'brings', title, check: brought.check, subject: brought.subject, message: brought.message };
  if (open) return { kind: 'open', title, check: open.check, subject: open.subject, missing: open.missing };
  return { kind: 'stays', title };
}

/** Whether a change does all that another does, and more besides. */
const contains = (whole: Proven, { edits }: Proven): boolean =>
  whole.edits.length > edits.length &&
  edits.every((edit) =>
    whole.edits.some(({ start, end, text }) => start === edit.start && end === edit.end && text === edit.text),
  );

/** Whether a change grows conductors and sets besides what another sets to some value alone. */
const isCopperBesides = (whole: Proven, { edits }: Proven): boolean =>
  whole.change.growth > 1 &&
  whole.edits.length > edits.length &&
  edits.every((edit) => whole.edits.some((own) => overlaps(own, edit)));

/**
 * The least costly first, as their check has them where they cost the same; none that does more than is needed, no larger conductors where something less does, and none too heavy where
 * others do.
 */
function offered(proven: readonly Proven[]): readonly Proven[] {
  const sorted = [...proven].sort(
    (left, right) => byCost(left.change, right.change) || Number(right.isPreferred) - Number(left.isPreferred),
  );
  const [first] = sorted;
  if (!first) return [];
  return sorted.filter(
    (each) =>
      each === first ||
      !(
        sorted.some((other) => contains(each, other)) ||
        (isBelowCopper(first.change) && (each.change.growth > MOST_GROWTH || isCopperBesides(each, first))) ||
        (each.change.tier === 'heavy-conductor' && first.change.tier !== 'heavy-conductor')
      ),
  );
}

const lowerFirst = (text: string): string => `${text.charAt(0).toLowerCase()}${text.slice(1)}`;

const lastName = (subject: string): string => withoutDesign(subject) || subject;
