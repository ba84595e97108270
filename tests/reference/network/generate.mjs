// Writes ngspice.json: node voltages of the networks of networks.ts as the circuit simulator ngspice finds them. Run once, by hand, where
// ngspice is installed (Debian package ngspice):
//   npx esbuild tests/reference/network/networks.ts --format=esm --outfile=/tmp/networks.mjs && node tests/reference/network/generate.mjs /tmp/networks.mjs
// Phasors are given to it as two coupled networks of direct current, one for the real and one for the imaginary parts.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { pathToFileURL } from 'node:url';

const { generateNetwork, NETWORKS } = await import(pathToFileURL(path.resolve(process.argv[2])).href);
const folder = mkdtempSync(path.join(tmpdir(), 'network-'));
const name = (node, part) => (node === 0 ? '0' : `${part}${node}`);
const across = (from, to, part) =>
  to === 0
    ? `v(${name(from, part)})`
    : from === 0
      ? `(0-v(${name(to, part)}))`
      : `(v(${name(from, part)})-v(${name(to, part)}))`;

function netlist(circuit, alternating) {
  const lines = ['* generated network'];
  let count = 0;
  const parts = alternating ? ['r', 'i'] : ['r'];
  /** A series impedance between two nodes of each part: R in each, and X as a voltage from the other part's current. */
  const impedance = (label, from, to, resistance, reactance) => {
    for (const part of parts) {
      const middle = `${label}${part}m`;
      lines.push(`R${label}${part} ${from[part]} ${middle} ${resistance}`);
      // The drop in the real part is R·Ir − X·Ii, in the imaginary part R·Ii + X·Ir.
      const other = part === 'r' ? 'i' : 'r';
      const sign = part === 'r' ? '-' : '';
      if (alternating)
        lines.push(
          `B${label}${part} ${middle} ${label}${part}e V = ${sign}${reactance}*i(V${label}${other})`,
          `V${label}${part} ${label}${part}e ${to[part]} 0`,
        );
      else lines.push(`V${label}${part} ${middle} ${to[part]} 0`);
    }
  };
  const ends = (node) => Object.fromEntries(parts.map((part) => [part, name(node, part)]));
  for (const { from, to, resistance, reactance } of circuit.branches)
    impedance(`b${(count += 1)}`, ends(from), ends(to), resistance, reactance ?? 0);
  for (const { positive, voltage, resistance, reactance } of circuit.sources) {
    const label = `s${(count += 1)}`;
    const inner = Object.fromEntries(parts.map((part) => [part, `${label}${part}n`]));
    for (const part of parts)
      lines.push(`V${label}x${part} ${inner[part]} 0 ${part === 'r' ? voltage.re : voltage.im}`);
    impedance(label, inner, ends(positive), resistance, reactance ?? 0);
  }
  for (const load of circuit.loads) {
    const label = `l${(count += 1)}`;
    const re = across(load.from, load.to, 'r');
    if (load.kind === 'current') {
      lines.push(`I${label} ${name(load.from, 'r')} ${name(load.to, 'r')} ${load.current}`);
    } else if (!alternating) {
      lines.push(`B${label} ${name(load.from, 'r')} ${name(load.to, 'r')} I = ${load.active}/${re}`);
    } else {
      const im = across(load.from, load.to, 'i');
      const square = `(${re}*${re}+${im}*${im})`;
      lines.push(
        `B${label}r ${name(load.from, 'r')} ${name(load.to, 'r')} I = (${load.active}*${re}+${load.reactive}*${im})/${square}`,
      );
      lines.push(
        `B${label}i ${name(load.from, 'i')} ${name(load.to, 'i')} I = (${load.active}*${im}-${load.reactive}*${re})/${square}`,
      );
    }
  }
  // Starting at the nominal voltage keeps the constant-power sources away from division by zero.
  const nominal = circuit.sources[0].voltage.re;
  for (let node = 1; node < circuit.nodes; node += 1)
    for (const part of parts) lines.push(`.nodeset v(${name(node, part)})=${part === 'r' ? nominal : 0}`);
  const prints = [];
  for (let node = 1; node < circuit.nodes; node += 1) for (const part of parts) prints.push(name(node, part));
  lines.push('.options reltol=1e-9 abstol=1e-12 vntol=1e-12 gmin=1e-18 itl1=2000', '.control', 'set numdgt=14', 'op');
  for (const print of prints) lines.push(`print v(${print})`);
  lines.push('quit', '.endc', '.end');
  return { text: lines.join('\n') + '\n', prints };
}

