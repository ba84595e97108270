import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { drawDesign, handoverPage, handoverSet } from '@wattwright/language';
import { layoutEngine } from '../../server/src/drawing/layout-engine.js';
import { chromium } from '../../server/src/cli/pdf.js';
import { analyseText } from '../helpers/analyse.js';
import { designFiles } from './helpers/design-files.js';
import { STAMP } from './helpers/set-of.js';

const program = chromium();
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const folder = mkdtempSync(path.join(tmpdir(), 'wattwright-axe-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

interface Violation {
  readonly id: string;
  readonly help: string;
  readonly nodes: readonly { readonly html: string }[];
}

/** What axe-core finds wrong with a page in headless Chromium. Its own policy lets no script run, so that the copy has none. */
function violationsOf(page: string): readonly string[] {
  const file = path.join(folder, 'page.html');
  const run = `${axe};axe.run(document,{resultTypes:['violations']}).then(({violations})=>{document.body.textContent='';const p=document.createElement('pre');p.id='axe';p.textContent=encodeURIComponent(JSON.stringify(violations));document.body.append(p)})`;
  const [head, tail] = page.replace(/<meta http-equiv="Content-Security-Policy"[^>]*>/, '').split('</body>');
  writeFileSync(file, `${head!}<script>${run.replaceAll('</script', '<\\/script')}</script></body>${tail!}`);
  const dom = execFileSync(
    program!,
    [
      '--headless',
      '--no-sandbox',
      '--disable-gpu',
      '--disable-dev-shm-usage',
      `--user-data-dir=${path.join(folder, 'profile')}`,
      '--virtual-time-budget=60000',
      '--dump-dom',
      `file://${file}`,
    ],
    { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'], maxBuffer: 1e8 },
  );
  const found = /<pre id="axe">([^<]*)<\/pre>/.exec(dom)?.[1];
  if (found === undefined) throw new Error('axe-core did not end');
  const violations = JSON.parse(decodeURIComponent(found)) as Violation[];
  return violations.map(({ id, help, nodes }) => `${id}: ${help} (${nodes.length}): ${nodes[0]!.html.slice(0, 200)}`);
}

// Rules of WCAG 2 and good practice as axe-core knows them.
describe.skipIf(program === undefined)('axe-core finds nothing wrong with the report of', () => {
  test.each(designFiles)('$file', async ({ texts }) => {
    const analysis = await analyseText(texts);
    const [design] = analysis.designs;
    const drawn = await drawDesign(analysis, design!, layoutEngine());
    expect(violationsOf(handoverPage(handoverSet(analysis, design!, { drawn, stamp: STAMP })))).toEqual([]);
  });

  test('and would find what is wrong', () => {
    const page =
      '<!doctype html><html><head><title>x</title></head><body><main><img src="data:,"></main></body></html>';
    expect(violationsOf(page).join()).toMatch(/image-alt.*html-has-lang|html-has-lang.*image-alt/);
  });
});
