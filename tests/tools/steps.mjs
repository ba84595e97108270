// What the quick start and the test run share: installing, running a step, and saying how it went.
import { spawn } from 'node:child_process';
import { existsSync, statSync } from 'node:fs';
import path from 'node:path';

export const root = path.resolve(import.meta.dirname, '../..');

/** The environment of every step: the project's own Node first, so that plain `node` means that one; no colours in a log. */
export const environment = {
  ...(process.stdout.isTTY ? {} : { NO_COLOR: '1' }),
  ...process.env,
  PATH: [path.join(root, 'node_modules/.bin'), process.env.PATH].join(path.delimiter),
};

/**
 * Runs a command and resolves with its exit code and the seconds it took.
 * @param {string} command
 * @param {string[]} args
 * @param {import('node:child_process').SpawnOptions} [options]
 * @returns {Promise<{ code: number, seconds: number }>}
 */
export function run(command, args, options = {}) {
  const begun = performance.now();
  return new Promise((resolve) => {
    const child = spawn(command, args, { cwd: root, env: environment, stdio: 'inherit', ...options });
    const finish = (code) => resolve({ code, seconds: (performance.now() - begun) / 1000 });
    child.on('error', (error) => {
      console.error(`${command}: ${error.message}`);
      finish(127);
    });
    child.on('exit', (code) => finish(code ?? 1));
  });
}

/** True when node_modules holds what package-lock.json asks for, as far as dates tell. */
export function isInstalled() {
  const installed = path.join(root, 'node_modules/.package-lock.json');
  return existsSync(installed) && statSync(installed).mtimeMs >= statSync(path.join(root, 'package-lock.json')).mtimeMs;
}

/** Installs the packages of package-lock.json when they are not there; returns the exit code. */
export async function installIfNeeded() {
  if (isInstalled()) return 0;
  console.log('Installing packages (npm ci) …');
  const { code } = await run('npm', ['ci', '--loglevel=error']);
  return code;
}

/** The Nodes beside the project's own that the packages are tried with come into folders of their own. */
const OTHER_NODES = ['tests/node-22'];

/** Brings further Nodes; where that fails, the tests that need them say so. */
export async function installOtherNodes() {
  for (const folder of OTHER_NODES) {
    const cwd = path.join(root, folder);
    if (!existsSync(path.join(cwd, 'node_modules')))
      await run('npm', ['ci', '--ignore-scripts', '--loglevel=error'], { cwd, stdio: 'ignore' });
  }
}

/** Programs that tests call, with the packages of Debian that hold them. */
const PROGRAMS = [
  { program: 'nvim', name: 'neovim', what: 'a second editor' },
  { program: 'xmllint', name: 'libxml2-utils', what: 'a validator of XML' },
];

/** Brings programs that tests call, where the machine has Debian's packages; the tests say loudly where it has not. */
export async function installPrograms() {
  const quiet = /** @type {import('node:child_process').SpawnOptions} */ ({ stdio: 'ignore' });
  const missing = [];
  for (const each of PROGRAMS) if ((await run(each.program, ['--version'], quiet)).code !== 0) missing.push(each);
  if (missing.length === 0) return;
  const asRoot = process.getuid?.() === 0 ? [] : ['sudo', '-n'];
  const apt = (/** @type {string[]} */ ...args) => {
    const [command = 'apt-get', ...rest] = [...asRoot, 'apt-get', ...args];
    return run(command, rest, { stdio: 'ignore', env: { ...environment, DEBIAN_FRONTEND: 'noninteractive' } });
  };
  if ((await run('apt-get', ['--version'], quiet)).code !== 0) return;
  console.log(`Installing ${missing.map(({ name, what }) => `${what} (${name})`).join(' and ')} …`);
  await apt('update', '-qq');
  await apt('install', '-y', '-qq', '--no-install-recommends', ...missing.map(({ name }) => name));
}
