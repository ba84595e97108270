import { CHECKS, type Failed, type Fix, NO_LIMIT, findCheck } from '../checks/index.js';
import type { Place } from '../derivation/index.js';
import { nearest } from '../model/nearest.js';
import type { Accept, System } from '../model/types.js';
import { finding } from './findings.js';
import type { Finding } from './types.js';

/** Whether a date as `YYYY-MM-DD` lies before today. */
export const isPast = (date: string | undefined, today: string): boolean => date !== undefined && date < today;

/** Sets aside what designs accept. A waiver speaks of one check on one thing; past its date it no longer counts. */
export class Waivers {
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
        (candidate) => findCheck(candidate.check)?.id === each.check && subjectFits(system, candidate, each.subject),
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

type Told = Pick<Failed, 'headline' | 'why' | 'advice'>;

function acceptFinding(system: System, accept: Accept, isUsed: boolean, today: string): Finding[] {
  const fail: Fail = (id: string, told: Told, place: Place, fixes = []) => {
    const check = findCheck(id);
    return check
      ? [finding(check, { verdict: 'failed', subject: system.name, place, ...told, use: NO_LIMIT, fixes })]
      : [];
  };
  if (!findCheck(accept.check)) {
    const meant = nearest(
      accept.check,
      CHECKS.map(({ id }) => id),
    );
    return fail(
      'unused-accept',
      {
        headline: `There is no check \`${accept.check}\``,
        ...(meant.length > 0 ? { why: `did you mean \`${meant[0]}\`?` } : {}),
      },
      accept.checkPlace,
      meant.map((id) => ({
        title: `Change to \`${id}\``,
        safe: false,
        edits: [{ place: accept.checkPlace, text: id }],
      })),
    );
  }
  return [...renamed(accept, fail), ...ofUse(system, accept, isUsed, today, fail)];
}

type Fail = (id: string, told: Told, place: Place, fixes?: Failed['fixes']) => Finding[];

/** Its check has another id now: the old one works, and is told once. */
function renamed({ check, checkPlace }: Accept, fail: Fail): Finding[] {
  const { id } = findCheck(check)!;
  if (id === check) return [];
  const fix: Fix = { title: `Change to \`${id}\``, safe: true, edits: [{ place: checkPlace, text: id }] };
  return fail('renamed-check', { headline: `\`${check}\` is now called \`${id}\`` }, checkPlace, [fix]);
}

function ofUse(system: System, accept: Accept, isUsed: boolean, today: string, fail: Fail): Finding[] {
  const about = accept.subject ? ` on ${accept.subject}` : '';
  const remove = (safe: boolean): Fix[] => [
    { title: 'Remove this waiver', safe, edits: [{ place: accept.place, text: '' }] },
  ];
  if (!accept.reason)
    return fail(
      'unused-accept',
      {
        headline: `The waiver of \`${accept.check}\`${about} gives no reason, so it does not count`,
        advice: 'Write `because "…"` behind it.',
      },
      accept.place,
    );
  if (!isOnSomething(system, accept)) return [];
  if (!isUsed)
    return fail(
      'unused-accept',
      {
        headline: `The waiver of \`${accept.check}\`${about} silences nothing`,
        why: 'the check finds nothing there',
      },
      accept.place,
      remove(true),
    );
  if (isPast(accept.until, today))
    return fail(
      'expired-accept',
      {
        headline: `The waiver of \`${accept.check}\`${about} ended on ${accept.until}`,
        why: `today is ${today}`,
        advice: 'Fix the finding, or give a new date and reason.',
      },
      accept.place,
      remove(false),
    );
  return [];
}
