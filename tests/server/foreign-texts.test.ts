import fc from 'fast-check';
import { type Token, lexer } from 'marked';
import { describe, expect, test } from 'vitest';
import { codeSpan, commentMarkdown, escapeMarkdown, fenced } from '../../language/src/index.js';
import { folderInServer } from '../helpers/server-in-process.js';

/*
 * A design may come from a stranger. What stands in it is shown as Markdown in the editor; nothing of it may be fetched, followed or run.
 * The reader of Markdown here is the one that editors of this family use.
 */

/** Everything active in a text: images, links and HTML, as a reader of Markdown finds them. */
function active(markdown: string): string[] {
  const found: string[] = [];
  const search = (tokens: readonly Token[]): void => {
    for (const token of tokens) {
      if (['image', 'link', 'html', 'def'].includes(token.type)) found.push(`${token.type} ${token.raw}`);
      const {
        tokens: inner,
        items,
        header,
        rows,
      } = token as unknown as {
        tokens?: Token[];
        items?: Token[];
        header?: { tokens: Token[] }[];
        rows?: { tokens: Token[] }[][];
      };
      search(inner ?? []);
      search(items ?? []);
      for (const cell of [...(header ?? []), ...(rows ?? []).flat()]) search(cell.tokens);
    }
  };
  search(lexer(markdown, { gfm: true, breaks: true }));
  return found;
}

const HOSTILE = [
  '![seen](https://example.invalid/seen.png)',
  '![seen][pixel]\n\n[pixel]: https://example.invalid/seen.png',
  '<img src="https://example.invalid/seen.png">',
  '<img\nsrc="https://example.invalid/seen.png"\n>',
  '<script>alert(1)</script><!-- x --><?x?><![CDATA[x]]>',
  '[text](https://example.invalid "title") [command](command:workbench.action.quit)',
  '[text][ref] [ref]\n\n[ref]: <https://example.invalid>',
  'https://example.invalid/a www.example.invalid <https://example.invalid> mailto:a@example.invalid a@example.invalid',
  '`code` ``two`` `open ![x](https://example.invalid)\n\n` close',
  '\\`![x](https://example.invalid)\\`',
  '```\n![x](https://example.invalid)\n```\n![y](https://example.invalid)',
  '    ![x](https://example.invalid)\n\n\t<b>x</b>',
  '> ![x](https://example.invalid)\n- ![x](https://example.invalid)\n1. <b>x</b>\n# <b>x</b>',
  '| a |\n| - |\n| ![x](https://example.invalid) |',
  '&lt;img src=x&gt; &#60;b&#62; &#91;x&#93;(https://example.invalid)',
  '*/![x](https://example.invalid)/*',
];

const fragment = fc.constantFrom(
  ...[
    '![',
    '](',
    ')',
    '[',
    ']',
    '<',
    '>',
    '</b>',
    '<b ',
    '`',
    '``',
    '\\',
    '\n',
    '\n\n',
    '    ',
    '- ',
    '> ',
    '|',
    '#',
    '---',
  ],
  ...[
    'http://',
    'https://e.invalid/x',
    'www.e.invalid',
    'a@e.invalid',
    'x',
    ' ',
    '&lt;',
    '!',
    '"',
    ':',
    '~~~',
    '$',
    '_',
    '*',
  ],
);
const hostile = fc.oneof(
  fc.constantFrom(...HOSTILE),
  fc.array(fragment, { maxLength: 24 }).map((parts) => parts.join('')),
);

