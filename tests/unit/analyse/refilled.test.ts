import fc from 'fast-check';
import { type AstNode, AstUtils, URI } from 'langium';
import { NodeFileSystem } from 'langium/node';
import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
import { Refilled, isPlain } from '../../../language/src/analyse/refilled.js';
import type { Analysis } from '../../../language/src/analyse/types.js';
import { openValues } from '../../../language/src/choose/index.js';
import { saidBy } from '../../../language/src/choose/told.js';
import { WrittenValues } from '../../../language/src/choose/written-values.js';
import { propertyOf } from '../../../language/src/equipment/index.js';
import { isProperty } from '../../../language/src/grammar/generated/ast.js';
import { createLanguageServices, loadUsed, offerLibrary } from '../../../language/src/index.js';
import { analyseAs, readAs } from '../../../language/src/propose/trial.js';
import { TODAY } from '../../helpers/analyse.js';

/* Values that go in and out of systems that were read once, held against the texts with these values written out. */

const root = path.resolve(import.meta.dirname, '../../..');
const texts = [
  ...readdirSync(path.join(root, 'examples'), { recursive: true, encoding: 'utf8' }).map((name) =>
    path.join('examples', name),
  ),
  ...readdirSync(path.join(root, 'tests/systems')).map((name) => path.join('tests/systems', name)),
]
  .filter((name) => name.endsWith('.watt'))
  .map((name) => ({ name, text: readFileSync(path.join(root, name), 'utf8') }))
  .filter(({ text }) => /\bdesign\b/.test(text))
  .sort((one, other) => (one.name < other.name ? -1 : 1));

const services = createLanguageServices(NodeFileSystem);
offerLibrary(services);
interface Stated {
  readonly offset: number;
  readonly end: number;
  readonly text: string;
  readonly unit: string;
}

/** What can be left open: values of plain properties. */
function stated(file: AstNode): Stated[] {
  return AstUtils.streamAst(file)
    .filter(isProperty)
    .flatMap((node) => {
      const owner = node.$container.$container as AstNode & { kind?: string };
      const kind = owner.$type === 'Run' ? 'run' : owner.$type === 'Instance' ? owner.kind : undefined;
      const definition = kind === undefined ? undefined : propertyOf(kind, node.name);
      const at = node.value?.$cstNode;
      return definition?.seek && definition.type.type === 'quantity' && at && !node.more?.length
        ? [{ offset: at.offset, end: at.end, text: at.text, unit: definition.type.unit }]
        : [];
    })
    .toArray();
}

const otherValue = ({ text, unit }: Stated, factor: number): string => {
  if (/AWG|mm2/.test(text)) return ['14 AWG', '8 AWG', '4 AWG', '2/0 AWG', '50 mm2'][Math.floor(factor * 2) % 5]!;
  const number = Number.parseFloat(text);
  if (!Number.isFinite(number)) return unit === '' ? '2' : `20 ${unit}`;
  const scaled = Number((number * factor).toPrecision(2));
  const own = text.replace(/^[\d.]+/, '');
  return own.trim() === '' ? String(Math.max(1, Math.round(scaled))) : `${scaled}${own}`;
};

/** Everything an analysis says, in the words of the text as it is with its holes. */
const told = (analysis: Analysis): Record<string, string> =>
  Object.fromEntries(
    [...saidBy(analysis, (place) => ({ ...place, offset: 0 }))].map(([key, { content }]) => [key, content]),
  );

const differences = (quick: Record<string, string>, slow: Record<string, string>): unknown[] =>
  [...new Set([...Object.keys(quick), ...Object.keys(slow)])]
    .filter((key) => quick[key] !== slow[key])
    .map((key) => ({ key, quick: quick[key], slow: slow[key] }));

describe('values that go in and out of systems', () => {
  it.each(texts)('say in $name what the written text says', async ({ name, text }) => {
    const document = services.shared.workspace.LangiumDocumentFactory.fromString(text, URI.file(path.join(root, name)));
    services.shared.workspace.LangiumDocuments.addDocument(document);
    const used = await loadUsed(services.shared, [document], () => true);
    await services.shared.workspace.DocumentBuilder.build([document, ...used], { validation: false });
    let compared = 0;
    const all = stated(document.parseResult.value);
    const ground = { document, services, options: { today: TODAY, scenarios: 'leave' as const } };
    if (all.length === 0) return;
    fc.assert(
      fc.property(
        fc.uniqueArray(fc.nat(all.length - 1), { minLength: 1, maxLength: 3 }),
        fc.array(fc.array(fc.option(fc.constantFrom(0.3, 0.7, 1, 1.5, 4)), { minLength: 3, maxLength: 3 }), {
          minLength: 2,
          maxLength: 3,
        }),
        (indices, fillings) => {
          const chosen = indices.map((index) => all[index]!).sort((one, other) => one.offset - other.offset);
          const written = (values: readonly (string | undefined)[]): string => {
            let result = '';
            let at = 0;
            chosen.forEach(({ offset, end }, index) => {
              result += text.slice(at, offset) + (values[index] ?? '?');
              at = end;
            });
            return result + text.slice(at);
          };
          const holed = readAs(written([]), ground);
          const open = openValues(holed.parseResult.value, holed.uri.toString()).flatMap(({ values }) => values);
          const plain = open.flatMap(({ of, place }) =>
            of.kind === 'property' && of.thingKind !== undefined && isPlain(of, of.thingKind, holed)
              ? [{ ...of, place }]
              : [],
          );
          if (plain.length < chosen.length || open.length !== chosen.length) return;
          const values = new WrittenValues(ground);
          const refilled = new Refilled(holed, services, plain, ground.options, (thing, property, value) =>
            values.of(thing.kind, property, value),
          );
          for (const factors of fillings) {
            const filling = chosen.map((each, index) => {
              const factor = factors[index];
              return factor === null || factor === undefined ? undefined : otherValue(each, factor);
            });
            const quick = refilled.judged(filling);
            if (!quick) continue;
            const slow = analyseAs(written(filling), ground, () => true, 'leave');
            compared += 1;
            expect(differences(told(quick), told(slow))).toEqual([]);
            expect(quick.counts).toEqual({ ...slow.counts });
          }
        },
      ),
      { numRuns: 2 },
    );
    // Most of what is drawn can be compared: a test that skips all would pass.
    if (all.length > 10) expect(compared).toBeGreaterThan(2);
  });
});
