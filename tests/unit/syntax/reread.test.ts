import { globSync, readFileSync } from 'node:fs';
import path from 'node:path';
import fc from 'fast-check';
import { type AstNode, type CstNode, EmptyFileSystem, type ParseResult, isAstNode, isReference } from 'langium';
import { describe, expect, it } from 'vitest';
import { type SafeParser, createLanguageServices } from '../../../language/src/index.js';
import { edited, edits } from '../../fuzz/edits.js';
import { textsOf, typings } from '../../fuzz/typing.js';

const root = path.resolve(import.meta.dirname, '../../..');
const TEXTS = globSync(['examples/*/*.watt', 'tests/systems/**/*.watt'], { cwd: root })
  .sort()
  .map((file) => readFileSync(path.join(root, file), 'utf8'));

/** Texts that are edited one after the other; FUZZ_RUNS tries more. */
const RUNS = Number(process.env.FUZZ_RUNS ?? 120);

const services = createLanguageServices(EmptyFileSystem);
const parser = services.wattwright.parser.LangiumParser as SafeParser;

/** Everything a tree says of a text, written down: nodes, leaves with their places, hidden ones too, and how nodes are held. */
function written(result: ParseResult): string {
  const lines: string[] = [];
  const cst = (node: CstNode, depth: number): void => {
    const { offset, end, range, hidden, grammarSource, astNode } = node;
    const { start, end: stop } = range;
    const place = `${offset}..${end} ${start.line}:${start.character}-${stop.line}:${stop.character}`;
    const content = (node as { content?: CstNode[] }).content;
    lines.push(
      `${'.'.repeat(depth)}${content ? 'node' : 'leaf'} ${place} ${hidden ? 'hidden' : ''} ${grammarSource?.$type} ${astNode.$type} ${(node as { tokenType?: { name: string } }).tokenType?.name}`,
    );
    for (const child of content ?? []) {
      if (child.container !== node) lines.push('WRONG CONTAINER');
      cst(child, depth + 1);
    }
  };
  const node = (each: AstNode, depth: number): void => {
    lines.push(
      `${'.'.repeat(depth)}${each.$type} ${each.$containerProperty} ${each.$containerIndex} ${each.$cstNode?.offset} ${each.$cstNode?.end} ${each.$cstNode?.text}`,
    );
    for (const [name, value] of Object.entries(each)) {
      if (name.startsWith('$')) continue;
      for (const [index, item] of (Array.isArray(value) ? value : [value]).entries()) {
        if (isReference(item)) lines.push(`${'.'.repeat(depth)}${name} -> ${item.$refText} ${item.$refNode?.offset}`);
        else if (isAstNode(item)) {
          if (item.$container !== each) lines.push('WRONG OWNER');
          lines.push(`${'.'.repeat(depth)}${name} ${index}`);
          node(item, depth + 1);
        } else lines.push(`${'.'.repeat(depth)}${name} ${index} ${String(item)}`);
      }
    }
  };
  node(result.value, 0);
  cst(result.value.$cstNode!, 0);
  for (const { token, message, name } of result.parserErrors)
    lines.push(
      `${name} ${message} ${token.startOffset} ${token.endOffset} ${token.startLine} ${token.startColumn} ${token.image}`,
    );
  for (const { offset, length, line, column, message } of result.lexerErrors)
    lines.push(`lexer ${offset} ${length} ${line} ${column} ${message}`);
  return lines.join('\n');
}

/** Up to three lines in which two trees differ, each beside what the fresh one says. */
function differences(again: ParseResult, fresh: ParseResult): string[][] {
  const [own, wanted] = [written(again).split('\n'), written(fresh).split('\n')];
  const length = Math.max(own.length, wanted.length);
  const found = Array.from({ length }, (_, index) => [own[index] ?? '', wanted[index] ?? '']);
  return found.filter(([left, right]) => left !== right).slice(0, 3);
}

describe('a text that is read again', () => {
  it('gives the tree of a fresh reading after every change', () => {
    let [changes, grafts, faulty] = [0, 0, 0];
    fc.assert(
      fc.property(fc.constantFrom(...TEXTS), typings, (text, typing) => {
        let result = parser.parse(text);
        for (const now of textsOf(text, typing)) {
          changes += 1;
          const used = result.value.$cstNode;
          result = parser.readAgain(result, now);
          const isGrafted = result.value.$cstNode === used;
          if (isGrafted) grafts += 1;
          if (isGrafted && result.parserErrors.length > 0) faulty += 1;
          expect(differences(result, parser.parse(now))).toEqual([]);
        }
      }),
      { numRuns: RUNS },
    );
    // Otherwise nothing of this has been tried.
    expect(grafts / changes).toBeGreaterThan(0.3);
    expect(faulty / changes).toBeGreaterThan(0.1);
  }, 600_000);

  it('gives the tree of a fresh reading after edits all over the text', () => {
    fc.assert(
      fc.property(fc.constantFrom(...TEXTS), fc.array(edits, { minLength: 1, maxLength: 3 }), (text, rounds) => {
        let result = parser.parse(text);
        let now = text;
        for (const round of rounds) {
          now = edited(now, round);
          result = parser.readAgain(result, now);
          expect(differences(result, parser.parse(now))).toEqual([]);
        }
      }),
      { numRuns: 40 },
    );
  }, 600_000);
});
