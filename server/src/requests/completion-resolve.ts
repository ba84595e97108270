import { ast, saidValue, fenced } from '@wattwright/language';
import { type CompletionItem, MarkupKind } from 'vscode-languageserver';
import type { WattwrightServices } from '../workspace/analyses.js';
import { documentNamed } from './locate.js';
import { NamesAround } from './completion-names.js';
import { workedMarkdown } from './worked.js';

/** What an item of a list carries, so that more can be told of it once it is looked at. */
export type ItemData =
  | { readonly of: 'part'; readonly uri: string; readonly kind: string; readonly name: string }
  | {
      readonly of: 'quantity';
      readonly uri: string;
      readonly design: string;
      readonly thing: string;
      readonly quantity: string;
    };

/** Properties of a part that a list shows: what it is rated for. */
const MOST_RATINGS = 4;
/** Longer texts of a part are cut in a preview, in lines. */
const MOST_LINES = 25;

/** The first quantities that a part states, as they are written: what tells it from others of its kind. */
export function partDetail({ body, base }: ast.Part): string {
  const own = (body?.properties ?? []).flatMap(({ name, value }) =>
    value && (ast.isQuantityLiteral(value) || ast.isSystemLiteral(value))
      ? [`${name} ${value.$cstNode?.text ?? ''}`]
      : [],
  );
  return own.length > 0 || !base ? own.slice(0, MOST_RATINGS).join(', ') : `as ${base.$refText}`;
}

/** An item with a preview: the text of a part, or the worked calculation of a quantity. */
export function resolved(item: CompletionItem, services: WattwrightServices): CompletionItem {
  const data = item.data as ItemData | undefined;
  const document = documentNamed(services.shared, data?.uri);
  if (!data || !document) return item;
  const names = new NamesAround(services, document, data.of === 'quantity' ? data.design : undefined);
  return data.of === 'part' ? withPreview(item, data, names) : withCalculation(item, data, names);
}

function withPreview(
  item: CompletionItem,
  { kind, name }: ItemData & { of: 'part' },
  names: NamesAround,
): CompletionItem {
  const part = names.parts([kind]).find((each) => each.name === name);
  const text = part?.$cstNode?.text;
  if (text === undefined) return item;
  const lines = text.split('\n');
  const shown = lines.length > MOST_LINES ? [...lines.slice(0, MOST_LINES), '…'] : lines;
  const about = typeof item.documentation === 'string' ? item.documentation : (item.documentation?.value ?? '');
  const value = [about, fenced(shown.join('\n'), 'wattwright')].filter(Boolean).join('\n\n');
  return { ...item, documentation: { kind: MarkupKind.Markdown, value } };
}

function withCalculation(
  item: CompletionItem,
  { uri, thing: name, quantity }: ItemData & { of: 'quantity' },
  names: NamesAround,
): CompletionItem {
  const placed = names.placed(name);
  const known = placed?.context.quantityNames(placed.thing).find((each) => each === quantity);
  if (!placed || !known) return item;
  const result = placed.context.quantity(placed.thing, known);
  if (result.kind !== 'known') {
    const why = result.kind === 'missing' ? `missing ${result.missing.join(', ')}` : result.reason;
    return { ...item, detail: `not known: ${why}` };
  }
  return {
    ...item,
    detail: saidValue(result.derivation),
    documentation: { kind: MarkupKind.Markdown, value: workedMarkdown(result.derivation, uri) },
  };
}
