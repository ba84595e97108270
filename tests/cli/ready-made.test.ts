import { load } from 'js-yaml';
import { execFileSync, spawnSync } from 'node:child_process';
import { chmodSync, existsSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { beforeAll, describe, expect, test } from 'vitest';
import { CABIN_PARTS, ScratchRepository, cabin } from '../helpers/scratch-repository.js';
import { programFile, root, temporaryFolder } from './helpers/program.js';

const read = (file: string): string => readFileSync(path.join(root, file), 'utf8');

interface Step {
  readonly id?: string;
  readonly uses?: string;
  readonly run?: string;
  readonly shell?: string;
  readonly env?: Readonly<Record<string, string>>;
}

/** A repository whose last commit breaks the terminals of its only run, and a folder with `wattwright` in it. */
function changedCabin(): ScratchRepository {
  const repository = ScratchRepository.create();
  repository.commit('One', { 'site/cabin.watt': cabin(), 'site/parts.watt': CABIN_PARTS });
  repository.commit('Two', { 'site/cabin.watt': cabin({ inverter: 'CabinInverter3k' }) });
  return repository;
}

let binaries: string;
beforeAll(async () => {
  binaries = temporaryFolder();
  const command = path.join(binaries, 'wattwright');
  writeFileSync(command, `#!/bin/sh\nexec "${process.execPath}" "${await programFile()}" "$@"\n`);
  chmodSync(command, 0o755);
});

describe('the action', () => {
  const action = load(read('action.yml')) as {
    readonly inputs: Readonly<Record<string, { readonly default: string }>>;
    readonly runs: { readonly steps: readonly Step[] };
  };
  const { steps } = action.runs;

  test('hands its inputs over by the environment, never inside a script, and every script names its shell', () => {
    for (const { run, shell } of steps.filter((step) => step.run !== undefined)) {
      expect(run).not.toContain('${{');
      expect(shell).toBe('bash');
    }
  });

  /** Runs a step as the forge does: its environment with the expressions filled in, its script by bash that stops at errors. */
  function run(id: string, cwd: string, given: Readonly<Record<string, string>>) {
    const step = steps.find((each) => each.id === id)!;
    const temporary = temporaryFolder();
    const inputs: Record<string, string> = Object.fromEntries(
      Object.entries(action.inputs).map(([name, input]) => [name, given[name] ?? input.default]),
    );
    const filled = Object.entries(step.env!).map(([name, value]) => {
      const text = value
        .replace(/\$\{\{ inputs\.([\w-]+) \}\}/g, (_, input: string) => inputs[input]!)
        .replace(/\$\{\{ runner\.temp \}\}/g, temporary);
      return [name, name === 'WATTWRIGHT' ? path.join(binaries, 'wattwright') : text] as const;
    });
    const files = {
      GITHUB_OUTPUT: path.join(temporary, 'output'),
      GITHUB_STEP_SUMMARY: path.join(temporary, 'summary'),
    };
    const result = spawnSync('bash', ['--noprofile', '--norc', '-e', '-o', 'pipefail', '-c', step.run!], {
      cwd,
      encoding: 'utf8',
      env: {
        ...process.env,
        ...files,
        RUNNER_TEMP: temporary,
        SOURCE_DATE_EPOCH: '1796000000',
        ...Object.fromEntries(filled),
      },
    });
    const written = (file: string): string => (existsSync(file) ? readFileSync(file, 'utf8') : '');
    return { ...result, outputs: written(files.GITHUB_OUTPUT), summary: written(files.GITHUB_STEP_SUMMARY), temporary };
  }

  test('its check annotates, writes the reports it is asked for, and fails after they are written', () => {
    const { folder } = changedCabin();
    const hostile = '$(touch stolen)';
    const { status, stdout, outputs } = run('check', folder, {
      path: 'site',
      'sarif-file': 'all.sarif',
      'junit-file': 'a b.xml',
    });
    expect(status).toBe(1);
    expect(outputs).toBe('exit-code=1\n');
    expect(stdout).toMatch(/^::error file=site\/cabin\.watt,line=\d+,/m);
    expect(JSON.parse(readFileSync(path.join(folder, 'all.sarif'), 'utf8'))).toMatchObject({ version: '2.1.0' });
    expect(readFileSync(path.join(folder, 'a b.xml'), 'utf8')).toContain('<testsuite name="Cabin"');
    expect(run('check', folder, { path: hostile }).status).toBe(2);
    expect(existsSync(path.join(folder, 'stolen'))).toBe(false);
  });

  test('its comparison goes into the summary of the job, and its file is an output', () => {
    const { folder } = changedCabin();
    const { status, summary, outputs, temporary } = run('diff', folder, { path: 'site', base: 'HEAD~1' });
    expect(status).toBe(0);
    expect(summary.split('\n')[0]).toBe('<!-- wattwright-diff -->');
    expect(summary).toContain('less safe');
    expect(outputs).toBe(`file=${temporary}/wattwright-diff.md\n`);
  });
});

test('the template for the other forge runs as it stands, and its reports are those it hands over', () => {
  const [, job] = read('.gitlab/wattwright-check.yml').split(/^---$/m);
  const [head] = read('.gitlab/wattwright-check.yml').split(/^---$/m);
  const { spec } = load(head!) as { spec: { inputs: Record<string, { default: string }> } };
  const filled = job!.replace(/\$\[\[ inputs\.([\w-]+) \]\]/g, (_, name: string) => spec.inputs[name]!.default);
  const { wattwright } = load(filled) as {
    wattwright: { script: readonly string[]; artifacts: { reports: Record<string, string> } };
  };
  const [install, check] = wattwright.script;
  expect(install).toContain(`"wattwright@${(JSON.parse(read('package.json')) as { version: string }).version}"`);
  const { folder } = changedCabin();
  const { status } = spawnSync('sh', ['-e', '-c', check!], {
    cwd: folder,
    env: { ...process.env, PATH: `${binaries}:${process.env.PATH}` },
  });
  expect(status).toBe(1);
  const quality = JSON.parse(
    readFileSync(path.join(folder, wattwright.artifacts.reports['codequality']!), 'utf8'),
  ) as object[];
  expect(quality.length).toBeGreaterThan(0);
  expect(existsSync(path.join(folder, wattwright.artifacts.reports['junit']!))).toBe(true);
});

test('the hooks call commands that exist, over all designs where one draws in another', () => {
  const hooks = load(read('.pre-commit-hooks.yaml')) as { id: string; entry: string; pass_filenames?: boolean }[];
  const { folder } = changedCabin();
  const run = ({ entry }: { entry: string }): number | null =>
    spawnSync('sh', ['-c', entry], { cwd: folder, env: { ...process.env, PATH: `${binaries}:${process.env.PATH}` } })
      .status;
  expect(hooks.map((hook) => [hook.id, run(hook)])).toEqual([
    ['wattwright-check', 1],
    ['wattwright-fmt', 0],
  ]);
  expect(hooks[0]!.pass_filenames).toBe(false);
});

test('every script of the workflows is known to npm or lies in the project, and nothing of a pull request gets into a script', () => {
  const scripts = Object.keys((JSON.parse(read('package.json')) as { scripts: object }).scripts);
  for (const file of ['.github/workflows/check.yml', '.github/workflows/release.yml']) {
    const { jobs, permissions } = load(read(file)) as {
      jobs: Record<string, { steps: readonly Step[] }>;
      permissions: object;
    };
    expect(permissions).toEqual({ contents: 'read' });
    const runs = Object.values(jobs).flatMap(({ steps }) => steps.flatMap(({ run }) => run ?? []));
    for (const run of runs) {
      expect(run).not.toContain('${{');
      for (const [, script] of run.matchAll(/npm run ([\w:-]+)/g)) expect(scripts).toContain(script);
      for (const [, program] of run.matchAll(/node ([\w/.-]+\.mjs)/g))
        expect(existsSync(path.join(root, program!))).toBe(true);
    }
  }
});

test('a tag has to name the version that packages, program and list of changes name', () => {
  const { version } = JSON.parse(read('package.json')) as { version: string };
  const check = (tag: string): number | null =>
    spawnSync(process.execPath, [path.join(root, 'server/build/release-version.mjs'), tag]).status;
  expect([check(`v${version}`), check('v99.0.0'), check('latest')]).toEqual([0, 1, 1]);
});

test('the container file installs the tarball by the name that it is packed under', () => {
  const { version } = JSON.parse(read('package.json')) as { version: string };
  const [, pattern] = /^COPY (\S+) /m.exec(read('Containerfile'))!;
  const matches = (name: string): boolean =>
    execFileSync('sh', ['-c', `case "$1" in ${pattern}) echo yes;; esac`, 'sh', name], { encoding: 'utf8' }) ===
    'yes\n';
  expect(matches(`wattwright-${version}.tgz`)).toBe(true);
  expect(matches(`wattwright-language-${version}.tgz`)).toBe(false);
});
