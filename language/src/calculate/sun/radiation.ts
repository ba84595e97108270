import {
  type Derivation,
  type Result,
  derive,
  fromTable,
  known,
  missing,
  numberIn,
  refused,
} from '../../derivation/index.js';
import { formatNumber } from '../../quantity/index.js';
import { piecewise, solarModel, solarSource } from '../../reference/energy/index.js';
import { defaults, defineFunction, may, needs, wordOr } from '../registry.js';
import {
  DEGREES_PER_HOUR,
  type Surface,
  azimuthOf,
  cosineOfIncidence,
  cosineOfZenith,
  declinationOf,
  distanceFactor,
  arcCosine,
  cosine,
  extraterrestrialBetween,
  extraterrestrialDay,
  hourAngleAt,
  sine,
} from './geometry.js';
import {
  GEOMETRY,
  TEXTBOOK,
  dayParameter,
  declinationInput,
  latitudeParameter,
  maySolarTime,
  solarTimeParameter,
} from './parameters.js';

const hourAngleOf = (time: Derivation): number => (numberIn(time, 'h') - 12) * DEGREES_PER_HOUR;
const HALF_HOUR_ANGLE = DEGREES_PER_HOUR / 2;

export const extraterrestrial = defineFunction({
  name: 'extraterrestrial',
  group: 'sun',
  summary: 'Radiation outside the air on a horizontal surface in a day, or in one hour.',
  parameters: { latitude: latitudeParameter, day: dayParameter, solarTime: maySolarTime },
  result: 'irradiation in Wh/m2',
  worst: 'low',
  validity:
    'Any latitude and day; solar constant 1367 W/m2 and Cooper’s declination, on which the correlations and textbook examples are built: within 2 % of the true sun.',
  sources: [TEXTBOOK, 'FAO Irrigation and Drainage Paper 56'],
  examples: [
    {
      call: 'extraterrestrial(latitude: -22.9 deg, day: 135)',
      gives: '6.975 kWh/m2',
      tolerance: 6e-3,
      source: 'FAO-56 example 10: Rio de Janeiro on 15 May, 25.1 MJ/m2',
    },
    {
      call: 'extraterrestrial(latitude: 38.6 deg, day: 246)',
      gives: '9.25 kWh/m2',
      tolerance: 6e-3,
      source: 'Duffie and Beckman example 2.11.1, from memory: St. Louis on 3 September, 33.3 MJ/m2',
    },
    {
      call: 'extraterrestrial(latitude: 43 deg, day: 105, solarTime: 10.5 h)',
      gives: '1.0528 kWh/m2',
      tolerance: 6e-3,
      source: 'Duffie and Beckman example 1.10.2, from memory: 15 April from 10 to 11 h, 3.79 MJ/m2',
    },
  ],
  compute: ({ latitude, day, solarTime }) => {
    const north = numberIn(latitude, 'deg');
    const date = numberIn(day, '');
    const middle = solarTime && hourAngleOf(solarTime);
    const value =
      middle === undefined
        ? extraterrestrialDay(north, date)
        : extraterrestrialBetween(north, date, middle - HALF_HOUR_ANGLE, middle + HALF_HOUR_ANGLE);
    const sun = declinationInput(day);
    const constant = fromTable(
      'solar constant',
      solarModel('solar-constant')[0]!,
      'W/m2',
      solarSource('solar-constant'),
      {
        symbol: 'G_sc',
      },
    );
    const distance = derive('distance factor', distanceFactor(date), '1', {
      symbol: 'E₀',
      formula: '1 + 0.033·cos(360°·n/365)',
      inputs: [day],
      source: solarSource('distance'),
    });
    const sunset = derive('sunset hour angle', hourAngleAt(north, numberIn(sun, 'deg')), 'deg', {
      symbol: 'ω_s',
      formula: 'arccos(−tan φ·tan δ)',
      inputs: [latitude, sun],
      source: GEOMETRY,
    });
    return known(
      derive('radiation outside the air', value, 'Wh/m2', {
        symbol: solarTime ? 'I₀' : 'H₀',
        formula: solarTime
          ? '12 h/π·G_sc·E₀·(cos φ·cos δ·(sin ω₂ − sin ω₁) + (ω₂ − ω₁)·sin φ·sin δ)'
          : '24 h/π·G_sc·E₀·(cos φ·cos δ·sin ω_s + ω_s·sin φ·sin δ)',
        inputs: [constant, distance, latitude, sun, sunset, ...(solarTime ? [solarTime] : [])],
        source: GEOMETRY,
        ...(value === 0 ? { notes: ['the sun does not rise'] } : {}),
      }),
    );
  },
});

