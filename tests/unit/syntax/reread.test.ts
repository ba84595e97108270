import { globSync, readFileSync } from 'node:fs';
import path from 'node:path';
import fc from 'fast-check';
import { type AstNode, type CstNode, EmptyFileSystem, type ParseResult, isAstNode, isReference } from 'langium';
import { describe, expect, it } from 'vitest';
import { type SafeParser, createLanguageServices } from '../../../language/src/index.js';
import { edited, edits } from '../../fuzz/edits.js';

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

/** What people type, letter by letter, or paste. */
const typed = fc.oneof(
  {
    weight: 8,
    arbitrary: fc.constantFrom(
      ...['5', ' ', '\n', 'x', 'W', ',', ':', '\r\n', '\u2028', 'é', '😀', '×', '#', '?', '-', '.', '2023', ', 4 V'],
      ...['length: 3 m', '  load Lamp { power: 5 W }\n', '// note\n', '/* note */', 'run Feed: A -> B', 'basis: iec'],
      ...['require soc(Bank) > 3 %\n', 'let x = { 1 A: 2 V }', 'part P of Q {}', 'use "a"', ' } load Other {'],
    ),
  },
  { weight: 1, arbitrary: fc.constantFrom('"', '}', '{', '/*', '*/', '//', 'design Other {', '}\n}\n') },
  { weight: 1, arbitrary: fc.string({ unit: 'grapheme', maxLength: 3 }) },
);

/** Something typed or removed at one place, from which the next change is not far. */
const typing = fc.record({
  jump: fc.oneof({ weight: 1, arbitrary: fc.nat(9999) }, { weight: 3, arbitrary: fc.constant(undefined) }),
  by: fc.integer({ min: -30, max: 30 }),
  removed: fc.oneof({ weight: 3, arbitrary: fc.constant(0) }, fc.nat(3), fc.nat(60)),
  text: fc.oneof({ weight: 3, arbitrary: typed }, fc.constant('')),
});

const typings = fc.array(typing, { minLength: 1, maxLength: 12 });

describe('a text that is read again', () => {
  it('gives the tree of a fresh reading after every change', () => {
    let [changes, grafts, faulty] = [0, 0, 0];
    fc.assert(
      fc.property(fc.constantFrom(...TEXTS), fc.nat(9999), typings, (text, start, rounds) => {
        let result = parser.parse(text);
        const before: string[] = [];
        let now = text;
        let place = Math.floor((start / 10_000) * now.length);
        for (const { jump, by, removed, text: added } of rounds) {
          if (jump !== undefined) place = Math.floor((jump / 10_000) * now.length);
          place = Math.min(now.length, Math.max(0, place + by));
          before.push(now);
          // Now and then a change is taken back.
          now =
            before.length > 3 && removed === 2
              ? before.at(-2)!
              : now.slice(0, place) + added + now.slice(place + removed);
          place = Math.min(now.length, place + added.length);
          changes += 1;
          const used = result.value;
          result = parser.readAgain(result, now);
          if (result.value.$cstNode === used.$cstNode) grafts += 1;
          if (result.value.$cstNode === used.$cstNode && result.parserErrors.length > 0) faulty += 1;
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
