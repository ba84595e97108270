import { readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
import { analyseText } from '../helpers/analyse.js';

const root = path.resolve(import.meta.dirname, '../..');
const readme = readFileSync(path.join(root, 'README.md'), 'utf8');
const block = (language: string): string => new RegExp(`\`\`\`${language}\\n(.*?)\`\`\``, 's').exec(readme)?.[1] ?? '';

describe('the tour of the README', () => {
  it('shows exactly the findings its design has, at their places', async () => {
    const analysis = await analyseText({ 'boathouse.watt': block('watt') });
    // What has one cause stands under the finding that leads.
    const found = analysis.findings
      .filter(({ severity, cause }) => severity !== 'info' && !cause)
      .map(
        ({ place, severity, check, headline }) =>
          `boathouse.watt:${place.line + 1}:${place.character + 1} ${severity} ${check}: ${headline}`,
      );
    const shown = block('text').split('\n');
    expect(shown.filter((line) => line.startsWith('boathouse.watt'))).toEqual(found);
    const led = analysis.findings.filter(({ cause }) => cause).map(({ check }) => check);
    expect(shown).toContain(`   also     ${led.join(', ')}`);
    const [leading] = analysis.findings.filter(({ severity, cause }) => severity === 'error' && !cause);
    expect(shown).toContain(`   why      ${leading!.why}`);
    expect(shown).toContain(`   rule     ${leading!.rule}`);
    expect(shown).toContain(`   assumes  ${leading!.assumes.join('; ')}`);
  });

  it('meets its requirement, and asks for one fact', async () => {
    const analysis = await analyseText({ 'boathouse.watt': block('watt') });
    expect(analysis.requirements.map(({ holds }) => holds)).toEqual([true]);
    expect(analysis.questions.flatMap(({ missing }) => missing).join()).toContain('RectFuse');
  });

  it('is free of findings once the fixes it names are made', async () => {
    const mended = block('watt')
      .replace('size: 4 AWG', 'size: 3/0 AWG')
      .replace('> 44 %', '> 50 %')
      .replace('precharge: yes', 'precharge: yes   onTime: 1.8 h')
      .replace('RectFuse -> DcBus', 'RectFuse @ 1.9 m -> DcBus');
    const analysis = await analyseText({ 'boathouse.watt': mended });
    expect(analysis.findings.map(({ told }) => told)).toEqual([]);
  });

  it('links only to files that are there', () => {
    for (const [, target] of readme.matchAll(/\]\((?!https?:)([^)#]+)\)/g))
      expect(() => readFileSync(path.join(root, target!))).not.toThrow(/ENOENT/);
  });
});
