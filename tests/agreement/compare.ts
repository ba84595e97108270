import { timeModel } from '../../language/src/reference/energy/index.js';
import { NotPlayed, columnOf } from './answers.js';
import { balanceOf } from './balance.js';
import {
  CLOSED_FORM,
  type Class,
  type Comparison,
  ENOUGH,
  RUN_TIME,
  type Tolerance,
  VOLTAGE,
  judged,
  shown,
} from './contract.js';
import { type Draft, type Question, type Thing, chargingIn, ofKind, stated } from './draft.js';
import {
  type DraftPlay,
  answerTo,
  busVolts,
  chargePlay,
  darkPlay,
  endOfService,
  groupCharge,
  meanCharge,
  perDay,
  setPlay,
  timeCarried,
  timeToCharge,
} from './plays.js';
import { SET } from './random-system.js';
import { feeding, grouping, moves } from './variants.js';

const MINUTE = 60;
/** Things whose run to the bus carries what they charge with alone. */
const directIn = (draft: Draft): Thing[] => chargingIn(draft).filter(({ kind }) => kind !== 'inverter');

/** All comparisons of one design. */
export async function comparisonsOf(draft: Draft): Promise<Comparison[]> {
  const { seed } = draft;
  const questions = [...runQuestions(draft), ...voltageQuestions(draft)];
  return [
    ...(await attempted(seed, async () => {
      const charge = await chargePlay(draft, questions);
      const dark = await darkPlay(draft, questions);
      return [
        ...chargeComparisons(charge),
        compared('autonomy', dark, 'AskAutonomy', timeCarried(dark), 'low', CLOSED_FORM, 'autonomyTime in min', MINUTE),
        ...runComparisons(charge, dark),
        ...voltageComparisons(charge, dark),
        ...balanceOf(charge),
        ...balanceOf(dark),
        ...(await attempted(seed, () => moves(charge, dark))),
      ];
    })),
    ...(ofKind(draft, 'generator').length > 0
      ? await attempted(seed, async () => setComparisons(await setPlay(draft)))
      : []),
    ...(await grouping(draft)),
    ...(await feeding(draft)),
  ];
}

/** What comes of plays; a play that the engine gives up is a disagreement of its own. */
async function attempted(seed: number, compare: () => Promise<Comparison[]>): Promise<Comparison[]> {
  const what = 'the engine plays what it is given';
  try {
    const found = await compare();
    return [...found, { of: 'play', seed, what, text: '' }];
  } catch (error) {
    if (!(error instanceof NotPlayed)) throw error;
    return [{ of: 'play', seed, what, fault: error.reason, text: error.text }];
  }
}

function compared(
  of: Class,
  from: DraftPlay,
  question: string,
  simulated: number,
  cautious: 'high' | 'low',
  tolerance: Tolerance,
  title: string,
  per = 1,
): Comparison {
  const answer = answerTo(from, question);
  const scaled = 'none' in answer ? answer : { value: answer.value / per };
  const fault = judged(scaled, simulated / per, cautious, tolerance);
  return {
    of,
    seed: from.draft.seed,
    what: `${title}: ${shown(scaled)}, played ${(simulated / per).toPrecision(4)}`,
    ...(fault === undefined ? {} : { fault }),
    text: from.text,
  };
}

function chargeComparisons(charge: DraftPlay): Comparison[] {
  return [
    compared('charge time', charge, 'AskTime', timeToCharge(charge), 'high', CLOSED_FORM, 'chargeTime in min', MINUTE),
    compared('net charge', charge, 'AskNet', meanCharge(charge), 'low', CLOSED_FORM, 'netChargeCurrent in A'),
  ];
}

function setComparisons(days: DraftPlay): Comparison[] {
  const each = perDay(days);
  if (!each) return [];
  return [
    compared('run time', days, 'AskRun', each.seconds, 'high', RUN_TIME, 'dailyRunTime in min', MINUTE),
    compared('fuel', days, 'AskFuel', each.litres, 'high', CLOSED_FORM, 'dailyFuel in L'),
  ];
}