const DIFFUSE_MODELS = ['erbs', 'erbsDaily', 'erbsMonthly'] as const;
/** Correlations for a whole day, in `tilted`. */
const DAY_CORRELATIONS = ['erbsMonthly', 'erbsDaily'] as const;
type DiffuseModel = (typeof DIFFUSE_MODELS)[number];

/** Diffuse share of the radiation by clearness, or the sentence that says why there is none. */
function diffuseShare(
  clearness: number,
  model: DiffuseModel,
  sunsetAngle: number,
): { readonly share: number; readonly table: string } | { readonly reason: string } {
  if (model === 'erbs') return { share: piecewise('erbs-hour', clearness), table: 'erbs-hour' };
  const season = sunsetAngle <= solarModel('erbs-season-angle')[0]! ? 'winter' : 'summer';
  if (model === 'erbsDaily') {
    const table = `erbs-day-${season}`;
    return { share: Math.min(1, piecewise(table, clearness)), table };
  }
  const [least, most] = solarModel('erbs-month-range') as [number, number];
  if (clearness < least || clearness > most)
    return {
      reason: `the monthly correlation holds from a clearness of ${least} to ${most}, and it is ${formatNumber(clearness, 3)}`,
    };
  const table = `erbs-month-${season}`;
  return { share: piecewise(table, clearness), table };
}

export const diffuseFraction = defineFunction({
  name: 'diffuseFraction',
  group: 'sun',
  summary: 'Share of the radiation on the horizontal that comes from the sky and not straight from the sun.',
  parameters: {
    clearness: needs('ratio', '', 'radiation on the ground over radiation outside the air', { minimum: 0, maximum: 1 }),
    model: wordOr(DIFFUSE_MODELS, 'erbs', 'erbs for hours, erbsDaily for days, erbsMonthly for monthly means'),
    sunsetAngle: may('angle', 'deg', 'sunset hour angle, for the daily and monthly models: see sunsetAngle', {
      minimum: 0,
      maximum: 180,
    }),
  },
  result: 'ratio',
  worst: 'high',
  validity: 'Clearness 0 to 1; the monthly model from 0.3 to 0.8.',
  sources: ['Erbs, Klein and Duffie, Solar Energy 28 (1982) [from memory]'],
  examples: [
    {
      call: 'diffuseFraction(clearness: 0.692, model: erbsDaily, sunsetAngle: 95.6 deg)',
      gives: '0.26',
      tolerance: 0.04,
      source: 'Duffie and Beckman example 2.11.1, from memory: 0.26 read from a figure, the equation gives 0.253',
    },
    {
      call: 'diffuseFraction(clearness: 0.1)',
      gives: '0.991',
      source: 'hand calculation: 1 − 0.09·0.1',
    },
    {
      call: 'diffuseFraction(clearness: 0.9)',
      gives: '0.165',
      source: 'hand calculation: constant above a clearness of 0.8',
    },
  ],
  compute: ({ clearness, model, sunsetAngle }) => {
    if (model !== 'erbs' && !sunsetAngle) return missing('sunsetAngle');
    const result = diffuseShare(numberIn(clearness, ''), model, sunsetAngle ? numberIn(sunsetAngle, 'deg') : 90);
    if ('reason' in result) return refused(result.reason, 'clearness');
    return known(
      fromTable('diffuse fraction', result.share, '1', solarSource(result.table), {
        symbol: 'f_d',
        formula: 'polynomial of the clearness',
        inputs: [clearness, ...(model !== 'erbs' && sunsetAngle ? [sunsetAngle] : [])],
      }),
    );
  },
});

const surfaceParameters = {
  tilt: needs('angle', 'deg', 'slope of the surface: 0 flat, 90 upright', { minimum: 0, maximum: 180 }),
  azimuth: defaults('angle', 'deg', 180, 'direction the surface faces, from north eastward: 180 is south', {
    minimum: -360,
    maximum: 360,
    defaultSource: 'south',
  }),
};

