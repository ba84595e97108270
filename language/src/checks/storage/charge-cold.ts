import { type Derivation, fromTable, numberIn } from '../../derivation/index.js';
import type { Condition } from '../../model/conditions.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { formatNumber, inUnit } from '../../quantity/index.js';
import { lowEnd } from '../../quantities/ends.js';
import { chemistrySource } from '../../reference/energy/chemistries.js';
import { defineCheck, type Severity, type Verdict, atLeast, NO_LIMIT, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, pairText, placeOf } from '../verdicts.js';
import { banksOf, chemistryOf, namesOf } from './shared.js';
import { wordIn } from '../../model/stated-facts.js';
import { chargersOf, isCharging } from '../../quantities/supply/joined.js';

/** The lowest temperature at which a bank may be charged: by its data sheet, else by its chemistry. */
interface Floor {
  readonly value: Derivation;
  readonly why: string;
  readonly isPublished: boolean;
}

function floorOf(bank: Instance, context: DesignContext): Floor | undefined {
  const row = chemistryOf(bank, context);
  const stated = context.maybe(bank, 'chargeTemperature');
  if (stated)
    return {
      value: lowEnd(stated),
      why: 'its `chargeTemperature`',
      // Lead cells charged in the cold take little and freeze when empty, but do not plate metal that shorts them.
      isPublished: row?.family !== 'lead',
    };
  if (row?.family !== 'lithium') return undefined;
  const source = chemistrySource(row.name, 'chargeTemperature');
  return {
    value: fromTable('lowest charge temperature', row.chargeTemperature.from, 'degC', source),
    why: `usual for ${row.title}`,
    isPublished: source.provenance === 'published',
  };
}

/** The coldest its cells get: as stated, else no colder than the site where that is warm enough; else the fact that lacks. */
function coldestOf(bank: Instance, floor: Derivation, context: DesignContext): Derivation | undefined {
  const stated = context.maybe(bank, 'cellTemperature');
  if (stated) return lowEnd(stated);
  const ambient = context.siteFact('ambient');
  const site = ambient && lowEnd(ambient);
  return site && numberIn(site, 'degC') >= numberIn(floor, 'degC') ? site : undefined;
}

/** Whether a condition holds at every cell temperature below the floor. */
function holdsBelow(condition: Condition | undefined, bank: Instance, floor: number): boolean {
  switch (condition?.type) {
    case 'any':
      return condition.of.some((each) => holdsBelow(each, bank, floor));
    case 'all':
      return condition.of.every((each) => holdsBelow(each, bank, floor));
    case 'comparison': {
      const [term, ...others] = condition.terms;
      return (
        others.length === 0 &&
        term?.signal.kind === 'of' &&
        term.signal.signal === 'temperature' &&
        term.signal.of === bank &&
        term.factor > 0 &&
        (condition.comparison === '<' || condition.comparison === '<=') &&
        inUnit(condition.limit, 'degC') / term.factor >= floor
      );
    }
    default:
      return false;
  }
}

/** Whether a control rule switches a charger off in the cold. */
const isSwitchedOff = (charger: Instance, bank: Instance, floor: number, context: DesignContext): boolean =>
  context.system.controls.some(
    ({ target, rules }) =>
      target === charger &&
      rules.some(({ verb, condition }) => (verb === 'off' || verb === 'stop') && holdsBelow(condition, bank, floor)),
  );

type Guard = 'none' | 'while linked' | 'always';

/** What keeps a charger from charging cold cells: a rule, or the limits the bank sends over a link. */
function guardOf(charger: Instance, bank: Instance, floor: number, context: DesignContext): Guard {
  if (isSwitchedOff(charger, bank, floor, context)) return 'always';
  const isLinked = context.system.links.some(
    ({ from, to }) => (from === bank && to === charger) || (from === charger && to === bank),
  );
  if (!isLinked) return 'none';
  return wordIn(charger.properties, 'lostLink') === 'stop' ? 'always' : 'while linked';
}

/** The first of the states in which most of the chargers work, for the message. */
function stateOf(chargers: readonly Instance[], context: DesignContext): string {
  const counts = context.circuitStates.map(({ state, circuit }) => ({
    title: state.title,
    count: chargers.filter((charger) => isCharging(charger, context, state.dcSources, circuit.supply)).length,
  }));
  const most = Math.max(0, ...counts.map(({ count }) => count));
  return most === 0 ? '' : `; with ${counts.find(({ count }) => count === most)!.title}`;
}

const SEVERITY: Readonly<Record<Guard, Severity>> = { none: 'error', 'while linked': 'warning', always: 'info' };

