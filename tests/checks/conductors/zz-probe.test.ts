import { globSync, readFileSync, writeFileSync } from 'node:fs';
import { it } from 'vitest';
import { conductorChecks } from '../../../language/src/checks/conductors/index.js';
import { analyseText } from '../../helpers/analyse.js';
const FACT =
  / {0,3}\b([a-z][A-Za-z]*): (?:"[^"]*"|[^\s}{]+(?: (?:AWG|kcmil|mm2|mohm|degC|Nm|kVA|kW|kA|Ah|hp|mm|mV|A|V|W|m|%)(?!\w))?(?:, L[123])*)/g;
const statuses = async (text: string) => {
  const analysis = await analyseText(text);
  const out = new Map<string, string>();
  for (const { context } of analysis.designs)
    for (const check of conductorChecks) {
      for (const verdict of check.judge(context, [])) {
        const key = `${check.id} ${verdict.subject}`;
        const rank = { failed: 3, 'not-checked': 2, passed: 1 } as const;
        const old = out.get(key) as keyof typeof rank | undefined;
        if (!old || rank[verdict.verdict] > rank[old]) out.set(key, verdict.verdict);
      }
    }
  return { analysis, out };
};
it('probe', async () => {
  const lines: string[] = [];
  const texts: [string, string][] = process.env['PROBE'] === 'systems'
    ? globSync('tests/systems/*.watt').map((f) => [f, readFileSync(f, 'utf8')])
    : conductorChecks.flatMap(({ id, docs }) => [[`${id} F`, docs.failing], [`${id} P`, docs.passing]] as [string, string][]);
  for (const [name, text] of texts) {
    const before = await statuses(text);
    for (const match of text.matchAll(FACT)) {
      const [fact, property] = match as unknown as [string, string];
      if (['basis'].includes(property)) continue;
      const after = await statuses(text.slice(0, match.index) + text.slice(match.index + fact.length));
      if (after.analysis.findings.some((f) => f.check === 'syntax-error')) continue;
      const asked = after.analysis.questions.some((q) => q.missing.some((m) => m.startsWith(property)));
      for (const [key, status] of before.out) {
        if (status === 'passed') continue;
        const now = after.out.get(key);
        if (now === 'failed' || now === 'not-checked' || asked) continue;
        const fresh = [...after.out].filter(([k, s]) => s !== 'passed' && (before.out.get(k) ?? 'passed') === 'passed').map(([k]) => k);
        lines.push(`${name} | -${fact.trim()} | ${key}: ${status} -> ${now ?? 'absent'} | fresh ${fresh.join(', ')}`);
      }
    }
  }
  writeFileSync(process.env['PROBE_OUT']!, lines.join('\n'));
}, 3_000_000);
