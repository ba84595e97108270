import { chargingOf, isBank, isOwnCharger, isRegulating } from '../../model/roles.js';
import { type Derivation, derive, displayValue, fromTable, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { cellVoltage } from '../../quantities/bank.js';
import { highEnd, lowEnd } from '../../quantities/ends.js';
import { chemistry, chemistrySource } from '../../reference/energy/chemistries.js';
import { defineCheck, type Failed, type Verdict } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf, pairText } from '../verdicts.js';
import { PRACTICE, roundDown } from './shared.js';
import { chargersOf } from '../../quantities/joined.js';
import { setPointsOf } from '../../quantities/plant/chargers.js';

/** A set point this near the protection trips it by tolerance and imbalance: 0.05 V a cell (common practice, no source). */
const CLEARANCE_PER_CELL = 0.05;
/** A set point further from nominal than this means another series count; that is the matter of `bank-voltage`. */
const PLAUSIBLE = { from: 0.95, to: 1.35 };

/** A set point that suits the bank: the upper end of the chemistry's window, below what limits it. */
function suitable(bank: Instance, name: string, ceiling: number, context: DesignContext): number | undefined {
  if (name === 'float') {
    const float = cellVoltage(bank, context, 'float', 'U', 'floatMax');
    return float.kind === 'known' ? roundDown(Math.min(numberIn(float.derivation, 'V'), ceiling), 0.1) : undefined;
  }
  const low = cellVoltage(bank, context, 'absorption', 'U', 'absorbMin');
  const high = cellVoltage(bank, context, 'absorption', 'U', 'absorbMax');
  if (low.kind !== 'known' || high.kind !== 'known') return undefined;
  const value = roundDown(Math.min(numberIn(high.derivation, 'V'), ceiling), 0.1);
  return value >= numberIn(low.derivation, 'V') * 0.98 ? value : undefined;
}

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
  const ceiling = Math.min(
    numberIn(limit.derivation, 'V'),
    protection.kind === 'known' ? numberIn(protection.derivation, 'V') - clearance : Infinity,
  );
  const row = chemistryOf(bank, context);
  // A limit read from a table of usual figures that is from memory can only warn.
  const isFirm =
    bank.properties.has('chargeLimit') ||
    (row !== undefined && chemistrySource(row.name, 'chargeMost').provenance === 'published');
  const fail = (
    name: string,
    message: string,
    numbers: Record<string, Derivation>,
    value?: number | string,
    severity?: 'warning',
  ): Failed => {
    const written = typeof value === 'number' ? `${value} V` : (value ?? '');
    return {
      verdict: 'failed',
      subject: charger.path,
      place: placeOf(charger, name),
      message,
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
  const origins = [
    ...(factors.length > 1 && !factors.includes('1') ? [factors.join(' · ')] : []),
    ...(isFirm ? [] : ['table from memory']),
  ];
  const origin = origins.length > 0 ? ` (${origins.join('; ')})` : '';
  let sound = true;
  for (const { name, point } of points) {
    const volts = numberIn(point, 'V');
    const value = name === 'equalise' ? roundDown(ceiling, 0.1) : suitable(bank, name, ceiling, context);
    const todo = value === undefined ? '' : ` Set it to ${value} V.`;
    if (name === 'equalise' && row?.equaliseAllowed === 'never') {
      sound = false;
      yield {
        ...fail(
          name,
          `${charger.name} equalises at ${displayValue(point)}, and ${bank.name} is ${row.title}, which is never equalised. Switch equalising off: leave \`equalise\` out.`,
          { point },
        ),
        fixes: propertyRemoval(charger, name),
      };
    } else if (volts > numberIn(limit.derivation, 'V') * (1 + 1e-9)) {
      sound = false;
      const [set, most] = pairText(point, limit.derivation);
      yield fail(
        name,
        `${name} of ${charger.name} is ${set}; ${bank.name} is charged at ${most} at most${origin}.${todo}`,
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
        `${name} of ${charger.name} is ${displayValue(point)}, and the protection of ${bank.name} opens at ${displayValue(protection.derivation)}: with the usual spread between cells (0.05 V each) it opens above ${displayValue(trip)}.${todo}`,
        { point, protection: protection.derivation, limit: trip },
        value,
      );
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
        `absorb of ${charger.name} is ${set}; below ${wanted} ${bank.name} (${row.title}, ${displayValue(count.derivation)} cells in series) is never charged fully.${todo}`,
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
      `${charger.name} changes its set points by ${displayValue(compensation)}, and ${bank.name} is ${row.title}, which is charged at the same voltage at every temperature. Set it to 0 mV/K.`,
      { compensation },
      '0 mV/K',
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
      `${charger.name} charges ${bank.name} (${row!.title}) at the same voltage at ${displayValue(furthest)} as at 25 degC, and that is ${displayValue(shift, 2)} a cell beside what the cells want then (from memory; more than ${UNCOMPENSATED} V a cell is found): ${numberIn(furthest, 'degC') < COMPENSATION_REFERENCE ? 'they are never full in the cold' : 'they gas and dry out in the heat'}. Set temperatureCompensation to ${setting}.`,
      { temperature: furthest, shift },
      setting,
      'warning',
    );
  }
  if (sound) yield passed(charger, { limit: limit.derivation });
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
    finds: 'A charger’s set points do not suit the chemistry, the cell count or the protection of its bank.',
    guards:
      'Overcharged cells, a protection that opens at the end of every charge, a bank that is never full, lithium cells equalised or compensated like lead.',
    how: 'Each set point is held against the highest charge voltage of the bank (`chargeLimit` of a unit times the series count, else the chemistry’s figure per cell), against the voltage at which its protection opens less 0.05 V a cell (common practice, no source), and absorption against the least the chemistry needs (a warning). Regulated alternators and converters that charge count with the upper end of their output voltage. Lithium and gel are never equalised, lithium is not temperature-compensated; a lead-acid bank whose cells get so cold or hot that its set points would be more than 0.1 V a cell beside what they want (usual coefficients from memory) needs compensation, or it is a warning. A limit from a table that is from memory gives a warning only.',
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
