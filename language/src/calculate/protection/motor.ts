import { type Derivation, type Result, derive, fromTable, known, numberIn, refused } from '../../derivation/index.js';
import { formatNumber } from '../../quantity/index.js';
import {
  MOTOR_DEVICES,
  type MotorDevice,
  necMotorCurrents,
  necMotorDevices,
  ruleValue,
  sourceOf,
  tableName,
} from '../../reference/index.js';
import { defaults, defineFunction, needs, wordOr } from '../registry.js';
import { GROUP, named, wordInput } from '../conductors/common.js';
import { ratingAtLeast, ratingAtMost, ratingDerivation } from '../conductors/protection.js';

const SYSTEMS = ['dc', 'single', 'three'] as const;
export const MOTORS = [
  'single-phase',
  'three-phase',
  'design-b',
  'wound-rotor',
  'synchronous',
  'direct-current',
] as const;

const fullLoad = needs('current', 'A', 'full-load current of the motor, of the table', { minimum: 0 });
/** Fractions of a horsepower are written as decimals: a sixth is 0.1667 hp. */
const SAME = 0.01;

export const motorCurrent = defineFunction({
  name: 'motorCurrent',
  group: GROUP,
  summary: 'Full-load current of a motor by the tables of the NEC, for its conductors and its short-circuit device.',
  parameters: {
    power: needs('power', 'hp', 'rated shaft power of the motor', { minimum: 0, aboveMinimum: true }),
    voltage: needs('voltage', 'V', 'nominal voltage between the lines', { minimum: 0 }),
    system: wordOr(SYSTEMS, 'single', 'direct current, one phase or three phases'),
  },
  result: 'current, A',
  worst: 'high',
  validity:
    'Motors of usual speed and torque (NEC 430.6(A)): conductors and short-circuit device by the table, overload by the nameplate. Ratings and voltages of the tables only; below 90 V direct current the nameplate counts.',
  sources: ['NEC Tables 430.247, 430.248, 430.250'],
  examples: [
    {
      call: 'motorCurrent(power: 3 hp, voltage: 115 V)',
      gives: '34 A',
      source: 'trade magazine, motor calculations: 3 hp 115 V single-phase',
    },
    {
      call: 'motorCurrent(power: 25 hp, voltage: 460 V, system: three)',
      gives: '34 A',
      source: 'NEC Informative Annex D, Example D8 (from memory)',
    },
    { call: 'motorCurrent(power: 0.5 hp, voltage: 240 V)', gives: '4.9 A', source: 'NEC Table 430.248, 230 V column' },
  ],
  compute: ({ power, voltage, system }): Result => {
    const table = necMotorCurrents[system];
    const [horsepower, volts] = [numberIn(power, 'hp'), numberIn(voltage, 'V')];
    const column = table.voltages.findIndex(({ from, to }) => volts >= from - 1e-6 && volts <= to + 1e-6);
    if (column < 0)
      return refused(`${tableName(table)} has no column for ${formatNumber(volts)} V: state its nameplate`, 'voltage');
    const row = table.rows.find((each) => Math.abs(each.horsepower - horsepower) <= SAME * each.horsepower);
    const amperes = row?.amperes[column];
    if (row === undefined || amperes === undefined || amperes === null)
      return refused(`${tableName(table)} has no motor of ${formatNumber(horsepower)} hp there`, 'power');
    return known(
      fromTable('full-load current', amperes, 'A', sourceOf(table, row), { symbol: 'I_FL', inputs: [power, voltage] }),
    );
  },
});

/** Share of the full-load current that a sort of device may be rated for. */
const shareOf = (motor: string, device: MotorDevice): Derivation | undefined => {
  const row = necMotorDevices.rows.find((each) => each.motor === motor);
  return (
    row &&
    fromTable('share of the full-load current', row[device] / 100, '', sourceOf(necMotorDevices, row), {
      inputs: [wordInput('motor', motor), wordInput('device', device)],
    })
  );
};