/* ---- currents of runs ---- */

const hasRun = (draft: Draft, name: string): boolean => draft.runs.some((run) => run.name === name);
/** Things whose run to the bus has their name, and whose current is known from a play. */
const withRun = (draft: Draft): string[] =>
  // How several banks share is known only where their cables are.
  [
    ...(ofKind(draft, 'battery').length === 1 || draft.hasCables ? ofKind(draft, 'battery') : []),
    ...directIn(draft),
    ...ofKind(draft, 'inverter'),
  ]
    .map(({ name }) => name)
    .filter((name) => hasRun(draft, `${name}Run`));

const runQuestions = (draft: Draft): Question[] =>
  [
    ...withRun(draft).map((name) => `${name}Run`),
    ...ofKind(draft, 'charger').map(({ name }) => `${name}In`),
    ...(hasRun(draft, 'SetRun') ? ['SetRun'] : []),
  ].map((run) => ({ name: `Ask${run}`, expression: `${run}.current`, unit: 'A' }));

/** The largest current (A) that flowed to or from a thing; of an inverter at least what it gave over the voltage of the bank. */
function largest(of: DraftPlay, name: string): number {
  const { draft, played } = of;
  const has = (signal: string): boolean => played.series.columns.some((each) => each.name === `${signal}(${name})`);
  const volts = busVolts(of);
  const more = (value: number): number => (value > most ? value : most);
  let most = 0;
  if (has('current')) for (const value of columnOf(played, `current(${name})`)) most = more(Math.abs(value));
  if (ofKind(draft, 'inverter').some((each) => each.name === name) && !isPassing(draft, name))
    columnOf(played, `power(${name})`).forEach((value, at) => (most = more(value / volts(at))));
  return most;
}

/** Whether an inverter may pass its supply on, so that what it gives does not come from the bank. */
const isPassing = (draft: Draft, name: string): boolean => hasRun(draft, `${name}In`);

/**
 * Where a charger gives all it can in a play: alone, without a link over which the bank allows less, without cables that end its bulk charge
 * early, into lithium cells that take charge, from a supply that has enough, and with its loads carried to the end. Elsewhere a run is made for more than a play shows.
 */
function givesAll(charge: DraftPlay): boolean {
  const { draft } = charge;
  const chargers = chargingIn(draft);
  const isWarm = timeToCharge(charge) < Infinity;
  // Lead takes less the fuller it is, and a supply may have less than the charger could take.
  const isHeld =
    ['agm', 'gel', 'flooded'].includes(ofKind(draft, 'battery')[0]!.facts['chemistry'] as string) ||
    supplyIsSpent(charge);
  return (
    chargers.length === 1 &&
    draft.links.length === 0 &&
    !draft.hasCables &&
    isWarm &&
    !isHeld &&
    endOfService(charge) === Infinity
  );
}

/** Whether the source of alternating current gave all it can. */
function supplyIsSpent({ draft, played }: DraftPlay): boolean {
  const set = draft.things.find(({ name }) => name === SET);
  if (!set) return false;
  const amperes = stated(set, 'rating') ?? Infinity;
  // Its amperes are those of apparent power.
  const factor = Math.min(...ofKind(draft, 'charger', 'inverter').map((each) => stated(each, 'powerFactor') ?? 1));
  const volts = parseFloat(set.facts['voltage'] as string);
  const apparent = Math.min(stated(set, 'apparent') ?? Infinity, amperes * volts);
  const watts = Math.min(stated(set, 'rated') ?? Infinity, apparent * factor);
  return columnOf(played, `power(${SET})`).some((power) => power > 0.97 * watts);
}

function runComparisons(charge: DraftPlay, dark: DraftPlay): Comparison[] {
  const ofChargers = givesAll(charge) ? CLOSED_FORM : ENOUGH;
  const chargers = directIn(charge.draft).map(({ name }) => name);
  return [
    ...inputComparisons(charge, ofChargers),
    ...withRun(charge.draft).map((name) => {
      const most = Math.max(largest(charge, name), largest(dark, name));
      const tolerance = chargers.includes(name) ? ofChargers : ENOUGH;
      return compared('run current', charge, `Ask${name}Run`, most, 'high', tolerance, `${name}Run.current in A`);
    }),
  ];
}

