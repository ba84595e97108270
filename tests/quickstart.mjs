// `npm run quickstart`: from a fresh clone to findings on screen.
import { existsSync, readdirSync } from 'node:fs';
import path from 'node:path';
import { installIfNeeded, root, run } from './tools/steps.mjs';

const PREFERRED_EXAMPLE = 'field-mistakes';

function stop(text) {
  console.error(`\n${text}`);
  process.exit(1);
}

function exampleFolder() {
  const folders = readdirSync(path.join(root, 'examples'), { withFileTypes: true })
    .filter((entry) => entry.isDirectory())
    .map((entry) => entry.name)
    .sort();
  const name = folders.includes(PREFERRED_EXAMPLE) ? PREFERRED_EXAMPLE : folders[0];
  return name && `examples/${name}`;
}

if ((await installIfNeeded()) !== 0) stop('The packages could not be installed; npm says why above.');

console.log('Building …');
if ((await run('npm', ['run', '--silent', 'build'])).code !== 0) stop('The build failed; the lines above say where.');

const example = exampleFolder();
const program = 'server/dist/wattwright.mjs';
if (!example || !existsSync(path.join(root, program))) stop(`There is nothing to show: no example, or no ${program}.`);

/** @param {string[]} args */
async function show(args) {
  console.log(`\n$ npx wattwright ${args.map((arg) => (/[^\w./-]/.test(arg) ? `'${arg}'` : arg)).join(' ')}\n`);
  return (await run('node', [program, ...args])).code;
}

// Exit code 1 means findings, which is what there is to see; 2 means the call itself failed.
if ((await show(['check', example])) > 1) stop('The example could not be checked.');
if ((await show(['eval', 'ampacity(size: 10 AWG, type: THWN-2, ambient: 40 degC)'])) !== 0)
  stop('The calculation failed.');

console.log(`
That was the example in ${example}. What next:
  npx wattwright new my-design         a starter design of your own
  npx wattwright check my-design       its findings
  npx wattwright explain run-ampacity  what a check guards, and by which source
  npm run package                      wattwright.vsix, to install in VS Code
  npm test                             every test

Results help a qualified person and replace none: local codes, the authority having jurisdiction, the makers'
instructions and licensed practice come first.`);
