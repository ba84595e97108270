// Writes language/src/library/generated/library.ts from language/library/*.watt, so that the standard library travels
// inside the bundles and needs no file system at run time.
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';

const packageFolder = path.resolve(import.meta.dirname, '..');
const libraryFolder = path.join(packageFolder, 'library');
const target = path.join(packageFolder, 'src/library/generated/library.ts');

const names = existsSync(libraryFolder)
  ? readdirSync(libraryFolder)
      .filter((name) => name.endsWith('.watt'))
      .sort()
  : [];
const rows = names.map((name) => {
  const text = readFileSync(path.join(libraryFolder, name), 'utf8').replaceAll('\r\n', '\n');
  return `  { name: ${JSON.stringify(name)}, text: ${JSON.stringify(text)} },\n`;
});
const source = `// Made by build/embed-library.mjs from library/*.watt. Do not edit.
export const libraryFiles: readonly { readonly name: string; readonly text: string }[] = [
${rows.join('')}];
`;

mkdirSync(path.dirname(target), { recursive: true });
if (!existsSync(target) || readFileSync(target, 'utf8') !== source) writeFileSync(target, source);
console.log(`standard library: ${names.length} files embedded`);
