import { chargingOf, isBank, isOwnCharger, isRegulating } from '../../model/roles.js';
import { type Derivation, derive, displayValue, fromTable, numberIn, sourceText } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { highEnd, lowEnd } from '../../quantities/ends.js';
import { chemistry, chemistrySource } from '../../reference/energy/chemistries.js';
import { defineCheck, type Failed, type Verdict, atMost, atLeast, NO_LIMIT, type Use, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { namesOf } from '../storage/shared.js';
import { notChecked, passed, placeOf, pairText, fullest, whyOf } from '../verdicts.js';
import { CLEARANCE_PER_CELL, FLOAT_SPREAD, cellsOf, floatOf, setPointOf, suitable, suitsAll } from './bus-set-point.js';
import { PRACTICE } from './shared.js';
import { banksAt, chargersOf } from '../../quantities/supply/joined.js';
import { setPointsOf } from '../../quantities/plant/chargers.js';

/** A set point further from nominal than this means another series count; that is the matter of `bank-voltage`. */
const PLAUSIBLE = { from: 0.95, to: 1.35 };

function* judgeCharger(charger: Instance, bank: Instance, context: DesignContext): Generator<Verdict> {
  const nominal = context.quantity(bank, 'bankVoltage');
  const limit = context.quantity(bank, 'chargeVoltageLimit');
  const count = context.quantity(bank, 'cellCount');
  const points = setPointsOf(charger, context);
  if (points.length === 0) {
    const name = chargingOf(charger)?.setPoints[0] ?? 'absorb';
    return yield notChecked(charger, { kind: 'missing', missing: [`${name} of ${charger.name}`] });
  }
  if (limit.kind !== 'known') return yield notChecked(charger, limit);
  if (nominal.kind !== 'known') return yield notChecked(charger, nominal);
  const quotient = numberIn(points[0]!.point, 'V') / numberIn(nominal.derivation, 'V');
  if (quotient < PLAUSIBLE.from || quotient > PLAUSIBLE.to) return;

  const protection = context.quantity(bank, 'protectionVoltage');
  const clearance = count.kind === 'known' ? CLEARANCE_PER_CELL * numberIn(count.derivation, '') : 0;
  const row = chemistryOf(bank, context);
  // A limit read from a table of usual figures that is from memory can only warn.
  const isFirm =
    bank.properties.has('chargeLimit') ||
    (row !== undefined && chemistrySource(row.name, 'chargeMost').provenance === 'published');
  const fail = (
    name: string,
    told: Told,
    numbers: Record<string, Derivation>,
    value?: number | string,
    severity?: 'warning',
  ): Failed => {
    const written = typeof value === 'number' ? `${value} V` : (value ?? '');
    return {
      verdict: 'failed',
      subject: charger.path,
      place: placeOf(charger, name),
      // What the bank itself states goes before the figures of its chemistry, which are those of no other chemistry.
      ...(bank.properties.has('chargeLimit')
        ? { rule: `chargeLimit of ${bank.name}` }
        : row && { rule: sourceText(chemistrySource(row.name, 'chargeMost')) }),
      ...told,
      numbers,
      ...(severity ? { severity } : {}),
      related: [{ place: bank.place, text: `${bank.name}: ${displayValue(limit.derivation)} at most` }],
      fixes:
        value === undefined
          ? []
          : [propose(`Set ${name} of ${charger.name} to ${written}`, [setProperty(charger, name, written)], true)],
    };
  };
  const factors = limit.derivation.inputs.map((input) => displayValue(input));
  const origin = [
    ...(factors.length > 1 && !factors.includes('1') ? [factors.join(' · ')] : []),
    ...(isFirm ? [] : ['table from memory']),
  ];
  let sound = true;
  for (const { name, point } of points) {
    const volts = numberIn(point, 'V');
    const found = suitable(charger, name, context);
    const value = typeof found === 'number' ? found : undefined;
    const todo =
      found === 'none' && banksAt(charger, context).length > 1
        ? `No one voltage suits ${namesOf(banksAt(charger, context))}: give them chargers of their own.`
        : undefined;
    const advice = todo ? { advice: todo } : {};
    const badFloat = name === 'float' ? judgeFloat(charger, bank, point, context) : undefined;
    if (name === 'equalise' && row?.equaliseAllowed === 'never') {
      sound = false;
      yield {
        ...fail(
          name,
          {
            headline: `${charger.name} equalises at ${displayValue(point)}; ${bank.name} is ${row.title}, never equalised`,
            advice: 'Switch equalising off: remove `equalise`.',
            use: NO_LIMIT,
          },
          { point },
        ),
        fixes: propertyRemoval(charger, name),
      };
    } else if (volts > numberIn(limit.derivation, 'V') * (1 + 1e-9)) {
      sound = false;
      const [set, most] = pairText(point, limit.derivation);
      yield fail(
        name,
        {
          headline: `${name} of ${charger.name} is ${set}; ${bank.name} is charged at ${most} at most`,
          ...whyOf(...origin),
          ...advice,
          use: atMost(point, limit.derivation),
        },
        { point, limit: limit.derivation },
        value,
        isFirm ? undefined : 'warning',
      );
    } else if (protection.kind === 'known' && volts > numberIn(protection.derivation, 'V') - clearance + 1e-9) {
      sound = false;
      const trip = derive(
        'highest set point below the protection',
        numberIn(protection.derivation, 'V') - clearance,
        'V',
        { formula: 'U_prot − 0.05 V·n_c', inputs: [protection.derivation] },
      );
      yield fail(
        name,
        {
          headline: `${name} of ${charger.name} is ${displayValue(point)}; the BMS of ${bank.name} disconnects at ${displayValue(protection.derivation)}`,
          why: `with the usual spread between cells (0.05 V each) it disconnects above ${displayValue(trip)}`,
          ...advice,
          use: atMost(point, trip),
        },
        { point, protection: protection.derivation, limit: trip },
        value,
      );
    } else if (badFloat) {
      sound = false;
      yield fail(name, { ...badFloat.told, ...advice }, badFloat.numbers, value, badFloat.severity);
    } else if (
      name === 'absorb' &&
      row &&
      count.kind === 'known' &&
      volts < row.absorbLeast * numberIn(count.derivation, '') * (1 - 1e-9)
    ) {
      sound = false;
      const least = derive('least absorption voltage', row.absorbLeast * numberIn(count.derivation, ''), 'V', {
        formula: 'U_cell·n_c',
        inputs: [count.derivation],
      });
      const [set, wanted] = pairText(point, least);
      yield fail(
        name,
        {
          headline: `absorb of ${charger.name} is ${set}; below ${wanted} ${bank.name} is never charged fully`,
          why: `${row.title}, ${displayValue(count.derivation)} cells in series`,
          ...advice,
          use: atLeast(point, least),
        },
        { point, limit: least },
        value,
        'warning',
      );
    }
  }
  const compensation = context.maybe(charger, 'temperatureCompensation');
  if (compensation && row?.family === 'lithium' && numberIn(compensation, 'V/K') !== 0) {
    sound = false;
    yield fail(
      'temperatureCompensation',
      {
        headline: `${charger.name} changes its set points by ${displayValue(compensation)}; ${bank.name} needs 0 mV/K`,
        why: `${row.title} is charged at the same voltage at every temperature`,
        ...(suitsAll(charger, bank, context) ? {} : { advice: OWN_CHARGER }),
        use: NO_LIMIT,
      },
      { compensation },
      suitsAll(charger, bank, context) ? '0 mV/K' : undefined,
    );
  }
  const lead = leadCompensation(charger, bank, compensation, context);
  if (lead && 'missing' in lead) {
    if (sound) yield notChecked(charger, { kind: 'missing', missing: lead.missing });
    return;
  }
  if (lead) {
    sound = false;
    const { setting, furthest, shift } = lead;
    yield fail(
      'temperatureCompensation',
      {
        headline: `${charger.name} charges ${bank.name} at ${displayValue(furthest)} as at 25 °C, ${displayValue(shift, 2)} a cell off`,
        why: `at most ${UNCOMPENSATED} V a cell for ${row!.title} (from memory)`,
        consequence:
          numberIn(furthest, 'degC') < COMPENSATION_REFERENCE
            ? 'they are never full in the cold'
            : 'they gas and dry out in the heat',
        ...(suitsAll(charger, bank, context) ? {} : { advice: OWN_CHARGER }),
        use: atMost(shift, derive('largest shift without compensation', UNCOMPENSATED, 'V')),
      },
      { temperature: furthest, shift },
      suitsAll(charger, bank, context) ? setting : undefined,
      'warning',
    );
  }
  if (sound) yield passed(charger, closestOf(points, limit.derivation), { limit: limit.derivation });
}

/** What a finding says. */
type Told = Pick<Failed, 'headline' | 'why' | 'advice' | 'consequence' | 'use'>;

const OWN_CHARGER = 'What suits the others does not suit it: give it a charger of its own.';

/** The highest of the set points against what the bank is charged at. */
function closestOf(points: readonly { readonly point: Derivation }[], limit: Derivation): Use {
  const [first, ...others] = points.map(({ point }) => atMost(point, limit)) as [Use, ...Use[]];
  return fullest(first, ...others);
}

interface BadFloat {
  readonly told: Told;
  readonly numbers: Record<string, Derivation>;
  readonly severity?: 'warning';
}

/** What is wrong with the voltage at which a charger keeps a full bank, for days on end. */
function judgeFloat(
  charger: Instance,
  bank: Instance,
  point: Derivation,
  context: DesignContext,
): BadFloat | undefined {
  const absorb = setPointOf(charger, 'absorb', context);
  const cells = cellsOf(bank, context);
  const volts = numberIn(point, 'V');
  if (absorb && volts > numberIn(absorb, 'V') * (1 + 1e-9)) {
    // It is the charger's own contradiction, told once.
    if (banksAt(charger, context)[0] !== bank) return undefined;
    const [set, above] = pairText(point, absorb);
    return {
      told: {
        headline: `float of ${charger.name} is ${set}, above its absorption (${above})`,
        consequence: 'a full bank is kept at more than it was charged with',
        use: atMost(point, absorb),
      },
      numbers: { point, absorb },
    };
  }
  if (!cells) return undefined;
  const { row, count } = cells;
  const usual = floatOf(cells);
  const figure = (name: string, perCell: number): Derivation =>
    derive(name, perCell * count, 'V', {
      formula: 'U_cell·n_c',
      inputs: [
        fromTable(name, perCell, 'V', chemistrySource(row.name, 'float'), { symbol: 'U_cell' }),
        derive('cells in series', count, '', { symbol: 'n_c' }),
      ],
    });
  if (volts > (usual.most + FLOAT_SPREAD) * count * (1 + 1e-9)) {
    const most = figure('usual float voltage at most', usual.most);
    const [set, kept] = pairText(point, most);
    const harm = row.family === 'lithium' ? 'kept full at a high voltage they age' : 'they gas, dry out and corrode';
    return {
      told: {
        headline: `float of ${charger.name} is ${set}; ${bank.name} is kept at ${kept} at most`,
        why: `${row.title}, ${count} cells in series (from memory; the data sheet goes first)`,
        consequence: harm,
        use: atMost(point, most),
      },
      numbers: { point, limit: most },
      severity: 'warning',
    };
  }
  if (volts < usual.least * count * (1 - 1e-9)) {
    const rest = figure('rest voltage when full', usual.least);
    const [set, least] = pairText(point, rest);
    return {
      told: {
        headline: `float of ${charger.name} is ${set}; ${bank.name} rests at ${least} when full`,
        why: `${row.title}, ${count} cells in series`,
        consequence: 'its self-discharge is not made up, and it sulphates',
        use: atLeast(point, rest),
      },
      numbers: { point, limit: rest },
      severity: 'warning',
    };
  }
  return undefined;
}

/** Lead-acid set points may stay this far beside what the cells want, V a cell (common practice, no source). */
const UNCOMPENSATED = 0.1;
/** Cell temperature at which set points hold, °C (common practice, no source; some makers say 20 °C). */
const COMPENSATION_REFERENCE = 25;

/** What is wrong with a lead-acid bank charged at the same voltage at every temperature; undefined when nothing is. */
function leadCompensation(
  charger: Instance,
  bank: Instance,
  compensation: Derivation | undefined,
  context: DesignContext,
): { missing: string[] } | { setting: string; furthest: Derivation; shift: Derivation } | undefined {
  const row = chemistryOf(bank, context);
  const count = context.quantity(bank, 'cellCount');
  const isSettable = chargingOf(charger)?.bounds.temperatureCompensation !== undefined;
  if (row?.family !== 'lead' || !row.compensation.allowed || !isSettable || count.kind !== 'known') return undefined;
  if (compensation && numberIn(compensation, 'V/K') !== 0) return undefined;
  const cells = context.maybe(bank, 'cellTemperature');
  if (!cells) return { missing: [`cellTemperature of ${bank.name}`] };
  const ends = [lowEnd(cells), highEnd(cells)];
  const far = (end: Derivation): number => Math.abs(numberIn(end, 'degC') - COMPENSATION_REFERENCE);
  const furthest = ends.reduce((so, next) => (far(next) > far(so) ? next : so));
  const coefficient = fromTable(
    'temperature coefficient of one cell',
    row.compensation.coefficient,
    'mV/K',
    chemistrySource(row.name, 'compensation'),
    { symbol: 'k' },
  );
  const shift = derive(
    'voltage beside what the cells want',
    Math.abs(numberIn(coefficient, 'V/K')) * far(furthest),
    'V',
    {
      symbol: 'ΔU',
      formula: '|k|·|T − 25 °C|',
      inputs: [coefficient, furthest],
    },
  );
  if (numberIn(shift, 'V') <= UNCOMPENSATED * (1 + 1e-9)) return undefined;
  return { setting: `${row.compensation.coefficient * numberIn(count.derivation, '')} mV/K`, furthest, shift };
}

const chemistryOf = (bank: Instance, context: DesignContext) => {
  const name = context.maybe(bank, 'chemistry')?.value;
  return typeof name === 'string' ? chemistry(name) : undefined;
};

/** Takes a property out of the text where the thing itself states it. */
function propertyRemoval(charger: Instance, name: string): Failed['fixes'] {
  const property = charger.properties.get(name);
  return property?.whole && property.inheritedFrom === undefined
    ? [propose(`Remove ${name} from ${charger.name}`, [{ place: property.whole, text: '' }], true)]
    : [];
}

export const chargeVoltage = defineCheck({
  id: 'charge-voltage',
  group: 'sources',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A charger’s set points do not suit the chemistry, the cell count or the BMS of its bank.',
    guards:
      'Overcharged cells, a BMS that disconnects at the end of every charge, a bank that is never full, lithium cells equalised or compensated like lead.',
    how: points(
      'Each set point against the bank, its BMS and its chemistry.',
      'Highest charge voltage: `chargeLimit` of a unit times the series count, else the figure of the chemistry per cell.',
      'BMS: the voltage at which it disconnects (`protectionHigh`), less 0.05 V a cell (common practice, no source).',
      'Absorption against the least that the chemistry needs (a warning).',
      'Float above absorption is an error. Float above the usual one of the chemistry (from memory, 0.02 V a cell allowed) or, for lead, below the rest voltage of full cells is a warning.',
      'Lithium and gel are never equalised, and lithium is not temperature-compensated. A lead-acid bank whose cells get so cold or hot that its set points would be more than 0.1 V a cell beside what they want (usual coefficients from memory) needs compensation, or it is a warning.',
      'Regulated alternators and converters that charge count with the upper end of their output voltage.',
      'A limit from a table that is from memory gives a warning only. A set point is proposed only where it suits every bank that the charger charges.',
    ),
    fix: 'Set the voltages that the maker of the bank gives, below the disconnect of its BMS.',
    sources: [
      {
        standard: 'published lithium cell charts',
        table: '3.65 V a cell at most for lithium iron phosphate',
        provenance: 'published',
      },
      { standard: 'lead-acid charge voltages', provenance: 'from memory' },
      PRACTICE,
    ],
    failing: `design Hut {
  grid Mains { voltage: 230 V   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 40 A   absorb: 58.8 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah
  run In: Mains -> Rect.ac { size: 4 mm2   length: 5 m }
  run Feed: Rect.dc -> Bank { size: 16 mm2   length: 1 m }
}
`,
    passing: `design Hut {
  grid Mains { voltage: 230 V   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 40 A   absorb: 56 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah
  run In: Mains -> Rect.ac { size: 4 mm2   length: 5 m }
  run Feed: Rect.dc -> Bank { size: 16 mm2   length: 1 m }
}
`,
  },
  judge: function* (context) {
    for (const bank of context.system.instances) {
      if (!isBank(bank)) continue;
      for (const charger of chargersOf(bank, context))
        // Vehicles and modules joined directly, and sources that follow their bank, state no set point of their own.
        if (!isOwnCharger(charger) || isRegulating(charger)) yield* judgeCharger(charger, bank, context);
    }
  },
});
