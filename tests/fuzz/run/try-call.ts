import { mkdirSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { run } from '../../../server/src/cli/program.js';
import { UNSAFE } from '../../../server/src/cli/output/safe-text.js';
import { type Outcome, call } from '../../cli/helpers/program.js';
import { againstSchema } from '../../cli/helpers/schemas.js';
import { temporaryFolder } from '../../helpers/temporary-folders.js';
import { type Case, type Files, contentOf } from './trial.js';

type Call = Extract<Case, { kind: 'call' | 'process' }>;

const SCHEMAS = ['check', 'calc', 'eval', 'explain', 'simulate'];

/** Runs a call of the command line twice and says which promises it breaks. */
export async function tryCall(one: Call): Promise<string[]> {
  const folder = temporaryFolder();
  write(folder, one.files);
  const before = snapshot(folder);
  const first = await runIn(folder, one);
  const after = snapshot(folder);
  const faults = [...judge(one, first), ...judgeFiles(one, before, after)];
  if (faults.length > 0) return faults;
  // The same call on the same files; what it has written is taken back before.
  for (const name of after.keys()) if (!before.has(name)) return faults;
  write(folder, one.files);
  const second = await runIn(folder, one);
  if (!one.args.includes('--timing') && JSON.stringify(first) !== JSON.stringify(second))
    faults.push(
      `the same call gave ${JSON.stringify(first).slice(0, 300)} and ${JSON.stringify(second).slice(0, 300)}`,
    );
  return faults;
}

function write(folder: string, files: Files): void {
  for (const [name, content] of Object.entries(files)) {
    mkdirSync(path.dirname(path.join(folder, name)), { recursive: true });
    writeFileSync(path.join(folder, name), contentOf(content));
  }
}

function snapshot(folder: string): Map<string, string> {
  const files = readdirSync(folder, { recursive: true, withFileTypes: true }).filter((entry) => entry.isFile());
  return new Map(
    files.map((entry) => {
      const file = path.join(entry.parentPath, entry.name);
      return [path.relative(folder, file), readFileSync(file, 'latin1')];
    }),
  );
}

const runIn = (folder: string, one: Call): Promise<Outcome> =>
  one.kind === 'process'
    ? call(one.args, { cwd: folder, ...(one.input === undefined ? {} : { input: one.input }) })
    : runHere(folder, one.args);

/** The real entry of the program in this process, its output caught. */
async function runHere(folder: string, args: readonly string[]): Promise<Outcome> {
  const [stdout, stderr, cwd] = [process.stdout.write, process.stderr.write, process.cwd()];
  const written = { stdout: '', stderr: '' };
  const caught = (name: keyof typeof written) =>
    ((chunk: string | Uint8Array) => {
      written[name] += typeof chunk === 'string' ? chunk : Buffer.from(chunk).toString();
      return true;
    }) as typeof process.stdout.write;
  const day = process.env.SOURCE_DATE_EPOCH;
  try {
    process.env.SOURCE_DATE_EPOCH = '1796000000';
    process.chdir(folder);
    process.stdout.write = caught('stdout');
    process.stderr.write = caught('stderr');
    return { code: await run(args), ...written };
  } finally {
    process.stdout.write = stdout;
    process.stderr.write = stderr;
    process.chdir(cwd);
    if (day === undefined) delete process.env.SOURCE_DATE_EPOCH;
    else process.env.SOURCE_DATE_EPOCH = day;
  }
}

function judge({ args }: Call, { code, stdout, stderr }: Outcome): string[] {
  const faults: string[] = [];
  if (code !== 0 && code !== 1 && code !== 2) faults.push(`the exit code is ${code}`);
  if (/defect of the program|\n {4}at /.test(stderr)) faults.push(`a fault got out: ${stderr.slice(0, 1500)}`);
  if (code === 2 && stderr.trim() === '') faults.push('exit code 2 without a word');
  // A call without a command is shown what there is.
  if (
    code === 2 &&
    !stderr.startsWith('Usage: ') &&
    stderr.split('\n').some((line) => line !== '' && !line.startsWith('wattwright: '))
  )
    faults.push(`more than lines of its own on standard error: ${stderr.slice(0, 300)}`);
  const isColoured = args.some((arg) => arg.startsWith('--color'));
  // `fmt -` gives back the text it was given.
  for (const text of isColoured || args[0] === 'fmt' ? [stderr] : [stdout, stderr]) {
    const unsafe = [...text.matchAll(UNSAFE)].find(([character]) => character !== '\n');
    if (unsafe && !isColoured) faults.push(`U+${unsafe[0].codePointAt(0)!.toString(16)} reaches the terminal`);
  }
  const isJson = args.some(
    (arg, at) => /^(?:--format=json|-fjson)$/.test(arg) || (/^(?:-f|--format)$/.test(arg) && args[at + 1] === 'json'),
  );
  if (isJson && !stdout.startsWith('Usage: ') && stdout !== '' && code !== 2 && SCHEMAS.includes(args[0]!)) {
    try {
      const against = againstSchema(args[0] as 'check', JSON.parse(stdout));
      if (against.length > 0) faults.push(`against the schema: ${JSON.stringify(against).slice(0, 500)}`);
    } catch (error) {
      faults.push(`no JSON: ${String(error)}`);
    }
  }
  return faults;
}

const WRITES = new Set(['fmt', 'new']);

function judgeFiles({ args }: Call, before: ReadonlyMap<string, string>, after: ReadonlyMap<string, string>): string[] {
  const left = [...after.keys()].find((name) => name.endsWith('wattwright-new'));
  if (left) return [`${left} is left behind`];
  if (WRITES.has(args[0] ?? '') || args.some((arg) => /^--(?:fix|csv|svg)/.test(arg))) return [];
  const changed = [...new Set([...before.keys(), ...after.keys()])].find(
    (name) => before.get(name) !== after.get(name),
  );
  return changed ? [`${changed} was changed by ${args.join(' ')}`] : [];
}
