import { expect } from 'vitest';
import type { AnalysedDesign, PlayOptions, Played, ScenarioResult } from '../../../language/src/index.js';
import { playScenario } from '../../../language/src/index.js';
import type { EngineOptions, Outcome } from '../../../language/src/simulate/engine-types.js';
import { Engine } from '../../../language/src/simulate/engine.js';
import type { BankPlan, Plan } from '../../../language/src/simulate/plan.js';
import { prepare } from '../../../language/src/simulate/prepare.js';
import { analyseText } from '../../helpers/analyse.js';

/** The first design of a text, analysed. */
export async function designOf(text: string): Promise<AnalysedDesign> {
  const analysis = await analyseText(text);
  const errors = analysis.findings.filter(({ check }) =>
    ['syntax-error', 'unknown-name', 'wrong-type', 'wrong-dimension', 'duplicate-name'].includes(check),
  );
  expect(errors.map(({ message }) => message)).toEqual([]);
  return analysis.designs[0]!;
}

/** Plays the first scenario of the first design of a text. */
export async function playText(text: string, options: PlayOptions = {}): Promise<Played> {
  const { context, system } = await designOf(text);
  return playScenario(context, system.scenarios[0]!, options);
}

/** As `playText`; fails the test when the scenario cannot be played. */
export async function resultOf(text: string, options: PlayOptions = {}): Promise<ScenarioResult> {
  const played = await playText(text, options);
  if (played.kind !== 'played') expect.fail(JSON.stringify(played));
  return played.result;
}

/** Invented parts of a small system: a bank, an inverter on it, a charger on a generator that rules start, and one load. */
export interface Small {
  readonly bank?: string;
  readonly charger?: string;
  readonly inverter?: string;
  readonly generator?: string;
  readonly load?: string;
  readonly more?: string;
  readonly rules?: string;
  readonly site?: string;
  readonly scenario: string;
}

/** Properties with some replaced or added; each stands as `name: value`, parted by three blanks or line ends. */
function merged(usual: Readonly<Record<string, string>>, own = ''): string {
  const added = own
    .split(/\s{3,}|\n/)
    .map((each) => each.trim())
    .filter((each) => each !== '');
  const names = added.map((each) => each.split(':')[0]!);
  const kept = Object.entries(usual).filter(([name]) => !names.includes(name));
  return [...kept.map(([name, value]) => `${name}: ${value}`), ...added].join('   ');
}

const BANK = {
  chemistry: 'lfp',
  voltage: '51.2 V',
  cells: '16',
  capacity: '300 Ah',
  resistance: '10 mohm',
  cellTemperature: '25 degC',
};
const INVERTER = {
  rated: '5 kW',
  apparent: '5 kVA',
  surge: '10 kW',
  voltage: '230 V',
  efficiency: '92 %',
  idle: '0 W',
  cutOff: '44 V',
  reconnect: '50 V',
};
const GENERATOR = {
  rated: '12 kW',
  apparent: '12 kVA',
  voltage: '230 V',
  fuel: 'diesel',
  powerFactor: '1',
  burn: '{ 0 %: 0.5 L/h, 100 %: 4.5 L/h }',
};
const CHARGER = {
  currentLimit: '120 A',
  maximumCurrent: '120 A',
  absorb: '57.6 V',
  efficiency: '93 %',
  powerFactor: '0.98',
  input: '180..264 V',
};
const LOAD = { power: '1500 W', voltage: '230 V', profile: 'always' };

/** A design of invented parts, short of all that a test does not need. */
export const small = (parts: Small): string => `
design Small {
  site { altitude: 0 m   ambient: 20 degC   latitude: 45 deg   longitude: 15 deg   ${parts.site ?? ''} }
  battery Bank { ${merged(BANK, parts.bank)} }
  inverter Inv { ${merged(INVERTER, parts.inverter)} }
  generator Set { ${merged(GENERATOR, parts.generator)} }
  charger Rect { ${merged(CHARGER, parts.charger)} }
  load House { ${merged(LOAD, parts.load)} }
  bus Bar { rating: 400 A }
  run BankRun: Bank -> Bar { }
  run InvRun: Bar -> Inv.dc { }
  run RectRun: Rect.dc -> Bar { }
  run SetRun: Set -> Rect.ac { }
  run HouseRun: Inv.ac -> House { }
  ${parts.more ?? ''}
  ${parts.rules ?? `control Start of Set { start when soc(Bank) <= 30 %   stop when soc(Bank) >= 90 % }`}
  scenario Play { from: 2027-01-10   ${parts.scenario} }
}
`;

/** A bank that an array charges as the weather of the run has it, with what else its scenario says. */
export const sunny = (scenario: string): string =>
  small({
    site: `clearness: { ${Array.from({ length: 12 }, (_, month) => `${month + 1}: 0.45`).join(', ')} }`,
    bank: 'capacity: 150 Ah',
    load: 'power: 250 W',
    more: `
  solar Array {
    power: 400 W   openCircuitVoltage: 37 V   shortCircuitCurrent: 13.8 A   maximumPowerVoltage: 31 V   series: 4   parallel: 2
    tilt: 60 deg   azimuth: 180 deg   powerCoefficient: -0.35 %/K   noct: 45 degC
  }
  chargeController Tracker { currentLimit: 70 A   absorb: 56 V   float: 54 V   efficiency: 97 % }
  run ArrayRun: Array -> Tracker.solar { }
  run SunRun: Tracker.dc -> Bar { }`,
    scenario: `sun: months   ${scenario}`,
  });

/** The plain numbers of a design's first scenario, to be changed at will. */
export async function planOf(text: string): Promise<Plan> {
  const { context, system } = await designOf(text);
  const prepared = prepare(context, system.scenarios[0]!, {});
  if (prepared.kind !== 'ready') expect.fail(JSON.stringify(prepared));
  return prepared.plan;
}

/** Plays a plan, with what was recorded of one signal over time. */
export function run(
  plan: Plan,
  options: Partial<EngineOptions> = {},
): Outcome & { readonly of: (name: string) => Float64Array } {
  const outcome = new Engine(plan, { resolution: 60, seed: 1, run: 0, isRandom: false, ...options }).play();
  const of = (name: string): Float64Array => {
    const at = plan.signals.findIndex((signal) => signal.name === name);
    if (at < 0) expect.fail(`${name} is not recorded`);
    return outcome.recorder.column(at);
  };
  return { ...outcome, of };
}

/** A bank of constant rest voltage next to no resistance and no loss, for closed forms. */
export const ideal = ({ polarisation: _none, ...bank }: BankPlan, volts: number): BankPlan => ({
  ...bank,
  curve: {
    soc: Float64Array.of(0, 1),
    volts: Float64Array.of(volts, volts),
    energy: Float64Array.of(0, volts),
  },
  resistance: 1e-8,
  leads: 0,
  efficiency: 1,
  efficiencyFull: 1,
  selfDischarge: 0,
});
