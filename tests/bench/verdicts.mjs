// From a keystroke that makes a rule wrong to the finding that a proof of the rules shows, through a server in a process of its own; and how long a
// keystroke waits for its findings while rules are being proven, which it breaks off. Alone: `node tests/bench/verdicts.mjs`; build first.
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { root } from '../tools/steps.mjs';
import { LanguageServerProcess } from './language-server-process.mjs';
import { ruledDesign } from './ruled-design.mjs';

/** Edits that are measured; the first are spent warming up. */
const TIMES = 9;
const WARM = 2;
/** For so long a proof is let run before a keystroke breaks it off, ms: the quiet before it, and some of its work. */
const INTO_PROOF = 300;

const URI = 'file:///bench/ruled.watt';
/** The finding that the long dwell gives and that only a proof shows. */
const CHECK = 'stop-unreachable';

const median = (/** @type {number[]} */ values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

/** @param {unknown[]} findings */
const isTold = (findings) => findings.some((each) => /** @type {{ code?: unknown }} */ (each).code === CHECK);

/**
 * Medians in ms: from a keystroke to the verdict on the rules, and to the findings of the text while rules are proven.
 * @param {string} server
 */
export async function verdicts(server) {
  const client = new LanguageServerProcess(server);
  await client.initialize();
  let version = 1;
  const text = ruledDesign('5 min');
  client.notify('textDocument/didOpen', { textDocument: { uri: URI, languageId: 'wattwright', version, text } });
  const lines = text.split('\n');
  const line = lines.findIndex((each) => each.includes('stop when voltage'));
  const from = lines[line].indexOf(' for ') + ' for '.length;
  let length = '5 min'.length;
  /** @param {string} dwell */
  const type = (dwell) => {
    version += 1;
    const range = { start: { line, character: from }, end: { line, character: from + length } };
    length = dwell.length;
    const begun = performance.now();
    client.notify('textDocument/didChange', {
      textDocument: { uri: URI, version },
      contentChanges: [{ range, text: dwell }],
    });
    return begun;
  };
  /** The first publication for the newest text that a condition holds of. @param {(findings: unknown[]) => boolean} holds */
  const published = async (holds) => {
    for (;;) if (holds(await client.findingsOf(URI, version))) return performance.now();
  };
  const [verdict, between] = [[], []];
  for (let time = 0; time < TIMES; time += 1) {
    // Another dwell each time, so that nothing of it is known.
    const begun = type(`${20 + time} h`);
    const told = await published(isTold);
    const sound = type(`${5 + time} min`);
    await published((findings) => !isTold(findings));
    await new Promise((resolve) => setTimeout(resolve, Math.max(0, INTO_PROOF - (performance.now() - sound))));
    const again = type(`${40 + time} h`);
    const answered = await published(() => true);
    await published(isTold);
    type(`${60 + time} s`);
    await published((findings) => !isTold(findings));
    if (time < WARM) continue;
    verdict.push(told - begun);
    between.push(answered - again);
  }
  await client.stop();
  return { verdict: median(verdict), between: median(between), lines: lines.length };
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  const { verdict, between, lines } = await verdicts(path.join(root, 'extension/dist/server.cjs'));
  console.log(`keystroke in ${lines} lines to the verdict on its rules: ${verdict.toFixed(0)} ms`);
  console.log(`keystroke while rules are proven, to its findings: ${between.toFixed(0)} ms`);
}
