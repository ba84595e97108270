import {
  CAUTION_SHORT,
  type Derivation,
  type WorkedLine,
  codeSpan,
  escapeMarkdown,
  shownValue,
  workedLines,
} from '@wattwright/language';
import { writtenAt } from '../session.js';
import type { NotComputed } from './json.js';
import { peopleText } from './people-text.js';
import { safeText } from './safe-text.js';

const text = (plain: string): string => escapeMarkdown(peopleText(plain));

function workedItem({ kind, depth, text: said, value }: WorkedLine): string {
  const indent = '  '.repeat(depth);
  switch (kind) {
    case 'value': {
      const { label, shown, remark } = value!;
      return `${indent}- ${label ? `${text(label)} = ` : ''}**${text(shown)}**${remark ? ` (${text(remark)})` : ''}`;
    }
    case 'formula':
      return `${indent}- formula ${codeSpan(safeText(said))}`;
    case 'numbers':
      return `${indent}- with numbers ${codeSpan(safeText(said))}`;
    case 'part':
      return `${indent}- also ${text(said)}`;
    case 'governing':
      return `${indent}- governs: ${text(said)}`;
    case 'source':
      return `${indent}- source: ${text(said)}`;
    case 'note':
      return `${indent}- note: ${text(said)}`;
  }
}

const worked = (derivation: Derivation): string =>
  workedLines(derivation, { placeText: writtenAt }).map(workedItem).join('\n');

export const evaluationMarkdown = (expression: string, derivation: Derivation): string =>
  `${codeSpan(safeText(expression))}\n\n${worked(derivation)}\n`;

export function quantitiesMarkdown(
  quantities: readonly { readonly path: string; readonly derivation: Derivation }[],
  notComputed: readonly NotComputed[],
): string {
  const blocks = [
    '# Computed quantities',
    `*${CAUTION_SHORT}*`,
    quantities
      .map(({ path, derivation }) => `- ${text(path)} = **${text(shownValue(derivation).display)}**`)
      .join('\n'),
    ...quantities.flatMap(({ path, derivation }) => [`## ${text(path)}`, worked(derivation)]),
  ];
  if (notComputed.length > 0)
    blocks.push(
      '## Not computed',
      notComputed
        .map(
          ({ path, missing, reason }) =>
            `- ${text(path)}: ${text(missing ? `missing ${missing.join(', ')}` : (reason ?? ''))}`,
        )
        .join('\n'),
    );
  return `${blocks.filter(Boolean).join('\n\n')}\n`;
}
