import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';

const EXAMPLES = path.resolve(import.meta.dirname, '../../../examples');

/** Every file of the examples with a design in it, first among what is beside it. */
export const designFiles: readonly { readonly file: string; readonly texts: Readonly<Record<string, string>> }[] =
  readdirSync(EXAMPLES).flatMap((folder) => {
    const names = readdirSync(path.join(EXAMPLES, folder)).filter((name) => name.endsWith('.watt'));
    const texts = new Map(names.map((name) => [name, readFileSync(path.join(EXAMPLES, folder, name), 'utf8')]));
    return names
      .filter((name) => /^design /m.test(texts.get(name)!))
      .map((name) => ({
        file: `${folder}/${name}`,
        texts: Object.fromEntries(
          [name, ...names.filter((other) => other !== name)].map((each) => [each, texts.get(each)!]),
        ),
      }));
  });
