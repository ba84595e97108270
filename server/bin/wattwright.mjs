#!/usr/bin/env node
// Starts the command line. What stands here has to be understood by every Node that knows modules, so that an older one is told what is
// needed instead of failing on the first line that it cannot read.
import { existsSync } from 'node:fs';

const LEAST = [20, 19];
const [major, minor] = process.versions.node.split('.').map(Number);
const bundle = new URL('../dist/wattwright.mjs', import.meta.url);

if (major < LEAST[0] || (major === LEAST[0] && minor < LEAST[1])) {
  process.stderr.write(`wattwright: Node ${LEAST.join('.')} or newer is needed; this is ${process.versions.node}\n`);
  process.exitCode = 2;
} else if (!existsSync(bundle)) {
  process.stderr.write('wattwright: it is not built yet; run `npm run build` first\n');
  process.exitCode = 2;
} else {
  await import(bundle.href);
}
