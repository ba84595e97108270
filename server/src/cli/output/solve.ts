import {
  type Chosen,
  type ChosenDesign,
  type ConflictPart,
  type HeldBy,
  displayValue,
  formatPair,
  withoutDesign,
} from '@wattwright/language';
import { placeText } from '../session.js';
import { prettyCaution, wrap } from './pretty.js';
import { peopleText } from './people-text.js';
import { safeText } from './safe-text.js';
import type { Terminal } from './terminal.js';

/** What came of the holes of some designs, for people. */
export function prettySolutions(
  designs: readonly ChosenDesign[],
  { terminal, quiet }: { readonly terminal: Terminal; readonly quiet: boolean },
): string {
  if (designs.length === 0) return 'nothing is left open: no value is written as `?`\n';
  const blocks = designs.map((design) => lines(design, terminal).join('\n'));
  return `${[...blocks, ...(quiet ? [] : [prettyCaution(terminal).trimEnd()])].join('\n\n')}\n`;
}

function lines(solved: ChosenDesign, { colors, width }: Terminal): string[] {
  const { design, open, answers, conflict, questions, isSought } = solved;
  const out = [
    colors.bold(peopleText(`${design}: ${open.length} ${open.length === 1 ? 'value' : 'values'} left open`)),
  ];
  const indented = (text: string, by: number): string[] =>
    wrap(peopleText(text), width - by - 2).map((line, index) => `${' '.repeat(index === 0 ? by : by + 2)}${line}`);
  for (const [index, answer] of answers.entries()) {
    if (answers.length > 1 || answer.price || answer.errors > 0 || answer.warnings > 0)
      out.push(`  ${heading(index, answer)}`);
    for (const [path, text] of answer.values) {
      // What is written in place of the `?`.
      out.push(`  ${colors.bold(safeText(`${withoutDesign(path)}: ${text}`))}`);
      const held = answer.heldBy.find((each) => each.path === path);
      if (held) out.push(...heldLines(held).flatMap((line) => indented(line, 4)));
    }
  }
  if (conflict) {
    out.push('  no values hold: these cannot hold together');
    out.push(...conflict.flatMap((part) => conflictLines(part)).flatMap((line) => indented(line, 4)));
  }
  if (!isSought) out.push('  not found within what is tried: narrow the ranges, or leave fewer values open');
  const asked = new Map<string, string[]>();
  for (const { path, question } of questions) asked.set(path, [...new Set([...(asked.get(path) ?? []), question])]);
  for (const [path, texts] of asked) {
    const place = open.find((each) => each.path === path)?.place;
    out.push(
      ...indented(`${withoutDesign(path)} stays open${place ? ` (${placeText(place)})` : ''}: ${texts.join(' ')}`, 2),
    );
  }
  return out;
}

function heading(index: number, { price, errors, warnings }: Chosen): string {
  const facts = [
    ...(price?.unit === undefined
      ? []
      : [
          `${Number(price.price.toFixed(2))} ${price.unit}${price.unpriced > 0 ? `, ${price.unpriced} things without a price` : ''}`,
        ]),
    ...(errors > 0 ? [`${errors} ${errors === 1 ? 'error that no value ends' : 'errors that no value ends'}`] : []),
    `${warnings} ${warnings === 1 ? 'warning' : 'warnings'}`,
  ];
  return `${index + 1}. ${facts.join(', ')}`;
}

function heldLines(held: HeldBy): string[] {
  const { within } = held;
  return [...(within ? [`${within[0]} to ${within[1]} hold; the middle is taken`] : []), ...reasonLines(held)];
}

function reasonLines({ within, next, check, subject, use, share, headline, isOfPrice }: HeldBy): string[] {
  if (next === undefined) return within ? [] : ['no other that was tried is wanted more'];
  if (isOfPrice) return [`${next} would hold as well, at a higher price`];
  if (check === undefined) return [`${next} does not hold together with the other values`];
  const on = subject ? ` on ${withoutDesign(subject) || subject}` : '';
  const used = use && share !== undefined ? `: ${pair(use)} (${Math.round(share * 100)} %)` : '';
  return [
    ...(within ? [] : [`held by ${check}${on}${used}`]),
    ...(headline === undefined ? [] : [`${next}: ${headline}`]),
  ];
}

function pair({ value, limit, sense }: NonNullable<HeldBy['use']>): string {
  const [left, right] =
    typeof value.value === 'object' && typeof limit.value === 'object'
      ? formatPair(value.value, limit.value)
      : [displayValue(value), displayValue(limit)];
  return `${left}, ${sense === 'at-most' ? 'at most' : 'at least'} ${right}`;
}

function conflictLines({ kind, text, check, subject, without }: ConflictPart): string[] {
  const on = subject ? ` on ${withoutDesign(subject) || subject}` : '';
  const line = kind === 'fact' ? `- ${text}` : `- ${check ?? kind}${on}: ${text}`;
  if (!without) return [line];
  return [line, `  without it: ${[...without].map(([path, value]) => `${withoutDesign(path)} ${value}`).join(', ')}`];
}
