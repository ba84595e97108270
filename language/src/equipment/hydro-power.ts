/**
 * How water turns into power: the head that a pipe loses, and what a turbine makes of the rest. Written once; functions of the language,
 * quantities, checks and plays read it.
 */
import { DIMENSIONS, divideDimensions } from '../quantity/index.js';
import { bound, Constant, constant, leaf, Least, type Named, type Term } from './formula/index.js';

/** The facts of a turbine and its pipe. */
export const HYDRO_FACTS = {
  /** Flow of the stream, what must stay in it, and what the nozzles pass at most. */
  stream: leaf('stream', 'flow', 'Q_stream'),
  ecologicalFlow: leaf('ecologicalFlow', 'flow', 'Q_eco'),
  designFlow: leaf('designFlow', 'flow', 'Q_max'),
  head: leaf('head', 'length', 'H'),
  length: leaf('length', 'length', 'L'),
  diameter: leaf('diameter', 'length', 'D'),
  /** C of Hazen and Williams, and the sum of the loss coefficients of bends, valves and inlet. */
  roughness: leaf('roughness', 'ratio', 'C'),
  minorLosses: leaf('minorLosses', 'ratio', 'ζ'),
  turbineEfficiency: leaf('turbineEfficiency', 'ratio', 'η_t'),
  generatorEfficiency: leaf('generatorEfficiency', 'ratio', 'η_g'),
} as const;

const { stream, ecologicalFlow, designFlow, head, length, diameter } = HYDRO_FACTS;
const { roughness, minorLosses, turbineEfficiency, generatorEfficiency } = HYDRO_FACTS;

/** Water of 1000 kg/m³ in standard gravity (ISO 80000-3: 9.80665 m/s²), for each m³ and metre of fall. */
const WEIGHT = new Constant(9806.65, divideDimensions(DIMENSIONS.force, DIMENSIONS.volume), '9.807 kN/m³');
const TWICE_GRAVITY = constant(2 * 9.80665, 'acceleration', '(19.61 m/s²)');

/** Flow that the stream has beyond what must stay in it. */
export const AVAILABLE_FLOW: Named = stream
  .minus(ecologicalFlow)
  .atLeast(constant(0, 'flow', '0'))
  .named('flow that may be taken from the stream', 'Q_free', 'L/s');

/** Flow that the turbine gets: what the stream has beyond what must stay in it, at most what the nozzles pass. */
export const TURBINE_FLOW: Least = new Least('flow through the turbine', 'Q', 'L/s', [
  // Always there, since what must stay has a default: without the stream nobody knows the flow, whatever the nozzles pass.
  bound('supply', ecologicalFlow, stream.minus(ecologicalFlow)),
  bound('rating', designFlow),
]);

/** Velocity of a flow in the full pipe. */
const velocityOf = (flow: Term): Named =>
  flow
    .times(constant(4))
    .over(constant(Math.PI, 'ratio', 'π').times(diameter).times(diameter))
    .named('velocity in the pipe', 'v', 'm/s');

/**
 * Head that a flow loses by friction in the pipe, by Hazen and Williams in SI (10.67, exponents 1.852 and 4.8704: handbooks of hydraulics):
 * water of usual temperature in full pipes of 50 mm and more, in turbulent flow.
 */
const frictionOf = (flow: Term): Named =>
  constant(10.67)
    .times(length)
    .times(
      flow
        .over(constant(1, 'flow', '(1 m³/s)'))
        .over(roughness)
        .toThe(1.852),
    )
    .over(diameter.over(constant(1, 'length', '(1 m)')).toThe(4.8704))
    .named('head lost by friction', 'h_f', 'm');

/** Head lost in bends, valves and inlet. */
const minorOf = (flow: Term): Named => {
  const velocity = velocityOf(flow);
  return minorLosses
    .times(velocity.times(velocity))
    .over(TWICE_GRAVITY)
    .named('head lost in bends, valves and inlet', 'h_m', 'm');
};

/** Head that a flow loses in the pipe. */
const lossOf = (flow: Term): Named => frictionOf(flow).plus(minorOf(flow)).named('head lost in the penstock', 'h', 'm');

/** Electrical power of a flow through the turbine, after what the pipe loses. */
const powerOf = (flow: Term, loss: Term): Named =>
  WEIGHT.times(flow)
    .times(
      head
        .minus(loss)
        .atLeast(constant(0, 'length', '0 m'))
        .named('net head', 'H_net', 'm'),
    )
    .times(turbineEfficiency)
    .times(generatorEfficiency)
    .named('power of the water', 'P_water', 'W');

/** A flow that is given as such, and what becomes of it. */
export const GIVEN_FLOW = leaf('flow', 'flow', 'Q');
export const PENSTOCK_FRICTION = frictionOf(GIVEN_FLOW);
export const PENSTOCK_LOSS = lossOf(GIVEN_FLOW);
export const PENSTOCK_VELOCITY = velocityOf(GIVEN_FLOW);
/** Of a flow and a loss that are given. */
export const GIVEN_LOSS = leaf('loss', 'length', 'h');
export const HYDRO_POWER_OF_FLOW = powerOf(GIVEN_FLOW, GIVEN_LOSS);

/** The same for what the stream gives the turbine. */
export const TURBINE_LOSS = lossOf(TURBINE_FLOW);
export const TURBINE_VELOCITY = velocityOf(TURBINE_FLOW);
export const HYDRO_POWER = powerOf(TURBINE_FLOW, TURBINE_LOSS);
