// `npm run fuzz -- --minutes N [--seed S]`: tries random edits, texts, scenarios, calls and talks with the server for so long. What
// breaks a promise is made smaller and kept under tests/fuzz/found, where `npm test` tries it again.
import { parseArgs } from 'node:util';
import { environment, run } from '../tools/steps.mjs';

const usage = 'say `npm run fuzz -- --minutes N [--seed S]`, with a number of minutes above 0 and a whole seed';

function asked() {
  try {
    const { values } = parseArgs({ options: { minutes: { type: 'string' }, seed: { type: 'string' } } });
    const minutes = Number(values.minutes ?? '1');
    const seed = Number(values.seed ?? '20270101');
    return minutes > 0 && Number.isFinite(minutes) && Number.isInteger(seed) ? { minutes, seed } : undefined;
  } catch {
    return undefined;
  }
}

const call = asked();
if (!call) {
  console.error(usage);
  process.exit(2);
}
const env = {
  ...environment,
  WATTWRIGHT_FUZZ_MINUTES: String(call.minutes),
  WATTWRIGHT_FUZZ_SEED: String(call.seed),
};
const config = ['--config', 'tests/fuzz/vitest.config.ts', '--disable-console-intercept'];
const { code } = await run('node', ['node_modules/vitest/vitest.mjs', 'run', ...config], { env });
process.exit(code);
