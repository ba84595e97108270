// What is really inside the bundles: the list of licences, and a bill of materials, both from what the bundler has read.
import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';

/**
 * @typedef {{ name: string, version: string, license: string, folder: string, source?: string }} Bundled
 */

/**
 * Every package of which some file is inside the bundles, by name.
 * @param {import('esbuild').BuildResult[]} results
 * @returns {Bundled[]}
 */
export function bundledPackages(results) {
  const inputs = results.flatMap((result) => Object.keys(result.metafile?.inputs ?? {}));
  const folders = new Set(
    inputs
      .map((input) => /^.*node_modules\/(?:@[^/]+\/)?[^/]+/.exec(input)?.[0])
      .filter((found) => found !== undefined),
  );
  return [...folders].sort().map((folder) => {
    const { name, version, license, repository } = JSON.parse(readFileSync(path.join(folder, 'package.json'), 'utf8'));
    const source = sourceAddress(repository);
    return { name, version, license, folder, ...(source === undefined ? {} : { source }) };
  });
}

/**
 * Where the source code of a package is kept, as an address that people can open.
 * @param {string | { url?: string } | undefined} repository
 */
function sourceAddress(repository) {
  const url = typeof repository === 'string' ? repository : repository?.url;
  const address = url
    ?.replace(/^git\+/, '')
    .replace(/^(?:git|ssh):\/\/(?:git@)?/, 'https://')
    .replace(/\.git$/, '');
  if (address === undefined || address.startsWith('https://')) return address;
  // `owner/name` stands for a repository of the forge that npm knows best.
  return /^(?:github:)?[\w.-]+\/[\w.-]+$/.test(address)
    ? `https://github.com/${address.replace(/^github:/, '')}`
    : undefined;
}

/**
 * Licences that ask whoever passes on compiled code to say where its source code is, with the one that is chosen where there is a choice.
 * @param {string} license
 */
const withSource = (license) => (license.split(' OR ').includes('EPL-2.0') ? 'EPL-2.0' : undefined);

/**
 * The licence of every package, as one text.
 * @param {Bundled[]} packages
 */
export function licencesText(packages) {
  const texts = packages.map(({ name, version, license, folder, source }) => {
    const file = readdirSync(folder).find((candidate) => /^licen[cs]e/i.test(candidate));
    const chosen = withSource(license);
    const offer = chosen
      ? `\nPassed on here unmodified, in compiled form, under ${chosen}. Its source code is available under that licence from\n${source} (version ${version}); NOTICE says more.\n`
      : '';
    return `${name} ${version} (${license})\n${offer}\n${file ? readFileSync(path.join(folder, file), 'utf8').trim() : 'The package carries no licence text.'}\n`;
  });
  return `Packages inside the bundles of this folder, with their licences.\n\n${texts.join(`\n${'─'.repeat(80)}\n\n`)}`;
}

/**
 * A bill of materials in CycloneDX 1.5. It holds no time and no random number, so that the same sources give the same bytes.
 * @param {Bundled[]} packages
 * @param {{ name: string, version: string, license: string }} whole
 * @param {Record<string, { integrity?: string }>} locked packages of the lock file by folder
 */
export function billOfMaterials(packages, whole, locked) {
  const purl = ({ name, version }) => `pkg:npm/${name.replace('@', '%40')}@${version}`;
  const component = ({ name, version, license, folder, source }) => {
    const [algorithm, hash] = (locked[folder]?.integrity ?? '').split('-');
    return {
      type: 'library',
      'bom-ref': purl({ name, version }),
      name,
      version,
      // A choice between several is an expression, no identifier.
      licenses: [/ OR | AND /.test(license) ? { expression: license } : { license: { id: license } }],
      purl: purl({ name, version }),
      ...(algorithm === 'sha512'
        ? { hashes: [{ alg: 'SHA-512', content: Buffer.from(hash, 'base64').toString('hex') }] }
        : {}),
      ...(source === undefined ? {} : { externalReferences: [{ type: 'vcs', url: source }] }),
    };
  };
  return {
    $schema: 'http://cyclonedx.org/schema/bom-1.5.schema.json',
    bomFormat: 'CycloneDX',
    specVersion: '1.5',
    version: 1,
    metadata: {
      component: {
        type: 'application',
        'bom-ref': purl(whole),
        name: whole.name,
        version: whole.version,
        licenses: [{ license: { id: whole.license } }],
        purl: purl(whole),
      },
    },
    components: packages.map(component),
    dependencies: [{ ref: purl(whole), dependsOn: packages.map(purl) }],
  };
}
