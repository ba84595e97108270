import { type Derivation, type Result, derive, fromTable, known, numberIn, refused } from '../../derivation/index.js';
import { type Metal, iecShortTime, sourceOf, tableName } from '../../reference/index.js';
import { type PartArgument, defineFunction, mayWord, needs } from '../registry.js';
import {
  type Chosen,
  type Found,
  GROUP,
  areaIn,
  found,
  maybeMetalParameter,
  notFound,
  partQuantity,
  settleMetal,
  settleWord,
  sizeParameter,
  typeParameter,
  named,
} from './common.js';

const INSULATIONS = ['pvc', 'pvc90', 'xlpe', 'rubber'] as const;
type Insulation = (typeof INSULATIONS)[number];

const insulationParameter = mayWord(
  INSULATIONS,
  'insulation: pvc (70 °C), pvc90 (90 °C), xlpe (90 °C, also EPR) or rubber (60 °C); pvc when neither it nor a type says',
);
const timeParameter = needs('time', 's', 'time until the device clears', {
  minimum: 0,
  aboveMinimum: true,
  maximum: iecShortTime.longestTime,
});

const HOT_PVC = Math.min(...iecShortTime.rows.filter((row) => row.insulation === 'pvc90').map((row) => row.initial));

/** Metal and insulation from the arguments, the type (whose material is its insulation) or the defaults. */
function settle(given: {
  readonly metal: Metal | undefined;
  readonly insulation: Insulation | undefined;
  readonly type: PartArgument | undefined;
}): Found<{ metal: Chosen<Metal>; insulation: Chosen<Insulation> }> {
  const metal = settleMetal(given.metal, given.type);
  if (!metal.ok) return metal;
  const insulation = settleWord({
    name: 'insulation',
    property: 'material',
    words: INSULATIONS,
    given: given.insulation,
    part: given.type,
    fallback: 'pvc',
    why: 'the usual material',
  });
  if (!insulation.ok) return insulation;
  return found({ metal: metal.value, insulation: hotter(insulation.value, given.type) });
}

/** PVC rated 90 °C starts a fault hotter and has a k of its own. */
function hotter(insulation: Chosen<Insulation>, type: PartArgument | undefined): Chosen<Insulation> {
  // A type that is held to a cooler column starts from that temperature.
  const rated = partQuantity(type, 'ampacityColumn', 'temperature') ?? partQuantity(type, 'insulation', 'temperature');
  if (insulation.given || insulation.word !== 'pvc' || !rated || numberIn(rated, 'degC') < HOT_PVC) return insulation;
  return { ...insulation, word: 'pvc90', derivation: { ...insulation.derivation, inputs: [rated] } };
}

/** k of a conductor up to an area in mm² (Infinity: any). */
interface Constant {
  readonly upTo: number;
  readonly k: Derivation;
}

/** The constants of an insulation and metal, thin conductors first. */
function constantsOf(metal: Chosen<Metal>, insulation: Chosen<Insulation>): Found<readonly Constant[]> {
  const constants = iecShortTime.rows.flatMap((row): Constant[] => {
    const value = row[metal.word];
    if (row.insulation !== insulation.word || value === undefined) return [];
    const k = fromTable('k of the conductor', value, '', sourceOf(iecShortTime, row), {
      symbol: 'k',
      inputs: [metal.derivation, insulation.derivation],
      notes: [`A·s^½ per mm2${row.upTo === undefined ? '' : `, to ${row.upTo} mm2`}`],
    });
    return [{ upTo: row.upTo ?? Infinity, k }];
  });
  return constants.length > 0
    ? found(constants)
    : notFound(`${tableName(iecShortTime)} has no k for ${metal.word} with ${insulation.word}`, 'metal');
}

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
    metal: maybeMetalParameter,
    insulation: insulationParameter,
    type: typeParameter,
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
  compute: ({ current, time, ...given }): Result => {
    const conductor = settle(given);
    if (!conductor.ok) return conductor.result;
    const { metal, insulation } = conductor.value;
    const heat = numberIn(current, 'A') * Math.sqrt(numberIn(time, 's'));
    const constants = constantsOf(metal, insulation);
    if (!constants.ok) return constants.result;
    for (const { upTo, k } of constants.value) {
      const area = heat / numberIn(k, '');
      if (area > upTo) continue;
      return known(
        derive('area for the fault', area, 'mm2', {
          symbol: 'A',
          formula: 'I · √t / k',
          inputs: [named(current, 'I'), named(time, 't'), k],
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
  parameters: {
    size: sizeParameter,
    time: timeParameter,
    metal: maybeMetalParameter,
    insulation: insulationParameter,
    type: typeParameter,
  },
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
  compute: ({ size, time, ...given }): Result => {
    const conductor = settle(given);
    if (!conductor.ok) return conductor.result;
    const { metal, insulation } = conductor.value;
    const area = areaIn(size);
    const constants = constantsOf(metal, insulation);
    if (!constants.ok) return constants.result;
    const k = constants.value.find((constant) => area <= constant.upTo)?.k;
    if (!k) return refused(`${tableName(iecShortTime)} has no k for this area`, 'size');
    return known(
      derive('short-time current', (numberIn(k, '') * area) / Math.sqrt(numberIn(time, 's')), 'A', {
        symbol: 'I',
        formula: 'k · A / √t',
        inputs: [k, named(size, 'A'), named(time, 't')],
        notes: timeNotes(time),
      }),
    );
  },
});
