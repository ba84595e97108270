import { Ajv2020 } from 'ajv/dist/2020.js';
import ajvDraft04 from 'ajv-draft-04';
import addFormats from 'ajv-formats';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { root } from './program.js';

const read = (file: string): object => JSON.parse(readFileSync(file, 'utf8')) as object;

/** What a document breaks of one of our published schemas; empty when it is valid. */
export function againstSchema(
  name: 'check' | 'eval' | 'calc' | 'explain' | 'report' | 'simulate' | 'solve' | 'diff' | 'parts',
  document: unknown,
): string[] {
  const ajv = new Ajv2020({
    allErrors: true,
    strict: true,
    allowUnionTypes: true,
    strictTypes: false,
    strictRequired: false,
  });
  const validate = ajv.compile(read(path.join(root, `server/schemas/${name}.schema.json`)));
  validate(document);
  return (validate.errors ?? []).map((error) => `${error.instancePath} ${error.message ?? ''}`);
}

/** What a document breaks of the OASIS schema of SARIF 2.1.0 (the rtm.5 text that the dev dependency carries). */
export function againstSarif(document: unknown): string[] {
  const folder = path.dirname(createRequire(import.meta.url).resolve('@microsoft/jest-sarif/package.json'));
  const schema = read(path.join(folder, 'lib/schemas/sarif-2.1.0-rtm.5.json'));
  const ajv = new ajvDraft04.default({ allErrors: true, strict: false, unicodeRegExp: false });
  addFormats.default(ajv);
  const validate = ajv.compile(schema);
  validate(document);
  return (validate.errors ?? []).map((error) => `${error.instancePath} ${error.message ?? ''}`);
}
