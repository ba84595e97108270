import type { Dice } from '../helpers/random.js';

/** Mean share of the time for which the one load runs, and what it takes then, W. */
export const LOAD_SHARE = 0.6;
export const LOAD_WATTS = 512;
/** The turbine of sites that have one; it is lost and comes back with the grid. */
export const TURBINE = 'Brook';

/**
 * A site for rules: one load, a set with a charger, a grid with another, in some a link that carries the charge of the bank, in some an array,
 * in some a turbine (by dice of its own). The names are those that random rules use.
 */
export function ruleSite(dice: Dice, other: Dice): string {
  const isLead = dice.chance(0.25);
  const isHot = isLead && dice.chance(0.3);
  const hasLink = dice.chance(0.3);
  const hasArray = dice.chance(0.15);
  const cells = isLead ? 24 : 16;
  const absorb = isLead ? dice.pick([57, 57.6, 58.4]) : dice.pick([55, 56, 56.8]);
  const float = isLead ? 54.4 : dice.pick([53.8, 54.4]);
  // Some sets charge fast, some hardly more than the load takes, some less.
  const current = dice.pick([60, 60, 60, 20, 10, 5]);
  const parts = [
    'generator Genset { rated: 5 kW   apparent: 5 kVA   powerFactor: 1   voltage: 230 V   fuel: diesel   burn: { 0 %: 0.5 L/h, 100 %: 2 L/h } }',
    'grid Mains { voltage: 230 V   rating: 16 A }',
    `charger Rect { input: 180..264 V   currentLimit: ${current} A   absorb: ${absorb} V ${
      dice.chance(0.5) ? `  float: ${float} V ` : ''
    }  efficiency: 93 %   powerFactor: 0.98   ${dice.chance(0.5) ? 'remoteSense: yes' : ''}   ${isHot ? 'temperatureCompensation: -96 mV/K' : ''} }`,
    'charger Shore { input: 180..264 V   currentLimit: 20 A   absorb: 55 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }',
    `battery Bank { chemistry: ${isLead ? 'agm' : 'lfp'}   voltage: ${isLead ? 48 : 51.2} V   cells: ${cells}   capacity: 100 Ah   resistance: 16..32 mohm   reserve: 5 %   cellTemperature: ${isHot ? 40 : 25} degC }`,
    `load Fan { power: ${LOAD_WATTS} W   supply: dc   duty: ${100 * LOAD_SHARE} % }`,
    'run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }',
    'run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }',
    'run Post: Mains -> Shore.ac { size: 4 mm2   length: 10 m }',
    'run Aft: Shore.dc -> Bank { size: 25 mm2   length: 2 m }',
    'run Line: Bank -> Fan { size: 6 mm2   length: 2 m }',
    ...(hasLink ? ['link BmsLink: Bank -> Genset { medium: can   timeOut: 30 s }'] : []),
    ...(hasArray
      ? [
          'solar Array { power: 1 kW   openCircuitVoltage: 100 V   maximumPowerVoltage: 82 V   shortCircuitCurrent: 13 A   maximumPowerCurrent: 12.2 A   powerCoefficient: -0.3 %/K   voltageCoefficient: -0.3 %/K   noct: 45 degC   tilt: 30 deg   azimuth: 180 deg }',
          'chargeController Sun { tracking: mppt   currentLimit: 20 A   efficiency: 97 %   absorb: 55 V }',
          'run Roof: Array -> Sun.solar { size: 6 mm2   length: 5 m }',
          'run Deck: Sun.dc -> Bank { size: 10 mm2   length: 2 m }',
        ]
      : []),
    ...(other.chance(0.2)
      ? [
          `hydro ${TURBINE} { head: 20 m   flow: ${other.pick([1, 3, 8])} L/s   penstockLength: 60 m   penstockDiameter: 80 mm   roughness: 140   turbineEfficiency: 65 %   generatorEfficiency: 85 %   voltage: ${absorb} V   currentLimit: 25 A   heldBy: diversion   diversionPower: 1.5 kW }`,
          `run Creek: ${TURBINE} -> Bank { size: 16 mm2   length: 3 m }`,
        ]
      : []),
  ];
  const months = Array.from({ length: 12 }, (_, month) => `${month + 1}: 0.45`).join(', ');
  return `design D {
  site { altitude: 0 m   ambient: 20 degC   latitude: 45 deg   longitude: 15 deg   timeZone: "Etc/GMT-1"   clearness: { ${months} } }
  ${parts.join('\n  ')}
  ${rules(dice, hasLink, absorb)}
  scenario Play { from: 2027-03-10   duration: 1 d   soc(Bank): 50 %   ${hasArray ? 'sun: months' : ''} }
}
`;
}

const chance = (dice: Dice) => (): number => dice.between(0, 1);

/** One control, in some with a fallback for the lost link, or two of which one may have priority. */
function rules(dice: Dice, hasLink: boolean, absorb: number): string {
  const control = (): string => (dice.chance(0.5) ? carefulControl(dice, absorb) : randomControl(chance(dice)));
  const first = control();
  const fallback = hasLink && dice.chance(0.7) ? `without BmsLink { ${dice.pick(FALLBACKS)} }` : '';
  const one = fallback === '' ? first : first.replace(/\}$/, `${fallback}\n}`);
  if (!dice.chance(0.12)) return one;
  const second = control().replace('control Autostart', 'control Second');
  return `${one}\n  ${second.replace(/\}$/, `${dice.pick(['', 'priority: 1'])}\n}`)}`;
}