export const motorProtection = defineFunction({
  name: 'motorProtection',
  group: GROUP,
  summary: 'Largest short-circuit device of the branch circuit of one motor.',
  parameters: {
    current: fullLoad,
    motor: wordOr(MOTORS, 'single-phase', 'sort of motor'),
    device: wordOr(MOTOR_DEVICES, 'breaker', 'fuse, fuse with time delay (delayFuse), or inverse-time breaker'),
  },
  result: 'rating, A',
  worst: 'low',
  validity:
    'One motor, with an overload device of its own. Where the table gives no standard rating the next one up is allowed (430.52(C)(1) Exception 1); what a motor that does not start may have beyond it is not counted.',
  sources: ['NEC 430.52(C)(1), 240.6(A)'],
  examples: [
    {
      call: 'motorProtection(current: 34 A, device: delayFuse)',
      gives: '60 A',
      source: 'trade magazine, motor calculations: 3 hp 115 V, dual-element fuse, 59.5 A; next standard rating',
    },
    {
      call: 'motorProtection(current: 34 A, motor: design-b, device: fuse)',
      gives: '110 A',
      source: 'NEC Informative Annex D, Example D8 (from memory): 25 hp 460 V, 102 A; next standard rating',
    },
    {
      call: 'motorProtection(current: 8 A)',
      gives: '20 A',
      source: 'hand calculation: 1 hp 230 V, 250 % of 8 A',
    },
  ],
  compute: ({ current, motor, device }): Result => {
    const share = shareOf(motor, device)!;
    const most = numberIn(share, '') * numberIn(current, 'A');
    const rating = ratingAtLeast(most, 'nec');
    if (rating === undefined) return refused(`no standard rating reaches ${formatNumber(most)} A`, 'current');
    const derivation = ratingDerivation('largest device of the motor', rating, 'nec', [current, share], []);
    return known({ ...derivation, governing: [{ kind: 'clause', clause: 'motorDevice' }] });
  },
});

export const motorOverload = defineFunction({
  name: 'motorOverload',
  group: GROUP,
  summary: 'Largest setting of the overload protection of a motor.',
  parameters: {
    nameplate: needs('current', 'A', 'full-load current of the nameplate', { minimum: 0 }),
    serviceFactor: defaults('ratio', '', 1, 'service factor of the nameplate', {
      minimum: 1,
      maximum: 2,
      defaultSource: 'none stated',
    }),
  },
  result: 'current, A',
  worst: 'low',
  validity: 'Continuous-duty motors above 1 hp. Motors that do not start with it are not counted (430.32(C)).',
  sources: ['NEC 430.32(A)(1)'],
  examples: [
    {
      call: 'motorOverload(nameplate: 32 A, serviceFactor: 1.15)',
      gives: '40 A',
      source: 'NEC Informative Annex D, Example D8 (from memory): 125 % of 32 A',
    },
    { call: 'motorOverload(nameplate: 10 A)', gives: '11.5 A', source: 'hand calculation: 115 % of 10 A' },
  ],
  compute: ({ nameplate, serviceFactor }): Result => {
    const isHigh = numberIn(serviceFactor, '') >= numberIn(ruleValue('nec', 'motorServiceFactor'), '') - 1e-9;
    const factor = ruleValue('nec', isHigh ? 'motorOverload' : 'motorOverloadOther');
    return known(
      derive('largest overload setting', numberIn(factor, '') * numberIn(nameplate, 'A'), 'A', {
        formula: 'factor·I_nameplate',
        inputs: [factor, named(nameplate, 'I_nameplate'), serviceFactor],
        ...(factor.source ? { source: factor.source } : {}),
      }),
    );
  },
});

export const motorFeederProtection = defineFunction({
  name: 'motorFeederProtection',
  group: GROUP,
  summary: 'Largest device of a feeder of motors that have devices of their own.',
  parameters: {
    device: needs('current', 'A', 'largest rating of the device of one of its motors', { minimum: 0 }),
    others: needs('current', 'A', 'full-load currents of the other motors, and what the other loads need', {
      minimum: 0,
    }),
  },
  result: 'rating, A',
  worst: 'low',
  validity: 'Not above the sum: the next standard rating down (430.62(A), 430.63).',
  sources: ['NEC 430.62, 430.63, 240.6(A)'],
  examples: [
    {
      call: 'motorFeederProtection(device: 110 A, others: 80 A)',
      gives: '175 A',
      source: 'NEC Informative Annex D, Example D8 (from memory): 110 A and two motors of 40 A',
    },
    {
      call: 'motorFeederProtection(device: 20 A, others: 10 A)',
      gives: '30 A',
      source: 'hand calculation: a sum that is a standard rating',
    },
  ],
  compute: ({ device, others }): Result => {
    const most = numberIn(device, 'A') + numberIn(others, 'A');
    const rating = ratingAtMost(most, 'nec');
    if (rating === undefined) return refused(`no standard rating is at most ${formatNumber(most)} A`, 'device');
    const derivation = ratingDerivation('largest device of the feeder', rating, 'nec', [device, others], []);
    return known({ ...derivation, governing: [{ kind: 'clause', clause: 'motorFeeder' }] });
  },
});
