// Holds a tag against every place that names the version; says on one line what differs. Used by the release workflow.
import { readFileSync } from 'node:fs';
import path from 'node:path';

const root = path.resolve(import.meta.dirname, '../..');
const read = (file) => readFileSync(path.join(root, file), 'utf8');
const tag = process.argv[2] ?? '';
const version = tag.replace(/^v/, '');

const wrong = ['package.json', 'language/package.json', 'server/package.json', 'extension/package.json']
  .filter((file) => JSON.parse(read(file)).version !== version)
  .concat(read('server/src/version.ts').includes(`'${version}'`) ? [] : ['server/src/version.ts'])
  .concat(read('CHANGELOG.md').includes(`## ${version}`) ? [] : ['CHANGELOG.md']);
if (!/^v\d+\.\d+\.\d+/.test(tag) || wrong.length > 0) {
  console.error(`the tag ${tag || '(none)'} is no version that ${wrong.join(', ') || 'a release has'} names`);
  process.exitCode = 1;
}