export const incidence = defineFunction({
  name: 'incidence',
  group: 'sun',
  summary: 'Angle between the sun and the normal of a surface.',
  parameters: {
    latitude: latitudeParameter,
    day: dayParameter,
    solarTime: solarTimeParameter,
    ...surfaceParameters,
  },
  result: 'angle in deg; above 90 the sun is behind the surface. `.zenith` and `.azimuth` of the sun',
  worst: 'high',
  validity: 'Any latitude, day and surface; geometry without refraction. A `.zenith` above 90 means night.',
  sources: [TEXTBOOK],
  examples: [
    {
      call: 'incidence(latitude: 43 deg, day: 44, solarTime: 10.5 h, tilt: 45 deg, azimuth: 195 deg)',
      gives: '35.0 deg',
      tolerance: 0.01,
      source: 'Duffie and Beckman example 1.6.1, from memory: Madison, 13 February, 15° west of south',
    },
    {
      call: 'incidence(latitude: 43 deg, day: 44, solarTime: 9.5 h, tilt: 0 deg).zenith',
      gives: '66.5 deg',
      tolerance: 0.01,
      source: 'Duffie and Beckman example 1.6.2, from memory',
    },
    {
      call: 'incidence(latitude: 43 deg, day: 75, solarTime: 16 h, tilt: 0 deg).azimuth',
      gives: '246.8 deg',
      tolerance: 5e-3,
      source: 'Duffie and Beckman example 1.6.3, from memory: 66.8° west of south',
    },
  ],
  compute: ({ latitude, day, solarTime, tilt, azimuth }) => {
    const north = numberIn(latitude, 'deg');
    const sun = declinationInput(day);
    const south = numberIn(sun, 'deg');
    const hour = hourAngleOf(solarTime);
    const hourAngle = derive('hour angle', hour, 'deg', {
      symbol: 'ω',
      formula: '15°/h·(t_s − 12 h)',
      inputs: [solarTime],
    });
    const surface: Surface = { tilt: numberIn(tilt, 'deg'), azimuth: numberIn(azimuth, 'deg') };
    const sky = [latitude, sun, hourAngle];
    return known(
      derive('angle of incidence', arcCosine(cosineOfIncidence(north, south, hour, surface)), 'deg', {
        symbol: 'θ',
        formula:
          'arccos(sin δ·sin φ·cos β − sin δ·cos φ·sin β·cos γ + cos δ·cos φ·cos β·cos ω + cos δ·sin φ·sin β·cos γ·cos ω + cos δ·sin β·sin γ·sin ω), γ from south',
        inputs: [...sky, tilt, azimuth],
        source: GEOMETRY,
        parts: {
          zenith: derive('zenith angle', arcCosine(cosineOfZenith(north, south, hour)), 'deg', {
            symbol: 'θ_z',
            formula: 'arccos(sin φ·sin δ + cos φ·cos δ·cos ω)',
            inputs: sky,
            source: GEOMETRY,
          }),
          azimuth: derive('azimuth of the sun', azimuthOf(north, south, hour), 'deg', {
            symbol: 'γ_s',
            inputs: sky,
            source: GEOMETRY,
          }),
        },
      }),
    );
  },
});

/** Beam on a tilted surface over beam on the horizontal, through a day outside the air. Undefined when the sun does not rise. */
function dailyBeamRatio(latitude: number, day: number, surface: Surface): number | undefined {
  const declination = declinationOf(day);
  const sunset = hourAngleAt(latitude, declination);
  if (sunset === 0) return undefined;
  // Midpoints of 720 steps: the kinks where the sun passes behind the surface leave an error below 1e-5.
  const steps = 720;
  let tilted = 0;
  let flat = 0;
  for (let step = 0; step < steps; step += 1) {
    const angle = -sunset + ((step + 0.5) * 2 * sunset) / steps;
    tilted += Math.max(0, cosineOfIncidence(latitude, declination, angle, surface));
    flat += Math.max(0, cosineOfZenith(latitude, declination, angle));
  }
  return flat > 0 ? tilted / flat : undefined;
}

const SKY_MODELS = ['isotropic', 'hayDavies', 'hdkr'] as const;
type SkyModel = (typeof SKY_MODELS)[number];

interface TiltCase {
  readonly beamRatio: number;
  readonly outside: number;
  readonly sunsetAngle: number;
}

