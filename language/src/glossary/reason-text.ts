import {
  type BoundKind,
  type Derivation,
  type NetworkMode,
  type Reason,
  type ReasonKind,
  type ReasonOf,
  clauseText,
} from '../derivation/index.js';
import { shortfallText } from '../calculate/conductors/shortfall.js';
import { cellText } from '../calculate/conductors/table-cell.js';
import { MONTH_NAMES } from '../quantities/supply/months.js';
import { formatSpan } from '../simulate/result.js';
import { formatNumber, formatQuantity, quantity } from '../quantity/index.js';

/** Empty for what needs no remark. */
const BOUNDS: Readonly<Record<BoundKind, string>> = {
  setting: '',
  rating: '',
  power: 'its power limit',
  inputSetting: 'its input limit',
  inputRating: 'its highest input current by data sheet',
  supply: 'what its supply can still give',
  drive: 'what drives it has to give',
  modules: 'all that its modules give at standard test conditions',
  bank: 'what the bank accepts',
  link: 'the limit the bank sends over the link',
  temperature: 'the temperature of the cells',
  hold: 'the voltage it holds',
  nothingLeft: 'the loads it passes its supply on to leave nothing',
};

const NETWORK: Readonly<Record<NetworkMode, string>> = {
  demand: 'everything draws and nothing charges',
  supply: 'everything charges and nothing draws',
  both: 'everything draws and charges',
  power: 'everything runs',
  surge: 'inverters give their surge power',
  stated: 'all stated loads run',
};

const MEETING = { demand: 'everything draws', supply: 'everything charges', both: 'everything draws and charges' };

const NEEDS = {
  depth: 'capacity by depth of discharge',
  ageing: 'capacity by ageing',
  dailyDepth: 'capacity by daily depth',
};

const LINES = { 1: 'first', 2: 'second', 3: 'third' };

const ampereText = (amperes: number): string => formatQuantity(quantity(amperes, 'A'));

/** `06:30` */
const clock = (seconds: number): string =>
  `${String(Math.floor(seconds / 3600)).padStart(2, '0')}:${String(Math.floor((seconds % 3600) / 60)).padStart(2, '0')}`;

