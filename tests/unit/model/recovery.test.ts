import { globSync, readFileSync } from 'node:fs';
import path from 'node:path';
import fc from 'fast-check';
import { CstUtils, type LangiumDocument, URI } from 'langium';
import { beforeAll, describe, expect, it } from 'vitest';
import { type LanguageServices, ast } from '../../../language/src/index.js';
import { createTestServices, analyseText, findingsOf } from '../../helpers/analyse.js';

const root = path.resolve(import.meta.dirname, '../../../examples');
/** Texts without a syntax error. */
const TEXTS = globSync('*/*.watt', { cwd: root })
  .filter((file) => !file.endsWith('text.watt'))
  .sort()
  .map((file) => readFileSync(path.join(root, file), 'utf8'));

/** Pieces that a slip of the hand leaves in a text. */
const PIECES = ['}', '{', '(', ')', ':', ',', '->', '=', 'run', 'load', 'when', 'of', '5 A', '?', 'x', '"', '//', '%'];

let services: LanguageServices;

beforeAll(async () => {
  services = await createTestServices();
});

const parse = (text: string): LangiumDocument =>
  services.shared.workspace.LangiumDocumentFactory.fromString(text, URI.parse('file:///workspace/slip.watt'));

/** A place in a text, as a share of its length. */
const anywhere = fc.integer({ min: 0, max: 9999 }).map((each) => each / 10_000);

interface Member {
  readonly name: string;
  readonly from: number;
  readonly to: number;
}

/** Things, runs, links, controls, scenarios and requirements of all designs, as they stand in the text. */
function membersOf(document: LangiumDocument): Member[] {
  const file = document.parseResult.value;
  if (!ast.isFile(file)) return [];
  return file.declarations.filter(ast.isDesign).flatMap((design) =>
    (design.members ?? []).flatMap((member) => {
      const written = member.$cstNode;
      const { name } = member as { name?: string };
      return written && name !== undefined
        ? [{ name: `${design.name}.${name}`, from: written.offset, to: written.end }]
        : [];
    }),
  );
}

describe('recovery from a slip', () => {
  it('reads every member that the slip does not touch', () => {
    const read = new Map<string, { members: Member[]; tokens: { offset: number; end: number }[] }>();
    for (const text of TEXTS) {
      const document = parse(text);
      const tokens = [...CstUtils.flattenCst(document.parseResult.value.$cstNode!)].filter(({ hidden }) => !hidden);
      read.set(text, { members: membersOf(document), tokens });
    }
    let members = 0;
    let lost = 0;
    let hit = 0;
    let costly = 0;
    let slips = 0;
    fc.assert(
      fc.property(
        fc.constantFrom(...TEXTS),
        anywhere,
        fc.constantFrom('drop', 'double', 'write', 'swap'),
        fc.constantFrom(...PIECES),
        (text, where, what, piece) => {
          const { members: before, tokens } = read.get(text)!;
          const index = Math.floor(where * tokens.length);
          const [token, next] = [tokens[index]!, tokens[index + 1] ?? tokens[index]!];
          const own = text.slice(token.offset, token.end);
          const put = {
            drop: '',
            double: `${own} ${own}`,
            write: `${own} ${piece} `,
            swap: next === token ? own : `${text.slice(next.offset, next.end)} ${own}`,
          }[what];
          const end = what === 'swap' ? next.end : token.end;
          const slipped = `${text.slice(0, token.offset)}${put}${text.slice(end)}`;
          const after = new Set(membersOf(parse(slipped)).map(({ name }) => name));
          const touched = ({ from, to }: Member): boolean => from <= end && token.offset <= to;
          const whole = before.filter((member) => !touched(member));
          members += whole.length;
          hit += before.filter((member) => touched(member) && !after.has(member.name)).length;
          const gone = whole.filter(({ name }) => !after.has(name)).length;
          lost += gone;
          slips += 1;
          if (gone > 0) costly += 1;
        },
      ),
      { numRuns: 600 },
    );
    console.info(`${lost} of ${members} members lost, in ${costly} of ${slips} slips`);
    // Measured: 0.04 % of the members, in one of 2000 slips with other seeds. What is left is a design that loses its name: its members are read, but under no name.
    expect(lost / members).toBeLessThan(0.003);
    expect(costly / slips).toBeLessThan(0.005);
    // Of those that a slip hits some lose their name: the count can tell.
    expect(hit).toBeGreaterThan(5);
  });

  it('keeps the members of a design that loses its name', () => {
    for (const text of TEXTS) {
      const [first] = /\bdesign +\w+ /.exec(text) ?? [];
      if (first === undefined) continue;
      const inside = (of: string): string[] => membersOf(parse(of)).map(({ name }) => name.replace(/^[^.]*\./, ''));
      expect(inside(text).length).toBeGreaterThan(0);
      expect(inside(text.replace(first, 'design '))).toEqual(inside(text));
    }
  });

  it('tells a slip in few messages', async () => {
    const counts: number[] = [];
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom(...TEXTS.filter((text) => text.length < 9000)),
        anywhere,
        fc.constantFrom(...PIECES),
        async (text, where, piece) => {
          const at = text.indexOf('\n', Math.floor(where * text.length));
          const slipped = `${text.slice(0, at)} ${piece} ${text.slice(at)}`;
          counts.push(findingsOf(await analyseText(slipped), 'syntax-error').length);
        },
      ),
      { numRuns: 40 },
    );
    console.info(
      `messages of a slip: ${Math.max(...counts)} at most, ${counts.reduce((a, b) => a + b, 0) / counts.length} on average`,
    );
    expect(Math.max(...counts)).toBeLessThanOrEqual(2);
  });
});
