import { analyse } from '../analyse/analyse.js';
import type { Analysis, Finding } from '../analyse/types.js';
import { edited, editsIn } from './edits.js';
import { Effort } from './effort.js';
import { isOfText, keyOf, standing } from './proof.js';
import { Proposer } from './proposer.js';
import { isRemoval, isUnderstood } from './safe-fixes.js';
import { type Ground, readAs } from './trial.js';

/** A change that has been made. */
export interface Step {
  readonly check: string;
  readonly subject: string;
  readonly title: string;
}

/** A text after the preferred proposal of each finding has been applied until nothing changed. */
export interface Settled {
  readonly text: string;
  readonly steps: readonly Step[];
}

/** Passes over all findings at most: what one change brings up, the next pass mends. */
const MOST_PASSES = 4;

interface State {
  readonly text: string;
  readonly errors: number;
  readonly steps: readonly Step[];
}

const RANK = { error: 0, warning: 1, info: 2 } as const;

/** What cannot be read first, since it hides the rest; then the worst. */
const byUrgency = (left: Finding, right: Finding): number =>
  Number(isOfText(right)) - Number(isOfText(left)) || RANK[left.severity] - RANK[right.severity];

/**
 * Applies the preferred proposal of each finding of a file, the worst first, until nothing changes. Each leaves less wrong than before, so
 * it comes to an end; what it ends with never has more errors than it began with. Yields after each try.
 */
export function* settle(ground: Ground, effort = new Effort()): Generator<void, Settled> {
  const options = { ...ground.options, scenarios: 'leave' as const };
  let document = ground.document;
  let analysis = analyse(document, ground.services, options);
  const errorsOf = (of: Analysis): number => standing(of).filter(({ severity }) => severity === 'error').length;
  const allowed = errorsOf(analysis);
  const states: State[] = [{ text: document.textDocument.getText(), errors: allowed, steps: [] }];
  for (let pass = 0; pass < MOST_PASSES; pass += 1) {
    const left = new Set<string>();
    let isChanged = false;
    let proposer = new Proposer(analysis, { ...ground, document, options }, effort);
    while (!effort.isSpent) {
      const finding = [...standing(analysis)]
        .sort(byUrgency)
        .find((each) => each.ways.length > 0 && !left.has(`${keyOf(each)} ${each.message}`));
      if (!finding) break;
      const { proposals } = yield* proposer.answer(finding);
      // What nothing seems to use may be meant by a name that is misspelt.
      const isKept = isOfText(finding) && !isUnderstood(analysis.findings);
      const fix = proposals.find((each) => !(isKept && isRemoval(each)));
      const text = document.textDocument.getText();
      const edits = fix && editsIn(document.uri.toString(), text, fix.edits);
      if (!fix || !edits) {
        left.add(`${keyOf(finding)} ${finding.message}`);
        continue;
      }
      isChanged = true;
      document = readAs(edited(text, edits), ground);
      analysis = analyse(document, ground.services, options);
      proposer = new Proposer(analysis, { ...ground, document, options }, effort);
      const step = { check: finding.check, subject: finding.subject, title: fix.title };
      states.push({
        text: document.textDocument.getText(),
        errors: errorsOf(analysis),
        steps: [...states.at(-1)!.steps, step],
      });
    }
    if (!isChanged) break;
  }
  // What becomes readable shows what is wrong with it; more errors than at the beginning are not left behind.
  const last = states.findLast(({ errors }) => errors <= allowed)!;
  return { text: last.text, steps: last.steps };
}
