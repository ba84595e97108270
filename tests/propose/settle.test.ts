import { URI } from 'langium';
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
import { type Analysis, type Settled, CHECKS, analyse, settle } from '../../language/src/index.js';
import { TODAY, createTestServices, finished } from '../helpers/analyse.js';

const folder = path.resolve(import.meta.dirname, '../../examples/field-mistakes');
const FILES = ['charging', 'control', 'shore', 'text', 'wiring'] as const;

/** A file of an example settled, and what is found before and after. */
async function settled(
  name: string,
  change = (text: string): string => text,
): Promise<{ before: Analysis; after: Analysis; result: Settled; again: Settled }> {
  const services = await createTestServices();
  const { LangiumDocumentFactory, LangiumDocuments, DocumentBuilder } = services.shared.workspace;
  const read = (file: string, text: string) => LangiumDocumentFactory.fromString(text, URI.parse(`file:///w/${file}`));
  const parts = read('parts.watt', readFileSync(path.join(folder, 'parts.watt'), 'utf8'));
  const document = read(`${name}.watt`, change(readFileSync(path.join(folder, `${name}.watt`), 'utf8')));
  for (const each of [parts, document]) LangiumDocuments.addDocument(each);
  await DocumentBuilder.build([parts, document], { validation: false });
  const options = { today: TODAY, scenarios: 'leave' } as const;
  const result = finished(settle({ document, services, options }));
  LangiumDocuments.deleteDocument(document.uri);
  const next = read(`${name}.watt`, result.text);
  LangiumDocuments.addDocument(next);
  await DocumentBuilder.build([next], { validation: false });
  return {
    before: analyse(document, services, options),
    after: analyse(next, services, options),
    result,
    again: finished(settle({ document: next, services, options })),
  };
}

const errorsOf = ({ findings }: Analysis): string[] =>
  findings
    .filter(({ severity, accepted }) => severity === 'error' && !accepted)
    .map(({ check, subject }) => `${check} on ${subject}`);

const CONDUCTORS = new Set(CHECKS.filter(({ group }) => group === 'conductors').map(({ id }) => id));

/** Errors of conductors that no size, rating, class or setting ends, and why. */
const STUCK: Readonly<Record<string, string>> = {
  'plug-continuous on Quarry.GenFeed': 'three chargers on one outlet: one of them has to go, or be fed otherwise',
  'unlike-terminals on Trailer.Cord': 'plug and outlet do not mate',
  'run-unprotected on Slips.Wrong': 'joins direct to alternating current',
  'unlike-terminals on Slips.Wrong': 'joins direct to alternating current',
  'two-sources-one-bus on Workshop.AcPanel': 'asks for transfer gear',
  'device-voltage on Workshop.BankFuse': 'no class of fuse known here interrupts what two packs drive at this voltage',
  'interrupt-rating on Workshop.BankFuse': 'the same',
  'device-voltage on Workshop.InvBreaker': 'no class of breaker known here interrupts it at this voltage',
};

describe.each(FILES)('field mistakes in %s, with the preferred proposal of each finding applied', (name) => {
  it('have no more errors than before, and none of conductors that could be ended', { timeout: 600_000 }, async () => {
    const { before, after, result, again } = await settled(name);
    expect(result.steps.length).toBeGreaterThan(0);
    expect(errorsOf(after).length).toBeLessThan(errorsOf(before).length);
    const left = errorsOf(after).filter((each) => CONDUCTORS.has(each.split(' ')[0]!));
    for (const each of left) expect(Object.keys(STUCK)).toContain(each);
    // Nothing changes any more.
    expect(again).toEqual({ text: result.text, steps: [] });
  });
});

describe('a text of which not everything can be read', () => {
  it('is not left with more errors than it had', { timeout: 600_000 }, async () => {
    // With the capacity misspelt nothing of the bank is judged; to spell it right brings all the rest to light.
    const { before, after } = await settled('wiring', (text) => text.replace('rating: 300 A', 'ratng: 300 A'));
    expect(errorsOf(after).length).toBeLessThanOrEqual(errorsOf(before).length);
  });
});