const FALLBACKS: readonly string[] = [
  'start when voltage(Bank) < 50.4 V for 3 min   stop when voltage(Bank) > 54.6 V for 20 min',
  'start when voltage(Bank) < 48 V for 10 min   stop when voltage(Bank) > 53 V for 1 h   maximumRun: 6 h',
  'start when voltage(Bank) < 46 V   maximumRun: 4 h',
];

/** Rules as somebody writes them who knows what they are for: started when little is left, stopped when the bank is charged. */
function carefulControl(dice: Dice, absorb: number): string {
  const low = dice.pick([20, 30, 40]);
  const high = dice.pick([70, 80, 90, 95]);
  const below = (by: number): string => (absorb - by).toFixed(1);
  const dwell = (...of: readonly string[]): string => ` for ${dice.pick(of)}`;
  const starts = [
    `start when soc(Bank) < ${low} %${dice.chance(0.5) ? dwell('1 min', '10 min') : ''}`,
    `start when voltage(Bank) < ${dice.pick([48, 50, 50.8])} V${dwell('1 min', '3 min', '10 min')}`,
  ];
  const stops = [
    `stop when soc(Bank) > ${high} %`,
    `stop when voltage(Bank) > ${below(dice.pick([0.2, 0.5, 0.8, 1.5]))} V${dwell('5 min', '20 min', '1 h', '12 h')}`,
    `stop when current(Bank) < ${dice.pick([2, 4])} A and voltage(Bank) > ${below(0.5)} V${dwell('10 min', '30 min')}`,
  ];
  const lines = [
    dice.pick(starts),
    dice.pick(stops),
    dice.pick(['', '', stops[0]!]),
    dice.pick(['', 'minimumRun: 45 min', 'minimumRun: 12 h']),
    dice.pick(['', '', 'minimumRest: 15 min']),
    dice.pick(['', '', 'maximumRun: 8 h', 'maximumRun: 6 h']),
    dice.pick(['', '', 'warmUp: 2 min   coolDown: 3 min']),
    dice.pick(['', '', '', 'quiet: 22:00..06:30', 'quiet: 22:00..06:30 unless soc(Bank) < 15 %']),
  ];
  return `control Autostart of Genset {\n${lines.filter((line, at) => line !== '' && lines.indexOf(line) === at).join('\n')}\n}`;
}

const pick = <T>(next: () => number, of: readonly T[]): T => of[Math.floor(next() * of.length)]!;

const SOC = [10, 20, 30, 40, 50, 60, 70, 80, 90];
const V = [46, 48, 50, 52, 54, 55.5];

function comparison(next: () => number, low: boolean): string {
  const sign = (isLow: boolean): string => pick(next, isLow ? ['<', '<='] : ['>', '>=']);
  const kind = next();
  // Most rules look the way a rule of their kind does, some do not.
  const isLow = next() < 0.9 ? low : !low;
  if (kind < 0.55) return `soc(Bank) ${sign(isLow)} ${pick(next, isLow ? SOC.slice(0, 6) : SOC.slice(4))} %`;
  if (kind < 0.75) return `voltage(Bank) ${sign(isLow)} ${pick(next, isLow ? V.slice(0, 4) : V.slice(3))} V`;
  if (kind < 0.83) return `power(Fan) ${sign(!isLow)} ${pick(next, [100, 300, 600])} W`;
  if (kind < 0.88) return `current(Bank) ${pick(next, ['<', '>'])} ${pick(next, [-5, 0.5, 10])} A`;
  if (kind < 0.94) return pick(next, ['power(Mains) == 0 W', 'power(Mains) > 0 W']);
  return pick(next, ['hour >= 8 h and hour < 20 h', 'hour >= 18 h', 'hour < 6 h']);
}

function condition(next: () => number, low: boolean): string {
  const kind = next();
  if (kind < 0.6) return comparison(next, low);
  if (kind < 0.75) return `${comparison(next, low)} and ${comparison(next, low)}`;
  if (kind < 0.9) return `(${comparison(next, low)} or ${comparison(next, low)})`;
  return `not (${comparison(next, !low)})`;
}

const dwell = (next: () => number): string => pick(next, ['', '', ' for 1 min', ' for 10 min', ' for 1 h']);

/** Rules as somebody might write them who was not attentive. */
function randomControl(next: () => number): string {
  const rules = [
    `start when ${condition(next, true)}${dwell(next)}`,
    ...(next() < 0.3 ? [`start when ${condition(next, true)}${dwell(next)}`] : []),
    `stop when ${condition(next, false)}${dwell(next)}`,
    ...(next() < 0.3 ? [`stop when ${condition(next, false)}${dwell(next)}`] : []),
    pick(next, ['', 'minimumRun: 10 min', 'minimumRun: 45 min']),
    pick(next, ['', 'minimumRest: 15 min']),
    pick(next, ['', '', 'maximumRun: 4 h']),
    pick(next, ['', 'warmUp: 2 min   coolDown: 3 min']),
    pick(next, ['', '', '', 'quiet: 21:00..07:00', 'quiet: 21:00..07:00 unless soc(Bank) < 20 %']),
  ];
  return `control Autostart of Genset {\n${rules.filter(Boolean).join('\n')}\n}`;
}
