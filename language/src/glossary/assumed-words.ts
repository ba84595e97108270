import { type Derivation, displayValue } from '../derivation/index.js';
import { inPeopleUnits } from './units-text.js';

/** Parameters of calculations whose names say too little where they stand alone. */
export const PARAMETER_WORDS: Readonly<Record<string, string>> = {
  aging: 'allowance for ageing',
  albedo: 'reflectance of the ground',
  circuits: 'circuits laid together',
  conductors: 'current-carrying conductors',
  correlation: 'model of diffuse light',
  density: 'air density',
  from: 'height or speed at which it starts',
  imbalance: 'difference of legs',
  jumpers: 'resistance of jumpers',
  legVoltage: 'voltage of a leg',
  margin: 'design margin',
  material: 'material of the penstock',
  mechanicalEfficiency: 'efficiency of the drive',
  metal: 'conductor metal',
  minorLosses: 'losses at inlet, bends and valves',
  model: 'model of the sun',
  offset: 'hours from universal time',
  per: 'derating for each step of altitude',
  reactance: 'reactance of the generator',
  reference: 'reference temperature',
  shape: 'Weibull shape of the wind',
  shear: 'exponent by which the wind grows with height',
  start: 'altitude at which derating starts',
  step: 'step of altitude for the derating',
  temperatureLoss: 'derating by temperature',
  waveformShare: 'share left by the waveform',
};

/** Limits of a design, which it may set for itself. */
export const LIMIT_WORDS: Readonly<Record<string, string>> = {
  arrayExcess: 'largest output of an array over its controller',
  chargeDropLimit: 'largest drop between charger and bank',
  deratingShare: 'largest derating without the maker’s figures',
  dipLimit: 'largest voltage dip',
  fuelReserve: 'fuel reserve',
  fullChargeInterval: 'longest time without a full charge',
  idleShare: 'largest idle share of the energy of the loads',
  leastRun: 'shortest run of a generator',
  legDifference: 'largest difference of legs',
  lugsPerStud: 'most lugs on a stud',
  mostStarts: 'most starts in a day',
  mostStrings: 'most strings in parallel',
  prechargeCapacitance: 'capacitance from which precharging is needed',
  rateShare: 'least capacity at the rate of the loads',
  sagDwell: 'shortest dwell of a rule on voltage',
  socGap: 'least distance of thresholds',
  stringExcess: 'largest excess of a string',
  stringFusesFrom: 'strings from which each needs a fuse',
  stringHeadroom: 'headroom of a hot string',
  torqueFrom: 'current from which a torque must be stated',
};

/** Properties of things whose names say too little in a sentence, of a thing and the value it has. */
const PROPERTY_WORDS: Readonly<Record<string, (thing: string, value: string) => string>> = {
  onTime: (thing, value) => `${thing} on for ${value} a day`,
  parallel: (thing, value) => `${thing}: ${value} in parallel`,
  passThrough: (thing, value) => `pass-through of ${thing} ${value}`,
  remoteSense: (thing, value) => `remote sensing of ${thing} ${value}`,
  series: (thing, value) => `${thing}: ${value} in series`,
};

/**
 * `ambient 30 °C`, `length of Feed 25 m (assumed)`: a value that nobody stated, as a sentence names it. A limit names the property behind it, by which
 * a design sets it.
 */
export function assumptionText(derivation: Derivation): string {
  const value = inPeopleUnits(displayValue(derivation));
  const assumed = derivation.origin === 'assumed' ? ' (assumed)' : '';
  const { name, fact = '' } = derivation;
  const limit = LIMIT_WORDS[fact];
  if (limit !== undefined) return `${limit} ${value}, \`${fact}\`${assumed}`;
  const words = PROPERTY_WORDS[fact];
  const thing = `${fact} of `;
  if (words && name.startsWith(thing)) return `${words(name.slice(thing.length), value)}${assumed}`;
  return `${name === fact ? (PARAMETER_WORDS[fact] ?? name) : name} ${value}${assumed}`;
}
