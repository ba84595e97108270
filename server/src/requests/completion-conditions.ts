import { CLOCK_SIGNALS, kindsThat, mayBeLost, mayBurnFuel, mayStore } from '@wattwright/language';
import { CompletionItemKind, InsertTextFormat } from 'vscode-languageserver';
import { type Item, keywords, signalItems } from './completion-items.js';
import type { NamesAround } from './completion-names.js';

/** Verbs that act when there is little in a bank: they start a set, or switch a load off. */
const WHEN_LOW = new Set(['start', 'off']);

/** Conditions of a rule as whole pieces of text, by the banks, sets and supplies of the design; then the words they are made of. */
export function conditionItems(verb: string | undefined, names: NamesAround): Item[] {
  const low = verb === undefined || WHEN_LOW.has(verb);
  const banks = names.of(kindsThat(mayStore));
  const lost = names.of([...kindsThat(mayBeLost), 'link']);
  const ofBanks = banks.flatMap(({ name }) => [
    low
      ? condition(`soc(${name}) < 40 %`, `soc(${name}) < \${1:40 %}`, 'its charge has fallen below a share')
      : condition(`soc(${name}) > 85 %`, `soc(${name}) > \${1:85 %}`, 'its charge has risen above a share'),
    low
      ? condition(
          `voltage(${name}) < 50 V for 1 min`,
          `voltage(${name}) < \${1:50 V} for \${2:1 min}`,
          'its voltage is low',
        )
      : condition(
          `voltage(${name}) > 55 V for 1 min`,
          `voltage(${name}) > \${1:55 V} for \${2:1 min}`,
          'its voltage is high',
        ),
    condition(`current(${name}) < 10 A`, `current(${name}) < \${1:10 A}`, 'what flows into it has fallen'),
  ]);
  return [
    ...ofBanks,
    ...lost.map(({ name }) => condition(`lost(${name})`, `lost(${name})`, 'it is away')),
    ...names
      .of(kindsThat(mayBurnFuel))
      .map(({ name }) => condition(`runTime(${name}) < 1 h`, `runTime(${name}) < \${1:1 h}`, 'it has turned for less')),
    ...[...CLOCK_SIGNALS.keys()].map((name) => condition(`${name} >= 8 h`, `${name} >= \${1:8 h}`, 'the clock')),
    ...keywords('not'),
    ...signalItems(),
  ];
}

const condition = (label: string, text: string, detail: string): Item => ({
  label,
  detail,
  insertText: text,
  insertTextFormat: InsertTextFormat.Snippet,
  kind: CompletionItemKind.Snippet,
});