/** Everything the day, or the hour, gives; or a refusal. */
function tiltCase(
  latitude: number,
  day: number,
  surface: Surface,
  solarTime: Derivation | undefined,
): TiltCase | { readonly reason: string; readonly argument: string } {
  const declination = declinationOf(day);
  const sunsetAngle = hourAngleAt(latitude, declination);
  if (!solarTime) {
    const beamRatio = dailyBeamRatio(latitude, day, surface);
    if (beamRatio === undefined) return { reason: 'the sun does not rise on this day', argument: 'day' };
    return { beamRatio, outside: extraterrestrialDay(latitude, day), sunsetAngle };
  }
  const hour = hourAngleOf(solarTime);
  const flat = cosineOfZenith(latitude, declination, hour);
  const outside = extraterrestrialBetween(latitude, day, hour - HALF_HOUR_ANGLE, hour + HALF_HOUR_ANGLE);
  // Below 3° of elevation the ratio of beam radiation runs away while the beam itself is next to nothing.
  if (flat < LOWEST_SUN || outside <= 0)
    return { reason: 'the sun is below 3° in the middle of this hour', argument: 'solarTime' };
  const beamRatio = Math.max(0, cosineOfIncidence(latitude, declination, hour, surface)) / flat;
  return { beamRatio, outside, sunsetAngle };
}
const LOWEST_SUN = sine(3);

export const tilted = defineFunction({
  name: 'tilted',
  group: 'sun',
  summary: 'Radiation on a tilted surface from radiation on the horizontal, in a day or in one hour.',
  parameters: {
    horizontal: needs(
      'irradiation',
      'Wh/m2',
      'radiation on the horizontal in the day (a monthly mean day) or the hour',
      {
        minimum: 0,
      },
    ),
    latitude: latitudeParameter,
    day: dayParameter,
    ...surfaceParameters,
    diffuse: may('ratio', '', 'diffuse share of the horizontal radiation, where it is known', {
      minimum: 0,
      maximum: 1,
    }),
    albedo: defaults('ratio', '', solarModel('albedo')[0]!, 'share the ground reflects: snow 0.6 to 0.8', {
      minimum: 0,
      maximum: 1,
      defaultSource: solarSource('albedo').standard,
    }),
    model: wordOr(SKY_MODELS, 'isotropic', 'sky: isotropic, or for one hour hayDavies or hdkr'),
    correlation: wordOr(
      DAY_CORRELATIONS,
      'erbsMonthly',
      'diffuse share of a day: erbsMonthly for a monthly mean, erbsDaily for one day',
    ),
    solarTime: maySolarTime,
  },
  result:
    'irradiation in Wh/m2; `.beam`, `.sky`, `.ground` are its shares, `.beamRatio` and `.diffuseFraction` the factors',
  worst: 'low',
  validity:
    'No shading. Monthly means within 5 % of satellite data; hourly values need the sun above 3° in the middle of the hour.',
  sources: ['Liu and Jordan, Klein 1977 (days); Hay and Davies, Reindl (hours)', TEXTBOOK],
  examples: [
    {
      call: 'tilted(horizontal: 3.92 kWh/m2, latitude: 42.075 deg, day: 75, tilt: 42 deg)',
      gives: '4.84 kWh/m2',
      tolerance: 0.05,
      source: 'NASA Surface Meteorology and Solar Energy, 22-year mean for March at 42.075° N, 1.821° E',
    },
    {
      call: 'tilted(horizontal: 1.81 kWh/m2, latitude: 42.075 deg, day: 17, tilt: 42 deg)',
      gives: '3.20 kWh/m2',
      tolerance: 0.05,
      source: 'the same data for January',
    },
    {
      call: 'tilted(horizontal: 5 kWh/m2, latitude: 40 deg, day: 100, tilt: 0 deg)',
      gives: '5 kWh/m2',
      source: 'definition: a flat surface gets what the horizontal gets',
    },
  ],
  compute: ({ horizontal, latitude, day, tilt, azimuth, diffuse, albedo, model, correlation, solarTime }) => {
    if (model !== 'isotropic' && !solarTime)
      return refused(`the ${model} sky needs \`solarTime\`; a day has the isotropic sky`, 'model');
    const surface: Surface = { tilt: numberIn(tilt, 'deg'), azimuth: numberIn(azimuth, 'deg') };
    const given = tiltCase(numberIn(latitude, 'deg'), numberIn(day, ''), surface, solarTime);
    if ('reason' in given) return refused(given.reason, given.argument);
    const total = numberIn(horizontal, 'Wh/m2');
    const clearness = total / given.outside;
    if (clearness > 1)
      return refused(
        `${formatNumber(total / 1000)} kWh/m2 is more than the sun gives outside the air (${formatNumber(given.outside / 1000)} kWh/m2)`,
        'horizontal',
      );
    const split = diffuse ? { ok: diffuse } : splitOf(clearness, solarTime ? 'erbs' : correlation, given.sunsetAngle);
    if ('refusal' in split) return split.refusal;
    const share = numberIn(split.ok, '');
    const parts = tiltedParts(total, share, given, surface.tilt, numberIn(albedo, ''), model);
    const source = solarTime ? HOURLY_SOURCE[model] : DAILY_SOURCE;
    const beamRatio = derive('beam ratio', given.beamRatio, '1', {
      symbol: 'R_b',
      formula: solarTime ? 'cos θ/cos θ_z' : '∫cos θ dω/∫cos θ_z dω through the day',
      inputs: [latitude, day, tilt, azimuth, ...(solarTime ? [solarTime] : [])],
      source: GEOMETRY,
    });
    const part = (name: string, value: number, formula: string, inputs: readonly Derivation[]): Derivation =>
      derive(name, value, 'Wh/m2', { formula, inputs, source });
    const beam = part('beam on the surface', parts.beam, 'H·(1 − f_d)·R_b', [horizontal, split.ok, beamRatio]);
    const sky = part('sky on the surface', parts.sky, SKY_FORMULA[model], [horizontal, split.ok, beamRatio, tilt]);
    const ground = part('ground on the surface', parts.ground, 'ρ·H·(1 − cos β)/2', [albedo, horizontal, tilt]);
    return known(
      derive('radiation on the surface', parts.beam + parts.sky + parts.ground, 'Wh/m2', {
        symbol: solarTime ? 'I_T' : 'H_T',
        formula: 'beam + sky + ground',
        inputs: [beam, sky, ground],
        source,
        parts: { beam, sky, ground, beamRatio, diffuseFraction: split.ok },
      }),
    );
  },
});