function* judgeBank(bank: Instance, context: DesignContext): Generator<Verdict> {
  const chargers = chargersOf(bank, context);
  const floor = floorOf(bank, context);
  if (chargers.length === 0) return;
  if (!floor) {
    if (!context.maybe(bank, 'chemistry'))
      yield notChecked(bank, { kind: 'missing', missing: [`chemistry or chargeTemperature of ${bank.name}`] });
    return;
  }
  const coldest = coldestOf(bank, floor.value, context);
  if (!coldest) return yield notChecked(bank, { kind: 'missing', missing: [`cellTemperature of ${bank.name}`] });
  const degrees = numberIn(floor.value, 'degC');
  const numbers = { coldest, floor: floor.value };
  if (numberIn(coldest, 'degC') >= degrees) return yield passed(bank, atLeast(coldest, floor.value), numbers);
  if (context.maybe(bank, 'heater')?.value === true) return yield passed(bank, NO_LIMIT, numbers);
  const [is, least] = pairText(coldest, floor.value);
  const hasLock = context.maybe(bank, 'coldLock')?.value === true;
  const guards = chargers.map((charger) => guardOf(charger, bank, degrees, context));
  const open = chargers.filter((_, index) => guards[index] !== 'always');
  const guard: Guard =
    hasLock || open.length === 0 ? 'always' : guards.every((each) => each !== 'none') ? 'while linked' : 'none';
  const advice = 'Warm it before charging (`heater: yes`), or keep its cells warmer';
  const isSeveral = (things: readonly Instance[]): boolean => things.length !== 1;
  const told =
    guard === 'always'
      ? {
          headline: `${bank.name} is not charged below ${least}; its cells get as cold as ${is}`,
          why: hasLock
            ? 'its BMS refuses charge then'
            : `${namesOf(chargers)} ${isSeveral(chargers) ? 'are' : 'is'} switched off then`,
          advice: `${advice}, where it must be charged in such weather.`,
        }
      : guard === 'while linked'
        ? {
            headline: `Only the link keeps ${namesOf(open)} from charging ${bank.name} at ${is}; charge from ${least} up`,
            why: `${formatNumber(degrees - numberIn(coldest, 'degC'), 3)} K too cold by ${floor.why}; without the link ${isSeveral(open) ? 'they charge' : 'it charges'} on`,
            advice: 'Choose a bank whose BMS refuses charge in the cold (`coldLock: yes`), or set `lostLink: stop`.',
          }
        : {
            headline: `${namesOf(open)} can charge ${bank.name} at ${is}; charging is allowed from ${least} up`,
            why: `${floor.why}${stateOf(open, context)}`,
            ...(chemistryOf(bank, context)?.family === 'lithium'
              ? { consequence: 'lithium plates out as metal, which can short the cells later' }
              : {}),
            advice: `${advice}, or choose units whose BMS refuses charge in the cold (\`coldLock: yes\`).`,
          };
  yield {
    verdict: 'failed',
    subject: bank.path,
    place: placeOf(bank, 'cellTemperature'),
    severity: guard === 'none' && !floor.isPublished ? 'warning' : SEVERITY[guard],
    ...told,
    use: atLeast(coldest, floor.value),
    numbers,
    fixes: [propose(`Warm ${bank.name} before charging (heater: yes)`, [setProperty(bank, 'heater', 'yes')], true)],
    related: open.map((charger) => ({ place: charger.place, text: `${charger.name} charges ${bank.name}` })),
  };
}

export const chargeCold = defineCheck({
  id: 'charge-cold',
  group: 'storage',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A bank can be charged while its cells are colder than they may be.',
    guards: 'Metallic lithium that plates out in cold cells and shorts them later, without any sign at first.',
    how: points(
      'The lowest `cellTemperature` of the bank against the lowest of its `chargeTemperature`, or against 0 °C for lithium where none is stated. For lead it is a warning.',
      'A site that never gets that cold needs no `cellTemperature`. A `heater` ends the finding.',
      'Where the BMS refuses charge (`coldLock`), a control rule switches every charger off, or all stop without their link, the cells are safe, and an information says that they are not charged then.',
      'Where only a link keeps the chargers off it is a warning.',
    ),
    fix: 'Heat the bank or the room, or let its BMS stop every charger below the limit.',
    sources: [
      {
        standard: 'lithium pack manual and two cell data sheets',
        table: 'charge current by temperature, none below 0 °C',
        provenance: 'published',
      },
      { standard: 'IEC 62619: cells are kept inside their operating region', provenance: 'from memory' },
    ],
    failing: `design Hut {
  site { ambient: -18..28 degC }
  solar Array { power: 400 W }
  chargeController Sun { currentLimit: 30 A   maximumCurrent: 30 A   absorb: 56 V }
  battery Bank : Lfp48V100Ah { cellTemperature: -10..30 degC }
  run Line: Array -> Sun.solar { size: 6 mm2   length: 10 m }
  run Feed: Bank -> Sun.dc { size: 16 mm2   length: 1 m }
}
`,
    passing: `design Hut {
  site { ambient: -18..28 degC }
  solar Array { power: 400 W }
  chargeController Sun { currentLimit: 30 A   maximumCurrent: 30 A   absorb: 56 V }
  battery Bank : Lfp48V100Ah { cellTemperature: -10..30 degC   heater: yes }
  run Line: Array -> Sun.solar { size: 6 mm2   length: 10 m }
  run Feed: Bank -> Sun.dc { size: 16 mm2   length: 1 m }
}
`,
  },
  judge: function* (context) {
    for (const bank of banksOf(context)) yield* judgeBank(bank, context);
  },
});
