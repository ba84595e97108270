/*
 * The text of a new design, from the answers to five questions. What nobody answered stands as a hole `?` or is left out, so that the checks
 * ask for it; nothing is made up. It knows no editor.
 */

export type SourceAnswer = 'grid' | 'generator' | 'solar' | 'alternator';

export interface NewDesign {
  readonly name: string;
  /** Nominal voltage of the bank, V; undefined where that is not known yet. */
  readonly voltage: 12 | 24 | 48 | undefined;
  readonly sources: readonly SourceAnswer[];
  /** Loads as they were typed: `Heater 1.2 kW`, `Fridge`. */
  readonly loads: readonly string[];
  readonly basis: 'nec' | 'iec' | 'craft';
  readonly place: PlaceAnswer | undefined;
}

export interface PlaceAnswer {
  /** m. */
  readonly altitude: number;
  /** °C. */
  readonly coldest: number;
  readonly warmest: number;
}

/** Cells in series and nominal voltage of a lithium iron phosphate bank for each system voltage: 3.2 V a cell. */
const BANKS = {
  12: { cells: 4, volts: '12.8 V' },
  24: { cells: 8, volts: '25.6 V' },
  48: { cells: 16, volts: '51.2 V' },
} as const;

/** The alternating voltage and frequency that are usual where a practice is followed. */
const MAINS = { nec: '120 V', iec: '230 V', craft: '230 V' } as const;
const HERTZ = { nec: '60 Hz', iec: '50 Hz', craft: '50 Hz' } as const;

/** A load as it was typed, told apart: its name as the language writes names, and its power where one is given. */
export function loadOf(typed: string, index: number): { readonly name: string; readonly power: string } {
  const power = /(\d+(?:[.,]\d+)?)\s*(kW|W)\b/i.exec(typed);
  const words = typed.replace(power?.[0] ?? '', ' ').match(/[\p{L}\d]+/gu) ?? [];
  const ascii = words.map((word) => word.normalize('NFD').replace(/[^A-Za-z\d]/g, '')).filter(Boolean);
  const joined = ascii.map((word) => word[0]!.toUpperCase() + word.slice(1)).join('');
  const name = /^[A-Za-z]/.test(joined) ? joined : `Load${index + 1}`;
  const unit = power?.[2]?.toLowerCase() === 'kw' ? 'kW' : 'W';
  return { name, power: power ? `${power[1]!.replace(',', '.')} ${unit}` : '?' };
}

/** A name that is not taken yet; the taken ones are noted. */
function freeName(wished: string, taken: Set<string>): string {
  let name = wished;
  for (let count = 2; taken.has(name); count += 1) name = `${wished}${count}`;
  taken.add(name);
  return name;
}

/** Writes the design. */
export function designText({ name, voltage, sources, loads, basis, place }: NewDesign): string {
  const taken = new Set([
    'Bank',
    'DcBus',
    'BankFuse',
    'Genset',
    'Mains',
    'Charger',
    'Array',
    'Controller',
    'Alternator',
  ]);
  const bank = voltage ? BANKS[voltage] : undefined;
  const things: string[] = [];
  const runs: string[] = [`run BankFeed: Bank -> BankFuse -> DcBus { size: ? }`];
  if (sources.includes('grid'))
    things.push(`grid Mains { voltage: ${MAINS[basis]}   frequency: ${HERTZ[basis]}   rating: ? }`);
  if (sources.includes('generator'))
    things.push(`generator Genset { rated: ?   voltage: ${MAINS[basis]}   frequency: ${HERTZ[basis]} }`);
  const alternating = [
    ...(sources.includes('grid') ? ['Mains'] : []),
    ...(sources.includes('generator') ? ['Genset'] : []),
  ];
  for (const [index, supply] of alternating.entries()) {
    const charger = index === 0 ? 'Charger' : `${supply}Charger`;
    taken.add(charger);
    things.push(`charger ${charger} { currentLimit: ? }`);
    runs.push(
      `run ${supply}Cord: ${supply} -> ${charger}.ac { size: ? }`,
      `run ${charger}Feed: ${charger}.dc -> DcBus { size: ? }`,
    );
  }
  if (sources.includes('solar')) {
    things.push('solar Array { power: ? }', 'chargeController Controller { maximumCurrent: ? }');
    runs.push(
      'run ArrayFeed: Array -> Controller.solar { size: ? }',
      'run ControllerFeed: Controller.dc -> DcBus { size: ? }',
    );
  }
  if (sources.includes('alternator')) {
    things.push('alternator Alternator { currentLimit: ? }');
    runs.push('run AlternatorFeed: Alternator -> DcBus { size: ? }');
  }
  things.push(
    bank
      ? `battery Bank { chemistry: lfp   voltage: ${bank.volts}   cells: ${bank.cells}   capacity: ? }`
      : 'battery Bank { chemistry: lfp   voltage: ?   capacity: ? }',
    'fuse BankFuse { class: T   rating: ? }',
    'bus DcBus { rating: ? }',
  );
  for (const [index, typed] of loads.entries()) {
    const { name: wished, power } = loadOf(typed, index);
    const load = freeName(wished, taken);
    things.push(`load ${load} { power: ${power}   supply: dc }`);
    runs.push(`run ${load}Feed: DcBus -> ${load} { size: ? }`);
  }
  const site = place
    ? [`  site { altitude: ${place.altitude} m   ambient: ${place.coldest}..${place.warmest} degC }`]
    : [];
  return `/** A new design: each ? and each finding needs an answer. Lengths, types and data sheets are still to be stated. */
design ${name} {
  basis: ${basis}
${[...site, '', ...things.map((each) => `  ${each}`), '', ...runs.map((each) => `  ${each}`)].join('\n')}
}
`;
}
