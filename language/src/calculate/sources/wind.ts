import { derive, known, numberIn } from '../../derivation/index.js';
import {
  airDensity as densityOf,
  energyPattern,
  heightFactor,
  weibullBelow,
  weibullScale,
} from '../../equipment/wind-power.js';
import { defaults, defineFunction, may, needs } from '../registry.js';

const DENSITY = 'ρ = 353.1/T·exp(−0.0342·z/T): course notes that quote a textbook on renewable energy';
const WEIBULL = 'Weibull: share below v is 1 − exp(−(v/c)^k), mean c·Γ(1 + 1/k); k = 2 is Rayleigh';

const meanParameter = needs('speed', 'm/s', 'mean speed', { minimum: 0, maximum: 60 });

export const airDensity = defineFunction({
  name: 'airDensity',
  group: 'sources',
  summary: 'Density of air by height above the sea and temperature.',
  parameters: {
    altitude: needs('length', 'm', 'height above sea level', { minimum: -430, maximum: 9000 }),
    temperature: needs('temperature', 'degC', 'temperature of the air', { minimum: -90, maximum: 60 }),
  },
  result: 'density in kg/m³',
  worst: 'low',
  validity: 'Dry air of a standard atmosphere; humid air is up to 1 % lighter.',
  sources: [DENSITY],
  examples: [
    {
      call: 'airDensity(altitude: 0 m, temperature: 30 degC)',
      gives: '1.165 kg/m3',
      tolerance: 2e-3,
      source: 'Masters, chapter 6, from memory: air at 30 °C and 1 atm',
    },
    {
      call: 'airDensity(altitude: 2000 m, temperature: 15 degC)',
      gives: '0.967 kg/m3',
      tolerance: 2e-3,
      source: 'the same: 15 °C at 2000 m',
    },
    {
      call: 'airDensity(altitude: 0 m, temperature: 15 degC)',
      gives: '1.225 kg/m3',
      tolerance: 1e-3,
      source: 'standard density of power curves (IEC 61400-12-1)',
    },
  ],
  compute: ({ altitude, temperature }) =>
    known(
      derive('density of the air', densityOf(numberIn(altitude, 'm'), numberIn(temperature, 'degC')), 'kg/m3', {
        symbol: 'ρ',
        formula: '353.1/T·exp(−0.0342·z/T)',
        inputs: [altitude, temperature],
        source: { standard: DENSITY, provenance: 'published' },
      }),
    ),
});

export const windAtHeight = defineFunction({
  name: 'windAtHeight',
  group: 'sources',
  summary: 'Wind speed at a height, from the speed measured at another.',
  parameters: {
    speed: meanParameter,
    height: needs('length', 'm', 'height wanted', { minimum: 0.1, maximum: 500 }),
    from: defaults('length', 'm', 10, 'height at which the speed is measured', {
      minimum: 0.1,
      maximum: 500,
      defaultSource: 'usual of weather stations',
    }),
    shear: defaults('ratio', '', 1 / 7, 'exponent α: 0.1 water, 0.2 crops and hedges, 0.25 woods, 0.3 small towns', {
      minimum: 0,
      maximum: 0.6,
      defaultSource: 'open ground, from memory',
    }),
  },
  result: 'speed in m/s',
  worst: 'low',
  validity: 'Open ground of one kind; not behind houses or trees closer than 20 of their heights, nor on ridges.',
  sources: ['power law v/v₀ = (H/H₀)^α: course notes that quote a textbook on renewable energy'],
  examples: [
    {
      call: 'windAtHeight(speed: 5 m/s, height: 50 m, from: 10 m, shear: 0.2)',
      gives: '6.9 m/s',
      tolerance: 2e-3,
      source: 'Masters, chapter 6, from memory: crops and hedges, 5 m/s at 10 m',
    },
    {
      call: 'windAtHeight(speed: 10 m/s, height: 650 ft, from: 450 ft)',
      gives: '10.54 m/s',
      tolerance: 1e-3,
      source: 'question in a forum, speed as the seventh root of the height; the published 0.948 is the inverse ratio',
    },
  ],
  compute: ({ speed, height, from, shear }) =>
    known(
      derive(
        'wind speed',
        numberIn(speed, 'm/s') * heightFactor(numberIn(height, 'm'), numberIn(from, 'm'), numberIn(shear, '')),
        'm/s',
        { symbol: 'v', formula: 'v₀·(H/H₀)^α', inputs: [speed, height, from, shear] },
      ),
    ),
});

