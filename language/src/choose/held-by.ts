import type { Finding } from '../analyse/types.js';
import type { Use } from '../checks/index.js';
import { isReading, shareOf } from '../checks/verdicts.js';
import { keyOf } from '../propose/proof.js';
import type { Cost } from './optimum.js';
import type { Choice, Search, TrialOf } from './search.js';
import { type Told, checkOf, differing, subjectOf } from './told.js';

/** What keeps a hole from having the value that would be wanted more. */
export interface HeldBy {
  /** Index of the hole. */
  readonly hole: number;
  /** The first and last value that hold, where the middle was taken. */
  readonly within?: readonly [low: string, high: string];
  /** The value that would be wanted more; absent where there is none. */
  readonly next?: string;
  readonly check?: string;
  readonly subject?: string;
  /** What the value that was chosen uses of the limit; absent where no number is held against another. */
  readonly use?: Use;
  /** The share of the limit that is used: 1 at the limit. */
  readonly share?: number;
  /** What is said of the next value. */
  readonly headline?: string;
  /** Whether only the price speaks against the next value. */
  readonly isOfPrice?: boolean;
}

/** The stretch in which a value may lie where the middle of it was taken. */
export interface Span {
  readonly low: string;
  readonly high: string;
  /** The numbers of the values just beyond its ends. */
  readonly beyond: readonly number[];
}

/** What holds each value of a choice: what is said against the next one that would be wanted more. */
export function* holding(
  choice: Choice,
  spans: ReadonlyMap<number, Span>,
  search: Search,
): Generator<void, readonly HeldBy[]> {
  const held: HeldBy[] = [];
  const here = search.trialOf(choice);
  const own = search.verdictOf(choice);
  for (const [hole, value] of choice.entries()) {
    const span = spans.get(hole);
    const within = span ? { within: [span.low, span.high] as const } : {};
    const wanted = span ? span.beyond[0] : value - 1;
    if (wanted === undefined || wanted < 0) {
      held.push({ hole, ...within });
      continue;
    }
    const neighbour = choice.map((each, index) => (index === hole ? wanted : each));
    const next = search.fillingOf(neighbour)[hole]!;
    const blocked = search.blockedTrialOf(neighbour);
    yield;
    if (blocked) {
      held.push({ hole, ...within, next, ...tightest(here, blocked) });
      continue;
    }
    yield* search.prepare(search.fillingOf(neighbour));
    const verdict = search.verdictOf(neighbour);
    yield;
    const isWorse = verdict.blockedBy.length > 0 || countsMore(verdict.cost, own.cost);
    held.push(
      isWorse
        ? { hole, ...within, next, ...tightest(here, search.trialOf(neighbour)) }
        : { hole, next, isOfPrice: true },
    );
  }
  return held;
}

/** Whether more errors or warnings count against the first. */
const countsMore = ([errors, warnings]: Cost, [fewer, less]: Cost): boolean =>
  errors > fewer || (errors === fewer && warnings > less);

const UNMARKED = 'It would hold only on terminals that are marked for more, which nobody has stated';

type Tightest = Pick<HeldBy, 'check' | 'subject' | 'use' | 'share' | 'headline'>;

/** Of what one analysis says beyond another, that of which most is used already. */
function tightest(here: TrialOf, there: TrialOf): Tightest {
  const [now, then] = [here.said, there.said];
  const worse = differing(now, then).flatMap((key): { readonly key: string; readonly told: Told }[] => {
    const [before, after] = [now.get(key), then.get(key)];
    const isWorse =
      after !== undefined &&
      (after.errors > (before?.errors ?? 0) ||
        (after.isUnmarked && !before?.isUnmarked) ||
        after.warnings > (before?.warnings ?? 0) ||
        (after.isRefused && !before?.isRefused));
    return isWorse ? [{ key, told: after }] : [];
  });
  const all = worse.map(({ key, told }) => {
    const finding = worst(told.findings);
    const margin = useOf(here, key);
    const share = margin ? shareOf(margin) : undefined;
    return { key, finding, margin, share, isError: told.errors > 0, isUnmarked: told.isUnmarked };
  });
  all.sort(
    (left, right) =>
      Number(right.isError) - Number(left.isError) ||
      (right.share ?? -1) - (left.share ?? -1) ||
      (left.key < right.key ? -1 : 1),
  );
  const [first] = all;
  if (!first) return {};
  const [check, subject] = first.finding
    ? [first.finding.check, first.finding.subject]
    : [checkOf(first.key), subjectOf(first.key)];
  return {
    check,
    subject,
    ...(first.margin && first.share !== undefined && Number.isFinite(first.share) && !isReading(first.margin.value)
      ? { use: first.margin, share: first.share }
      : {}),
    ...(first.finding ? { headline: first.finding.headline } : {}),
    ...(first.isUnmarked && !first.finding ? { headline: UNMARKED } : {}),
  };
}

const worst = (findings: readonly Finding[]): Finding | undefined =>
  findings.find(({ severity }) => severity === 'error') ?? findings.find(({ severity }) => severity === 'warning');

/** What a check and thing, or a requirement, uses of its limit; of several the tightest. */
function useOf({ analysis, requirementAt }: TrialOf, key: string): Use | undefined {
  const requirement = requirementAt(key);
  if (requirement?.use) return requirement.use;
  const own = analysis.margins.filter((margin) => keyOf(margin) === key).map(({ use }) => use);
  return own.sort((left, right) => shareOf(right) - shareOf(left))[0];
}
