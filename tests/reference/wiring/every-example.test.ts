import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { numberIn } from '../../../language/src/index.js';
import { analyseText } from '../../helpers/analyse.js';

/*
 * Every published example and every computed vector that was collected for conductors, devices, faults, earthing and plugs is a test by its
 * id: a row of a data file of this folder, or a test whose title begins with the id.
 */

const EXAMPLES = [
  ...['WE02', 'WE03', 'WE05', 'WE06', 'WE08', 'WE10', 'WE11', 'WE12', 'WE15', 'WE17', 'WE19', 'WE20', 'WE21', 'WE23'],
  ...['WE25', 'WE26', 'WE28', 'WE30', 'WE32', 'WE34', 'WE35', 'WE37', 'WE38', 'WE40', 'WE41', 'WE42', 'WE44', 'WE45'],
  ...['WE46', 'WE48'],
];
/** Vectors by name, with how many there are of each. */
const VECTORS: Readonly<Record<string, number>> = {
  awg_area: 4,
  cu_resistivity: 5,
  al_resistivity: 1,
  dc_drop_class5_at_70C: 3,
  dc_drop_nec_table8_75C: 2,
  abyc_cmil: 2,
  nec_min_size_noncontinuous: 2,
  continuous: 2,
  pv_source_output: 2,
  inverter_dc: 2,
  generator_115: 2,
  egc: 5,
  egc_upsized: 2,
  battery_fault: 2,
  iec61660_battery: 1,
  adiabatic_I: 2,
  adiabatic_S: 1,
  icea_I: 2,
  iec_overload: 1,
  plug_continuous: 2,
  mwbc_single_120V: 1,
};

/** The ids that the tests of this folder hold. */
function heldIds(): Set<string> {
  const held = new Set<string>();
  for (const name of readdirSync(import.meta.dirname)) {
    const text = readFileSync(path.join(import.meta.dirname, name), 'utf8');
    if (name.endsWith('.json'))
      for (const { id } of (JSON.parse(text) as { rows?: { id?: string }[] }).rows ?? []) if (id) held.add(id);
    if (name.endsWith('.test.ts'))
      for (const [, id] of text.matchAll(/\b(?:test|it)\(\s*['"`]([A-Za-z0-9_]+(?:-\d+)?)[ :]/g)) held.add(id!);
  }
  return held;
}

describe('every example that was collected', () => {
  const vectors = Object.entries(VECTORS).flatMap(([name, count]) =>
    Array.from({ length: count }, (_, index) => `${name}-${index + 1}`),
  );

  test('there are thirty published examples and forty-six vectors', () => {
    expect(EXAMPLES).toHaveLength(30);
    expect(vectors).toHaveLength(46);
  });

  test('none is forgotten', () => {
    const held = heldIds();
    expect([...EXAMPLES, ...vectors].filter((id) => !held.has(id))).toEqual([]);
  });
});

// NEC informative annex D, example D1(a), handbook copy: one-family dwelling of 1500 ft², range of 12 kW, dryer of 5.5 kW. Demand factors of
// article 220 (3 VA/ft², 35 % above 3000 VA, 8 kW for the range, 70 % of range and dryer in the neutral) as printed there.
test('WE41 net load of 18,600 VA, 77.5 A, and neutral of 14,550 VA, 60.6 A, by the arithmetic of the language', async () => {
  const analysis = await analyseText(`design Dwelling {
  let general = 1500 * 3 VA + 2 * 1500 VA + 1500 VA
  let demand = 3000 VA + 35 % * (general - 3000 VA)
  let net = demand + 8000 VA + 5500 VA
  let neutral = demand + 70 % * 8000 VA + 70 % * 5500 VA
  require general == 9000 VA
  require net == 18600 VA
  require abs(net / 240 V - 77.5 A) < 0.01 A
  require neutral == 14550 VA
  require abs(neutral / 240 V - 60.625 A) < 0.01 A
}
`);
  expect(analysis.requirements.map(({ text, holds }) => [text, holds])).toEqual(
    analysis.requirements.map(({ text }) => [text, true]),
  );
  expect(analysis.requirements).toHaveLength(5);
});

// Computed, not published: where both hots hang on one 120 V source they are in phase and their neutral carries the sum (NEC 710.15(C)).
test('mwbc_single_120V-1 14 A and 15 A on two hots of one 120 V source are 29 A in the neutral', async () => {
  const analysis = await analyseText(`design Cabin {
  basis: nec
  grid Single { voltage: 120 V   tolerance: 0 %   rating: 60 A }
  bus Panel { rating: 60 A }
  load Left { power: 1680 W   legs: L1 }
  load Right { power: 1800 W   legs: L1 }
  run Feed: Single -> Panel { size: 4/0 AWG   length: 1 mm }
  run Lines: Panel -> Left, Right { size: 4/0 AWG   length: 1 mm }
}
`);
  const [design] = analysis.designs;
  const lines = design!.system.runs.find(({ name }) => name === 'Lines')!;
  const result = design!.context.quantity(lines, 'neutralCurrent');
  if (result.kind !== 'known') throw new Error(JSON.stringify(result));
  expect(numberIn(result.derivation, 'A')).toBeCloseTo(29, 3);
});