export const windDensity = defineFunction({
  name: 'windDensity',
  group: 'sources',
  summary: 'Power of the wind through each square metre.',
  parameters: {
    speed: needs('speed', 'm/s', 'speed, or mean speed where a shape is given', { minimum: 0, maximum: 60 }),
    shape: may('ratio', '', 'shape k of the distribution of the speeds; without it the wind is steady', {
      minimum: 1,
      maximum: 5,
    }),
    density: defaults('density', 'kg/m3', 1.225, 'density of the air, such as `airDensity`', {
      minimum: 0.3,
      maximum: 1.8,
      defaultSource: '15 °C at sea level',
    }),
  },
  result: 'power of the wind in W/m²; a turbine makes 59 % of it into power at the very most, small ones 20 to 35 %',
  worst: 'low',
  validity: 'Undisturbed wind. The share that a turbine makes use of is not counted.',
  sources: [
    '½·ρ·v³; mean of the cubes by the Weibull distribution, Γ(1 + 3/k)/Γ(1 + 1/k)³ times the cube of the mean',
    WEIBULL,
  ],
  examples: [
    {
      call: 'windDensity(speed: 6 m/s)',
      gives: '132.3 W/m2',
      tolerance: 1e-3,
      source: 'Masters, chapter 6, from memory: 13 230 Wh in 100 h at 6 m/s',
    },
    {
      call: 'windDensity(speed: 6.899 m/s)',
      gives: '201 W/m2',
      tolerance: 2e-3,
      source: 'the same: 5 m/s at 10 m, at 50 m over crops and hedges',
    },
    {
      call: 'windDensity(speed: windAtHeight(speed: 6 m/s, height: 50 m), shape: 2)',
      gives: '504 W/m2',
      tolerance: 2e-3,
      source: 'the same: mean of 6 m/s at 10 m, Rayleigh, at 50 m',
    },
  ],
  compute: ({ speed, shape, density }) => {
    const pattern = derive(
      'mean of the cubes over the cube of the mean',
      shape ? energyPattern(numberIn(shape, '')) : 1,
      '',
      {
        symbol: 'K',
        ...(shape ? { formula: 'Γ(1 + 3/k)/Γ(1 + 1/k)³', inputs: [shape] } : { notes: ['steady wind'] }),
      },
    );
    return known(
      derive(
        'power of the wind',
        0.5 * numberIn(density, 'kg/m3') * numberIn(speed, 'm/s') ** 3 * numberIn(pattern, ''),
        'W/m2',
        { symbol: 'p', formula: '½·ρ·v³·K', inputs: [density, speed, pattern] },
      ),
    );
  },
});

export const windShare = defineFunction({
  name: 'windShare',
  group: 'sources',
  summary: 'Share of the time in which the wind blows between two speeds.',
  parameters: {
    mean: meanParameter,
    from: defaults('speed', 'm/s', 0, 'least speed', { minimum: 0, maximum: 100, defaultSource: 'from calm on' }),
    to: may('speed', 'm/s', 'highest speed; none where it is not given', { minimum: 0, maximum: 100 }),
    shape: defaults('ratio', '', 2, 'shape k of the distribution of the speeds', {
      minimum: 1,
      maximum: 5,
      defaultSource: 'Rayleigh',
    }),
  },
  result: 'share of the time',
  worst: 'low',
  validity: 'Years; single months and hours stray. Shapes of 1.4 to 2.3 fit most stations.',
  sources: [WEIBULL],
  examples: [
    {
      call: 'windShare(mean: 7 m/s, to: 4 m/s) * 8760 h',
      gives: '1981 h',
      tolerance: 1e-3,
      source: 'Masters, chapter 6, from memory: hours below a cut-in of 4 m/s, Rayleigh, mean of 7 m/s',
    },
    {
      call: 'windShare(mean: 7 m/s, from: 14 m/s, to: 25 m/s) * 8760 h',
      gives: '378 h',
      tolerance: 2e-3,
      source: 'the same: hours at rated power, from 14 to 25 m/s',
    },
    {
      call: 'windShare(mean: 7 m/s, from: 25 m/s) * 8760 h',
      gives: '0.39 h',
      tolerance: 0.02,
      source: 'the same: hours above the cut-out',
    },
  ],
  compute: ({ mean, from, to, shape }) => {
    const scale = derive('scale of the distribution', weibullScale(numberIn(mean, 'm/s'), numberIn(shape, '')), 'm/s', {
      symbol: 'c',
      formula: 'v_mean/Γ(1 + 1/k)',
      inputs: [mean, shape],
    });
    const below = (speed: number): number => weibullBelow(speed, numberIn(scale, 'm/s'), numberIn(shape, ''));
    const share = (to ? below(numberIn(to, 'm/s')) : 1) - below(numberIn(from, 'm/s'));
    return known(
      derive('share of the time', Math.max(0, share), '', {
        symbol: 'f',
        formula: 'exp(−(v₁/c)^k) − exp(−(v₂/c)^k)',
        inputs: [from, ...(to ? [to] : []), scale],
      }),
    );
  },
});