describe('texts of a stranger', () => {
  test('are found by the search of this test when they are not made harmless', () => {
    for (const text of HOSTILE.slice(0, 8)) expect(active(text), text).not.toEqual([]);
  });

  test.each([
    ['as a doc comment', commentMarkdown],
    ['as a text', escapeMarkdown],
    ['as code in a line', codeSpan],
    ['as a block of code', (text: string): string => fenced(text, 'watt')],
    ['in an item of a list', (text: string): string => `- x ${escapeMarkdown(text)} ${codeSpan(text)} *(x)*`],
    ['in a cell of a table', (text: string): string => `| a |\n| --- |\n| ${escapeMarkdown(text)} |`],
  ])('hold nothing active %s', (_as, made) => {
    for (const text of HOSTILE) expect(active(made(text)), text).toEqual([]);
    fc.assert(
      fc.property(hostile, hostile, (text, other) => {
        const before = text.length % 2 === 0 ? '**head**\n\n' : '';
        expect(active(`${before}${made(text)}\n\n${made(`${text}${other}`)}\n\nend`)).toEqual([]);
      }),
      { numRuns: 1500, seed: 7 },
    );
  });

  test('keep what a reader needs', () => {
    expect(commentMarkdown('Two banks.\n\n- one\n- `two`')).toBe('Two banks.\n\n- one\n- `two`');
    expect(commentMarkdown('See [the page](https://example.invalid/a).')).toBe(
      'See the page `https://example.invalid/a`.',
    );
    expect(commentMarkdown('![a photo](https://example.invalid/a.png)')).toBe('a photo');
    expect(commentMarkdown('Up to <b>5 A</b>, if I < 6 A')).toBe('Up to 5 A, if I &lt; 6 A');
  });

  test('of any length are shown soon: the work grows with what is shown', () => {
    for (const piece of ['[', '![', '<a', '`', '*', 'www.'])
      expect(commentMarkdown(piece.repeat(1_000_000)).length).toBeLessThan(100_000);
  });

  test('hold nothing active in any hover', async () => {
    for (const text of HOSTILE) {
      const comment = text.replaceAll('*/', '* /');
      const inString = text.replaceAll(/["\\\n]/g, ' ');
      const design = `/** ${comment} */
part battery Pack "${inString}" extends LithiumIronPhosphate { voltage: 51.2 V   /* ${comment} */ cells: 16   note: "${inString}" }
/** ${comment} */
let margin = 5 A /* ${comment} */ + 1 A
/** ${comment} */
profile Days "${inString}" { 06:00..09:00: /* ${comment} */ 100 % }
/** ${comment} */
design House "${inString}" {
  basis: nec
  /** ${comment} */
  battery Bank "${inString}" : Pack { capacity: /* ${comment} */ 280 Ah   parallel: assumed 2 }
  load Lamp "${inString}" { power: 5 W   supply: dc   profile: Days   note: "${inString}" }
  /** ${comment} */
  run Feed "${inString}": Bank -> Lamp { size: 6 AWG   length: 2 m /* ${comment} */ * 1 }
  require Feed.current /* ${comment} */ < margin because "${inString}"
  reading Bank.voltage = 52 V on 2026-01-01 "${inString}"
  accept bank-voltage on Bank because "${inString}"
  scenario S "${inString}" { duration: 1 d   soc(Bank): 90 %   weather: "${inString}"   require min(soc(Bank)) /* ${comment} */ > 5 % }
}
`;
      const { server, documents } = await folderInServer({ 'd.watt': design });
      const document = documents.get('d.watt')!;
      const { DocumentBuilder } = server.shared.workspace;
      await DocumentBuilder.build([document], { validation: true });
      let hovers = 0;
      for (let offset = 0; offset < design.length; offset += 2) {
        const hover = await server.wattwright.lsp.HoverProvider!.getHoverContent(document, {
          textDocument: { uri: document.uri.toString() },
          position: document.textDocument.positionAt(offset),
        });
        if (!hover) continue;
        hovers += 1;
        const { value } = hover.contents as { value: string };
        // Links to the project's own pages are its own texts.
        expect(
          active(value).filter((each) => !/^link \[\w+\]\(wattwright-explain:\/[\w.%?~-]+\)$/.test(each)),
          value,
        ).toEqual([]);
      }
      expect(hovers).toBeGreaterThan(50);
    }
  });
});
