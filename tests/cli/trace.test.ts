import picocolors from 'picocolors';
import { expect, test } from 'vitest';
import { type AnsweredFinding, CHECKS, answered, findCheck } from '@wattwright/language';
import { jsonText, reportJson } from '../../server/src/cli/output/json.js';
import { prettyReport } from '../../server/src/cli/output/pretty.js';
import { reportSarif } from '../../server/src/cli/output/sarif.js';
import type { CheckReport } from '../../server/src/cli/report.js';
import { diagnosticOf } from '../../server/src/convert/to-lsp.js';
import { analyseText, findingsOf } from '../helpers/analyse.js';
import { againstSarif, againstSchema } from './helpers/schemas.js';

const conflict = async (): Promise<AnsweredFinding> => {
  const [found] = findingsOf(await analyseText(findCheck('rules-conflict')!.docs.failing), 'rules-conflict');
  return answered(found!);
};

const report = (finding: AnsweredFinding): CheckReport => ({
  findings: [finding],
  accepted: [],
  requirements: [],
  readings: [],
  questions: [],
  passes: [],
  files: 1,
  designs: 1,
  notChecked: 0,
  fixed: [],
});

test('the way that shows a fault of rules stands in JSON by its schema, step by step with the state of things', async () => {
  const finding = await conflict();
  const json = JSON.parse(jsonText(reportJson(report(finding)))) as {
    findings: [{ trace: { event: string; state: Record<string, string> }[] }];
  };
  expect(againstSchema('check', json)).toEqual([]);
  const { trace } = json.findings[0];
  expect(trace.length).toBeGreaterThan(1);
  expect(trace.at(-1)!.state).toHaveProperty('Genset');
  expect(trace.at(-1)!.state).toHaveProperty('soc(Bank)');
  const broken = structuredClone(json) as unknown as { findings: [{ trace: unknown[] }] };
  broken.findings[0].trace.push({ event: 'without a state' });
  expect(againstSchema('check', broken)).not.toEqual([]);
});

test('it stands in the terminal as steps, in the editor as related places, and SARIF stays valid', async () => {
  const finding = await conflict();
  const text = prettyReport(report(finding), {
    terminal: { colors: picocolors.createColors(false), width: 200, interactive: false },
    textOf: () => undefined,
    quiet: false,
    questions: false,
    missingFacts: false,
  });
  for (const [step, { event }] of finding.trace!.entries()) expect(text).toContain(`step ${step + 1}   ${event}`);
  const related = diagnosticOf(finding).relatedInformation!.map(({ message }) => message);
  expect(related.some((message) => /^holds in step \d: /.test(message))).toBe(true);
  expect(againstSarif(reportSarif(report(finding), CHECKS))).toEqual([]);
});