const DAILY_SOURCE = { standard: 'Liu and Jordan; Klein 1977', provenance: 'from memory' } as const;
const HOURLY_SOURCE = {
  isotropic: { standard: 'Liu and Jordan 1963', provenance: 'from memory' },
  hayDavies: { standard: 'Hay and Davies 1980', provenance: 'from memory' },
  hdkr: { standard: 'Reindl, Beckman and Duffie 1990', provenance: 'from memory' },
} as const;
const SKY_FORMULA: Readonly<Record<SkyModel, string>> = {
  isotropic: 'H·f_d·(1 + cos β)/2',
  hayDavies: 'I·f_d·(A·R_b + (1 − A)·(1 + cos β)/2), A = I_b/I₀',
  hdkr: 'I·f_d·(A·R_b + (1 − A)·(1 + cos β)/2·(1 + √(I_b/I)·sin³(β/2))), A = I_b/I₀',
};

function splitOf(
  clearness: number,
  model: DiffuseModel,
  sunsetAngle: number,
): { readonly ok: Derivation } | { readonly refusal: Result } {
  const result = diffuseShare(clearness, model, sunsetAngle);
  if ('reason' in result)
    return {
      refusal: refused(
        `${result.reason}: give \`diffuse\`, or \`correlation: erbsDaily\` for a single day`,
        'horizontal',
      ),
    };
  const index = derive('clearness', clearness, '1', { symbol: 'K_T', formula: 'H/H₀' });
  return {
    ok: fromTable('diffuse fraction', result.share, '1', solarSource(result.table), {
      symbol: 'f_d',
      formula: 'polynomial of the clearness',
      inputs: [index],
    }),
  };
}

function tiltedParts(
  total: number,
  diffuseShareOfTotal: number,
  { beamRatio, outside }: TiltCase,
  tilt: number,
  albedo: number,
  model: SkyModel,
): { beam: number; sky: number; ground: number } {
  const diffuse = total * diffuseShareOfTotal;
  const beam = total - diffuse;
  const skyView = (1 + cosine(tilt)) / 2;
  const anisotropy = model === 'isotropic' ? 0 : beam / outside;
  const horizon = model === 'hdkr' && total > 0 ? 1 + Math.sqrt(beam / total) * sine(tilt / 2) ** 3 : 1;
  return {
    beam: beam * beamRatio,
    sky: diffuse * (anisotropy * beamRatio + (1 - anisotropy) * skyView * horizon),
    ground: (albedo * total * (1 - cosine(tilt))) / 2,
  };
}