/** What chargers take from their supply, worked out backward from what they gave, and what the source gave in all. */
function inputComparisons(charge: DraftPlay, tolerance: Tolerance): Comparison[] {
  const { draft, played } = charge;
  const [set] = ofKind(draft, 'generator', 'grid', 'vehicle').filter(({ name }) => name === SET);
  if (!set) return [];
  const supply = parseFloat(set.facts['voltage'] as string);
  const volts = busVolts(charge);
  const most = (values: Float64Array): number => values.reduce((so, next) => (next > so ? next : so), 0);
  const inputs = ofKind(draft, 'charger').map((charger) => {
    const watts = most(columnOf(played, `current(${charger.name})`).map((amperes, at) => amperes * volts(at)));
    const amperes = watts / (stated(charger, 'efficiency')! / 100) / stated(charger, 'powerFactor')! / supply;
    const title = `${charger.name}In.current in A`;
    return compared('run current', charge, `Ask${charger.name}In`, amperes, 'high', tolerance, title);
  });
  // At a power factor of 1 at best.
  const given = most(columnOf(played, `power(${SET})`)) / supply;
  return [...inputs, compared('run current', charge, 'AskSetRun', given, 'high', ENOUGH, 'SetRun.current in A')];
}

/* ---- voltages ---- */

/** A cut-off acts once the voltage has been low for so long: what collapses meanwhile does so below it. With a second in which it acts, s. */
const CUT_OFF_HOLD = timeModel('cut-off-hold').value + 1;

/** 4 mV a cell and kelvin, 27 K above 25 °C, over 2.4 V. */
const LOWERED: Tolerance = { ...VOLTAGE, more: 0.05 };

/** The lowest value at or below which something stays for at least so long (s): of each such stretch the highest value, and of these the lowest. */
function lowestHeld(time: Float64Array, values: Float64Array, hold: number): number {
  const count = time.length;
  let lowest = Infinity;
  for (let from = 0, to = 0; from < count; from += 1) {
    while (to < count - 1 && time[to]! < time[from]! + hold) to += 1;
    if (time[to]! < time[from]! + hold) break;
    let highest = -Infinity;
    for (let at = from; at <= to; at += 1) highest = Math.max(highest, values[at]!);
    lowest = Math.min(lowest, highest);
  }
  return lowest;
}

const voltageQuestions = (draft: Draft): Question[] =>
  ofKind(draft, 'battery').flatMap(({ name }) => [
    { name: `Ask${name}High`, expression: `${name}.highestVoltage`, unit: 'V' },
    { name: `Ask${name}Low`, expression: `${name}.lowestVoltage`, unit: 'V' },
  ]);

function voltageComparisons(charge: DraftPlay, dark: DraftPlay): Comparison[] {
  const charged = groupCharge(charge);
  const isFull = charged(charge.played.series.time.length - 1) > 0.98;
  // The set point of a charger that lowers it for warm cells counts in full: its sensor may be off.
  const isLowered = chargingIn(charge.draft).some((each) => each.facts['temperatureCompensation'] !== undefined);
  return ofKind(charge.draft, 'battery').flatMap(({ name }) => {
    const high = columnOf(charge.played, `voltage(${name})`).reduce((so, next) => Math.max(so, next));
    const low = lowestHeld(dark.played.series.time, columnOf(dark.played, `voltage(${name})`), CUT_OFF_HOLD);
    const [top, bottom] = [`${name}.highestVoltage in V`, `${name}.lowestVoltage in V`];
    return [
      compared(
        'voltage',
        charge,
        `Ask${name}High`,
        high,
        'high',
        isFull ? (isLowered ? LOWERED : VOLTAGE) : { ...VOLTAGE, more: Infinity },
        top,
      ),
      compared('voltage', dark, `Ask${name}Low`, low, 'low', { ...VOLTAGE, more: Infinity }, bottom),
    ];
  });
}