/** Largest current that does not add up at a node, for voltages in the order of `prints`; what the simulator returns must obey Kirchhoff. */
function imbalance(circuit, alternating, voltages) {
  const at = (node) =>
    node === 0 ? [0, 0] : alternating ? [voltages[2 * node - 2], voltages[2 * node - 1]] : [voltages[node - 1], 0];
  const sums = Array.from({ length: circuit.nodes }, () => [0, 0]);
  const flow = (from, to, [re, im]) => {
    sums[from][0] -= re;
    sums[from][1] -= im;
    sums[to][0] += re;
    sums[to][1] += im;
  };
  const over = ([re, im], r, x) => [(re * r + im * x) / (r * r + x * x), (im * r - re * x) / (r * r + x * x)];
  const minus = ([a, b], [c, d]) => [a - c, b - d];
  for (const { from, to, resistance, reactance = 0 } of circuit.branches)
    flow(from, to, over(minus(at(from), at(to)), resistance, reactance));
  for (const { positive, negative, voltage, resistance, reactance = 0 } of circuit.sources) {
    flow(
      negative,
      positive,
      over(minus([voltage.re, voltage.im], minus(at(positive), at(negative))), resistance, reactance),
    );
  }
  for (const load of circuit.loads) {
    const [re, im] = minus(at(load.from), at(load.to));
    const square = re * re + im * im;
    const [p, q] = load.kind === 'current' ? [load.current * Math.sqrt(square), 0] : [load.active, load.reactive ?? 0];
    flow(load.from, load.to, [(p * re + q * im) / square, (p * im - q * re) / square]);
  }
  return Math.max(...sums.slice(1).map(([re, im]) => Math.hypot(re, im)));
}

const results = { dc: [], ac: [] };
const leftOut = [];
for (const [kind, alternating] of [
  ['dc', false],
  ['ac', true],
]) {
  for (let seed = 1; seed <= NETWORKS; seed += 1) {
    const circuit = generateNetwork(seed, alternating);
    const { text, prints } = netlist(circuit, alternating);
    const file = path.join(folder, 'network.cir');
    writeFileSync(file, text);
    const output = execFileSync('ngspice', ['-b', file], { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] });
    const values = new Map(
      [...output.matchAll(/^v\((\w+)\) = (\S+)/gm)].map(([, node, value]) => [node, Number(value)]),
    );
    const voltages = prints.map((print) => values.get(print) ?? Number.NaN);
    // Now and then the simulator stops at a point that breaks Kirchhoff's current law by amperes; such a result proves nothing.
    if (imbalance(circuit, alternating, voltages) < 0.01) results[kind].push({ seed, voltages });
    else leftOut.push(`${kind} ${seed}`);
  }
}
rmSync(folder, { recursive: true });
const version = /ngspice-\d+/.exec(execFileSync('ngspice', ['--version'], { encoding: 'utf8' }))?.[0];
const rows = (list) => list.map((row) => '    ' + JSON.stringify(row)).join(',\n');
writeFileSync(
  path.join(import.meta.dirname, 'ngspice.json'),
  `{\n  "program": "${version} (Debian package ngspice)",\n  "command": "ngspice -b network.cir; written by generate.mjs from networks.ts",\n  "leftOut": ${JSON.stringify(leftOut)},\n  "dc": [\n${rows(results.dc)}\n  ],\n  "ac": [\n${rows(results.ac)}\n  ]\n}\n`,
);
console.log(
  `${version}: ${results.dc.length} networks of direct and ${results.ac.length} of alternating current; left out because the result breaks the current law: ${leftOut.join(', ') || 'none'}`,
);
