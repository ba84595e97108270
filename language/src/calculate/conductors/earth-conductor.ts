import {
  type Derivation,
  type Result,
  derive,
  fromTable,
  known,
  missing,
  numberIn,
  refused,
} from '../../derivation/index.js';
import { formatNumber, sizeText } from '../../quantity/index.js';
import {
  type Metal,
  areaOfSize,
  bandAt,
  iecProtective,
  necDirectElectrode,
  necElectrode,
  necGrounding,
  sizeAtLeast,
  sourceOf,
  tableName,
} from '../../reference/index.js';
import { defineFunction, may, mayWord, wordOr } from '../registry.js';
import { GROUP, METALS, areaIn, basisParameter, metalParameter, sizeParameter, wordInput } from './common.js';

const phaseSize = { minimum: 0, aboveMinimum: true } as const;

/** 250.122, and 250.122(B) where the phase conductors were made larger than they need to be. */
function necEarth(
  rating: Derivation | undefined,
  metal: Metal,
  least: Derivation | undefined,
  installed: Derivation | undefined,
): Result {
  if (!rating) return missing('rating');
  const row = bandAt(necGrounding.rows, numberIn(rating, 'A'));
  if (!row)
    return refused(
      `${tableName(necGrounding)} ends at ${necGrounding.rows.at(-1)?.upTo} A; the device has ${formatNumber(numberIn(rating, 'A'))} A`,
      'rating',
    );
  const listed = fromTable(
    'equipment grounding conductor',
    areaOfSize(row[metal]),
    'mm2',
    sourceOf(necGrounding, row),
    {
      symbol: 'A',
      inputs: [rating, wordInput('metal', metal)],
      notes: [`${row[metal]}, row to ${row.upTo} A`],
    },
  );
  if (!least && !installed) return known(listed);
  if (!least) return missing('minimum');
  if (!installed) return missing('installed');
  return upsized(listed, metal, least, installed);
}

function upsized(listed: Derivation, metal: Metal, least: Derivation, installed: Derivation): Result {
  const growth = derive('increase of the phase conductors', Math.max(1, areaIn(installed) / areaIn(least)), '', {
    formula: 'Ainstalled / Aminimum',
    inputs: [installed, least],
  });
  const needed = areaIn(listed) * numberIn(growth, '');
  const standard = sizeAtLeast(needed, 'nec', metal);
  // 250.122(A): an earth conductor need not be larger than the conductors of its circuit.
  const capped = areaIn(installed) < (standard?.area ?? Infinity);
  const area = capped ? areaIn(installed) : standard?.area;
  if (area === undefined) return refused(`no standard size has ${formatNumber(needed)} mm2`, 'installed');
  return known(
    derive('equipment grounding conductor', area, 'mm2', {
      symbol: 'A',
      formula: 'next standard size from A250.122 · Ainstalled / Aminimum',
      inputs: [listed, growth],
      source: { ...sourceOf(necGrounding), table: '250.122(B)' },
      governing: [{ kind: 'clause', clause: capped ? 'earthNotLarger' : 'earthRaised' }],
      notes: [`${formatNumber(needed)} mm2 needed, ${sizeText(area)} taken; sizes compare within 0.1 %`],
    }),
  );
}

/** IEC 60364-5-54 Table 54.2, by the area of the line conductor. */
function iecEarth(metal: Metal, line: Derivation | undefined): Result {
  if (!line) return missing('installed');
  const area = areaIn(line);
  const row = iecProtective.rows.find((candidate) => area <= (candidate.upTo ?? Infinity) * (1 + 1e-3));
  if (!row) return refused(`${tableName(iecProtective)} has no row for ${sizeText(area)}`, 'installed');
  const needed = row.area ?? (row.share ?? 1) * area;
  // Half of a standard area is none itself; the small sizes below power wiring keep their own area.
  const standard = row.share === 1 ? { area: needed } : sizeAtLeast(needed, 'iec');
  if (!standard) return refused(`no standard size has ${formatNumber(needed)} mm2`, 'installed');
  return known(
    fromTable('protective conductor', standard.area, 'mm2', sourceOf(iecProtective, row), {
      symbol: 'A',
      inputs: [line, wordInput('metal', metal)],
      notes: [
        `${formatNumber(needed)} mm2 for a line conductor of ${sizeText(area)} of the same metal`,
        ...(iecProtective.notes ?? []).slice(1),
      ],
    }),
  );
}

