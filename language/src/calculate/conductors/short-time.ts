import { type Derivation, type Result, derive, fromTable, known, numberIn, refused } from '../../derivation/index.js';
import { type Metal, type ShortTimeRow, iecShortTime, sourceOf, tableName } from '../../reference/index.js';
import { defineFunction, needs, wordOr } from '../registry.js';
import { type Found, GROUP, areaIn, found, metalParameter, notFound, sizeParameter, wordInput } from './common.js';

const INSULATIONS = ['pvc', 'xlpe', 'rubber'] as const;
type Insulation = (typeof INSULATIONS)[number];

const insulationParameter = wordOr(
  INSULATIONS,
  'pvc',
  'insulation: pvc (70 °C), xlpe (90 °C, also EPR) or rubber (60 °C)',
);
const timeParameter = needs('time', 's', 'time until the device clears', {
  minimum: 0,
  aboveMinimum: true,
  maximum: iecShortTime.longestTime,
});

function kOf(row: ShortTimeRow, metal: Metal, insulation: Insulation): Found<Derivation> {
  const value = row[metal];
  if (value === undefined)
    return notFound(`${tableName(iecShortTime)} has no k for ${metal} with ${insulation}`, 'metal');
  return found(
    fromTable('k of the conductor', value, '', sourceOf(iecShortTime, row), {
      symbol: 'k',
      inputs: [wordInput('metal', metal), wordInput('insulation', insulation)],
      notes: [`A·s^½ per mm2${row.upTo === undefined ? '' : `, to ${row.upTo} mm2`}`],
    }),
  );
}

const rowsOf = (insulation: Insulation): readonly ShortTimeRow[] =>
  iecShortTime.rows.filter((row) => row.insulation === insulation);

const timeNotes = (time: Derivation): readonly string[] =>
  numberIn(time, 's') < iecShortTime.shortestTime
    ? [`below ${iecShortTime.shortestTime} s the let-through I²t of the device counts instead of I²·t`]
    : [];

const VALIDITY =
  'All heat stays in the conductor: up to 5 s. Below 0.1 s compare the let-through I²t of the device. k for conductors at their full operating temperature before the fault.';
const SOURCES = ['IEC 60364-4-43:2008 434.5.2 and Table 43A'];

export const shortTimeArea = defineFunction({
  name: 'shortTimeArea',
  group: GROUP,
  summary: 'Area of metal that survives a fault current until the device clears.',
  parameters: {
    current: needs('current', 'A', 'fault current', { minimum: 0 }),
    time: timeParameter,
    metal: metalParameter,
    insulation: insulationParameter,
  },
  result: 'area, mm2',
  worst: 'high',
  validity: VALIDITY,
  sources: SOURCES,
  examples: [
    {
      call: 'shortTimeArea(current: 2500 A, time: 0.1 s)',
      gives: '6.87 mm2',
      source: 'cable calculation page, k = 115, printed as 6.9 mm²',
    },
    {
      call: 'shortTimeArea(current: 12 kA, time: 20 ms, insulation: xlpe)',
      gives: '11.868 mm2',
      source: 'hand calculation: 12 000 A · √0.02 s / 143',
    },
  ],
  compute: ({ current, time, metal, insulation }): Result => {
    const heat = numberIn(current, 'A') * Math.sqrt(numberIn(time, 's'));
    for (const row of rowsOf(insulation)) {
      const k = kOf(row, metal, insulation);
      if (!k.ok) return k.result;
      const area = heat / numberIn(k.value, '');
      if (area > (row.upTo ?? Infinity)) continue;
      return known(
        derive('area for the fault', area, 'mm2', {
          symbol: 'A',
          formula: 'I · √t / k',
          inputs: [current, time, k.value],
          notes: timeNotes(time),
        }),
      );
    }
    return refused(`${tableName(iecShortTime)} has no k for this area`, 'current');
  },
});

export const shortTimeCurrent = defineFunction({
  name: 'shortTimeCurrent',
  group: GROUP,
  summary: 'Fault current a conductor survives for a time.',
  parameters: { size: sizeParameter, time: timeParameter, metal: metalParameter, insulation: insulationParameter },
  result: 'current, A',
  worst: 'low',
  validity: VALIDITY,
  sources: SOURCES,
  examples: [
    {
      call: 'shortTimeCurrent(size: 95 mm2, time: 1 s, insulation: xlpe)',
      gives: '13585 A',
      source: 'hand calculation: 143 · 95 / √1 s',
    },
    {
      call: 'shortTimeCurrent(size: 2/0 AWG, time: 0.1 s, insulation: xlpe)',
      gives: '30284 A',
      tolerance: 0.01,
      source: 'ICEA P-32-382, 90 °C thermoset copper, 0.07195 A/cmil·√s (its k is 0.7 % lower)',
    },
  ],
  compute: ({ size, time, metal, insulation }): Result => {
    const area = areaIn(size);
    const row = rowsOf(insulation).find((candidate) => area <= (candidate.upTo ?? Infinity));
    if (!row) return refused(`${tableName(iecShortTime)} has no k for this area`, 'size');
    const k = kOf(row, metal, insulation);
    if (!k.ok) return k.result;
    return known(
      derive('short-time current', (numberIn(k.value, '') * area) / Math.sqrt(numberIn(time, 's')), 'A', {
        symbol: 'I',
        formula: 'k · A / √t',
        inputs: [k.value, size, time],
        notes: timeNotes(time),
      }),
    );
  },
});