/** Exhaustive: a new kind of reason without words does not compile. */
const WORDS: { readonly [K in ReasonKind]: (reason: ReasonOf<K>) => string } = {
  bound: ({ bound, lessPassed }) =>
    BOUNDS[bound] && `${BOUNDS[bound]}${lessPassed ? ', less the loads it passes through' : ''}`,
  state: ({ title }) => `with ${title}`,
  corner: ({ ends }) => `at ${ends.map(({ fact, value }) => `${fact} ${formatQuantity(value)}`).join(', ')}`,
  clause: ({ clause }) => clauseText(clause),
  timeOfDay: ({ seconds }) => `at ${clock(seconds)}`,
  month: ({ month }) => MONTH_NAMES[month - 1] ?? '',
  // Half a minute is no minute, and the start is what is meant.
  moment: ({ seconds }) => (seconds < 30 ? 'at the start' : `${formatSpan(seconds)} after the start`),
  notWithinScenario: () => 'not within the scenario',
  start: ({ load }) => `start of ${load}`,
  leg: ({ leg }) => `leg ${leg}`,
  conductor: ({ conductor }) => `conductor ${conductor}`,
  heavierLeg: ({ leg }) => `leg ${leg} carries more`,
  farthestLine: ({ line }) => `${LINES[line]} line voltage is farthest from the mean`,
  legsInPhase: () => 'both legs in phase: their currents add up',
  cellTemperature: ({ celsius }) => `cells at ${formatNumber(celsius)} °C`,
  noCharging: () => 'no charging at this cell temperature',
  stillWeather: ({ from }) => `nothing that can be counted on at any one time: the ${from} may be still`,
  unstatedWeather: ({ from }) => `nothing that can be counted on: nobody has stated how much ${from} there is`,
  coldCompensation: () => 'raised by temperature compensation at the lowest cell temperature',
  noSetPoint: () => 'no charger set point is stated',
  setPoint: ({ subject, property }) => (property === undefined ? 'nominal voltage' : `${property} of ${subject}`),
  lowestVoltage: ({ of }) => (of === 'bus' ? 'lowest bus voltage' : 'lowest voltage at which it runs'),
  inputWindow: ({ subject }) => `${subject} drops out below its window`,
  supplyTolerance: ({ subject }) => `${subject} at the low end of its tolerance`,
  network: ({ mode }) => NETWORK[mode],
  meeting: ({ mode }) => MEETING[mode],
  contradicted: ({ by, fact }) => `${by} than ${fact}`,
  maximumPower: () => 'at maximum power',
  noBank: () => 'no bank: arrays and electronics give no more than their limits',
  faultSource: ({ source }) => `from ${source}`,
  faultPlace: ({ at, source }) => `at ${at}, from ${source}, hot conductors`,
  farFault: ({ isOverOneWay }) =>
    `hot conductors, fault at the far end${isOverOneWay ? ', other ways to it unbroken' : ''}`,
  aboveCurve: () => 'or faster: above the largest current of its curve',
  classBound: ({ of, onDirect }) =>
    `class bound of ${of}, not this device${onDirect ? '; stated for alternating current' : ''}`,
  overloadDevice: () => 'its device protects the conductors against overload',
  smallestDevice: ({ device }) => `rating of ${device}`,
  ratedOutput: ({ inverters, heldTo }) =>
    `rated output of ${inverters.join(' and ')}${heldTo ? `, held to ${formatQuantity(heldTo)} by the device in the run` : ''}`,
  withoutOtherSources: ({ bank }) => `${bank}, without sun, mains or vehicle`,
  nothingDrawn: () => 'nothing is drawn',
  chargeLimit: () => 'the bank’s own charge limit',
  leftByLoads: () => 'what the loads leave of the charger current',
  deficit: ({ amperes }) =>
    amperes === 0
      ? 'the loads draw all the chargers give'
      : `the loads draw ${ampereText(amperes)} more than the chargers give: the bank is discharged`,
  lowFigure: () => 'the low figure of the span',
  sizedBy: ({ need }) => NEEDS[need],
  takeOff: ({ at }) => `take-off ${at}`,
  ownCoefficient: () => 'the module’s own coefficient',
  columnLimit: ({ cell }) => `limit of its type (${cellText(cell)})`,
  terminalLimit: ({ cell, conductor }) =>
    `what its terminals allow (${cellText(cell)}); the conductor alone has ${ampereText(conductor)}`,
  ampacity: ({ by }) => (by === 'table' ? 'ampacity of the table' : 'correction and adjustment'),
  smallestSize: ({ size }) => `${size} is the smallest standard size`,
  smallerSize: ({ size, shortfall }) => `${size}: ${shortfallText(shortfall)}`,
  nextRating: ({ amperes }) => `the next standard rating at or above ${Number(amperes.toPrecision(5))} A`,
  noReduction: () => 'the rating itself: the site needs no reduction',
  largestReduction: ({ factor, value }) => `${factor} ${formatQuantity(value, 3)} is the largest reduction`,
};

/** A reason in words; empty where it needs none. */
export const reasonText = (reason: Reason): string => (WORDS[reason.kind] as (each: Reason) => string)(reason);

/** What decided a value, in words; undefined where that needs none. */
export const reasonsText = (reasons: readonly Reason[] = []): string | undefined =>
  reasons
    .map((reason) => reasonText(reason))
    .filter(Boolean)
    .join('; ') || undefined;

/** What decided a derivation, in words; undefined where nothing is to be said. */
export const governingText = ({ governing }: Pick<Derivation, 'governing'>): string | undefined =>
  reasonsText(governing);

/** The same behind a comma, to go on in a sentence: `, with Genset running`; empty where nothing is to be said. */
export function governedBy(derivation: Pick<Derivation, 'governing'>): string {
  const text = governingText(derivation);
  return text === undefined ? '' : `, ${text}`;
}

/** The same in brackets: ` (at voltage 10.5 V)`; empty where nothing is to be said. */
export function governedInBrackets(derivation: Pick<Derivation, 'governing'>): string {
  const text = governingText(derivation);
  return text === undefined ? '' : ` (${text})`;
}