export const earthConductor = defineFunction({
  name: 'earthConductor',
  group: GROUP,
  summary: 'Smallest equipment earthing (protective) conductor of a circuit.',
  parameters: {
    rating: may('current', 'A', 'rating of the overcurrent device (nec)', { minimum: 0, aboveMinimum: true }),
    metal: metalParameter,
    minimum: may('area', 'mm2', 'smallest phase conductor that would do (nec, with installed)', phaseSize),
    installed: may('area', 'mm2', 'phase conductor that is installed (needed for iec)', phaseSize),
    basis: basisParameter,
  },
  result: 'conductor size',
  worst: 'high',
  validity:
    'nec: Table 250.122 to 6000 A; with `minimum` and `installed` raised in proportion to the phases (250.122(B)), never above the circuit conductors. iec: Table 54.2 by the line conductor (`installed`), same metal, next standard size. craft: no table here. Not a check of fault heating (`shortTimeArea`).',
  sources: ['NEC Table 250.122, 250.122(A), (B)', 'IEC 60364-5-54:2011 Table 54.2'],
  examples: [
    {
      call: 'earthConductor(rating: 1000 A)',
      gives: '2/0 AWG',
      source: 'contractor magazine quiz, conductors and circuit requirements',
    },
    {
      call: 'earthConductor(rating: 30 A, minimum: 8 AWG, installed: 4 AWG)',
      gives: '6 AWG',
      source:
        'contractors forum on 250.122(B), which gives 26 242 circular mils and hence 4 AWG; 6 AWG has 26 240 by the table and 26 251 by its gauge, equal within the 0.1 % kept here',
    },
    {
      call: 'earthConductor(installed: 50 mm2, basis: iec)',
      gives: '25 mm2',
      source: 'IEC 60364-5-54 Table 54.2: half of 50 mm²',
    },
  ],
  compute: ({ rating, metal, minimum, installed, basis }): Result => {
    if (basis === 'nec') return necEarth(rating, metal, minimum, installed);
    if (basis === 'iec') return iecEarth(metal, installed);
    return refused('no table of earth conductors for craft is stored here; give basis nec or iec', 'basis');
  },
});

/** NEC 250.166: as large as the largest conductor of the system, between a least and a most. */
function directElectrode(size: Derivation, metal: Metal): Result {
  const row = necDirectElectrode.rows.find((candidate) => candidate.metal === metal)!;
  const [least, most] = [areaOfSize(row.least), areaOfSize(row.most)];
  return known(
    fromTable(
      'grounding electrode conductor',
      Math.min(most, Math.max(least, areaIn(size))),
      'mm2',
      sourceOf(necDirectElectrode, row),
      {
        symbol: 'A',
        formula: 'min(A_most, max(A_least, A))',
        inputs: [size, wordInput('metal', metal)],
        notes: [`from ${row.least} to ${row.most} ${metal}`, ...(necDirectElectrode.notes ?? []).slice(1)],
      },
    ),
  );
}

export const electrodeConductor = defineFunction({
  name: 'electrodeConductor',
  group: GROUP,
  summary: 'Smallest grounding electrode conductor of a system.',
  parameters: {
    size: sizeParameter,
    metal: metalParameter,
    conductorMetal: mayWord(METALS, 'metal of the ungrounded conductor; copper when not said'),
    system: wordOr(['ac', 'dc'], 'ac', 'alternating or direct current'),
  },
  result: 'conductor size',
  worst: 'high',
  validity:
    '`size` is the largest ungrounded conductor, or the sum of the areas of parallel ones; `metal` is that of the electrode conductor. NEC Table 250.66; sole connections to rods and to concrete-encased electrodes may be smaller (250.66(A), (B)). Direct current: as large as `size`, the neutral or the largest conductor, from 8 AWG to 3/0 AWG copper or 6 AWG to 250 kcmil aluminium (250.166, from memory).',
  sources: ['NEC Table 250.66', 'NEC 250.166 (from memory)'],
  examples: [
    {
      call: 'electrodeConductor(size: 500 kcmil)',
      gives: '1/0 AWG',
      source: 'exam-study article: two parallel sets of 250 kcmil copper',
    },
    { call: 'electrodeConductor(size: 2 AWG)', gives: '8 AWG', source: 'NEC Table 250.66, first row' },
    {
      call: 'electrodeConductor(size: 2/0 AWG, system: dc)',
      gives: '2/0 AWG',
      source: 'NEC 250.166(B), as large as the largest conductor, from memory',
    },
    { call: 'electrodeConductor(size: 10 AWG, system: dc)', gives: '8 AWG', source: 'NEC 250.166(B), from memory' },
  ],
  compute: ({ size, metal, conductorMetal, system }): Result => {
    if (system === 'dc') return directElectrode(size, metal);
    const area = areaIn(size);
    const of = conductorMetal ?? 'copper';
    const row = necElectrode.rows.find((candidate) => {
      const upTo = candidate.upTo[of];
      return upTo === undefined || area <= areaOfSize(upTo) * (1 + 1e-3);
    });
    if (!row) return refused(`${tableName(necElectrode)} has no row for ${sizeText(area)}`, 'size');
    return known(
      fromTable('grounding electrode conductor', areaOfSize(row[metal]), 'mm2', sourceOf(necElectrode, row), {
        symbol: 'A',
        inputs: [size, wordInput('conductorMetal', of), wordInput('metal', metal)],
        notes: [
          row.upTo[of] ? `row to ${row.upTo[of]} ${of}` : `last row, ${of}`,
          ...(necElectrode.notes ?? []).slice(1),
        ],
      }),
    );
  },
});
