import { type Derivation, type Place, displayValue } from '../derivation/index.js';
import type { Choice, Outcome, Search } from './search.js';
import { NOTHING_TOLD, checkOf, subjectOf } from './told.js';

/** One of the things that cannot hold together. */
export interface ConflictItem {
  readonly kind: 'requirement' | 'check' | 'fact';
  readonly text: string;
  readonly check?: string;
  readonly subject?: string;
  readonly place?: Place;
  /** The best choice where this alone is left out; absent where something else stands in the way as well, and of facts. */
  readonly without?: Choice;
}

/** Facts shown of a conflict at most: those nearest to what fails. */
const MOST_FACTS = 6;

/**
 * The smallest set of checks and requirements that no choice satisfies together: each is left out in turn, and stays out where nothing
 * holds without it either. What is left cannot be made smaller. Its facts are those that its numbers rest on.
 */
export function* conflictOf(blocking: readonly string[], search: Search): Generator<void, readonly ConflictItem[]> {
  const out = new Set<string>();
  for (const key of [...blocking].sort()) {
    const outcome = yield* search.best({ without: new Set([...out, key]) });
    if (outcome.kind === 'none') out.add(key);
  }
  const kept = blocking.filter((key) => !out.has(key)).sort();
  const items: ConflictItem[] = [];
  const facts = new Map<string, ConflictItem>();
  for (const key of kept) {
    const told = search.nearest(key) ?? NOTHING_TOLD;
    const finding = told.findings.find(({ severity }) => severity === 'error') ?? told.findings[0];
    const alone: Outcome = yield* search.best({ without: new Set([key]) });
    const check = finding?.check ?? checkOf(plain(key));
    items.push({
      kind: check === 'requirement-failed' ? 'requirement' : 'check',
      text: finding?.headline ?? told.content.replace(/^asks /, ''),
      check,
      subject: finding?.subject ?? subjectOf(plain(key)),
      ...(finding ? { place: told.written(finding.place) } : {}),
      ...(alone.kind === 'found' ? { without: alone.choice } : {}),
    });
    const sides = finding?.use ? [finding.use.value, finding.use.limit] : Object.values(finding?.numbers ?? {});
    for (const fact of sides.flatMap((side) => [...statedIn(side)])) {
      const place = told.written(fact.place!);
      // The value that was tried is no fact of the design.
      if (search.isOpen(place)) continue;
      const text = `${fact.name}: ${displayValue(fact)}`;
      if (!facts.has(text)) facts.set(text, { kind: 'fact', text, place });
    }
  }
  return [...items, ...[...facts.values()].slice(0, MOST_FACTS)];
}

const plain = (key: string): string => key.replace(/^played:/, '');

/** What a value rests on that is written in the text, nearest first. */
function* statedIn(derivation: Derivation): Generator<Derivation> {
  const seen = new Set<Derivation>();
  let layer: readonly Derivation[] = [derivation];
  while (layer.length > 0) {
    const next: Derivation[] = [];
    for (const each of layer) {
      if (seen.has(each)) continue;
      seen.add(each);
      if (each.place && (each.origin === 'stated' || each.origin === 'assumed') && each.inputs.length === 0) yield each;
      next.push(...each.inputs);
    }
    layer = next;
  }
}
