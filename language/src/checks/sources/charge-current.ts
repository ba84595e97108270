import { type Derivation, derive, fromTable, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { chargersOf } from '../../quantities/bank.js';
import { chemistry, chemistrySource, lithiumChargeRateAt } from '../../reference/energy/chemistries.js';
import { defineCheck, type Fix, type Verdict } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed } from '../verdicts.js';
import { pairText, PRACTICE, roundDown } from './shared.js';

interface Limit {
  readonly current: Derivation;
  readonly why: string;
  /** By data sheet an excess is an error; by the usual figure of a chemistry it is a warning. */
  readonly firm: boolean;
}

function usualRate(bank: Instance, context: DesignContext): Limit | undefined {
  const name = context.maybe(bank, 'chemistry')?.value;
  const row = typeof name === 'string' ? chemistry(name) : undefined;
  const capacity = context.quantity(bank, 'bankCapacity');
  if (!row || capacity.kind !== 'known') return undefined;
  const rate = fromTable(
    'usual largest charge rate',
    row.chargeRate.most,
    'C',
    chemistrySource(row.name, 'chargeRate'),
    { symbol: 'r' },
  );
  const current = derive('usual charge current', numberIn(capacity.derivation, 'Ah') * row.chargeRate.most, 'A', {
    symbol: 'I',
    formula: 'C·r',
    inputs: [capacity.derivation, rate],
  });
  return { current, why: `usual for ${row.title}, since no \`maximumCharge\` is stated`, firm: false };
}

/** Whether every charger hears the bank's own limits over a link, so that the bank lowers the current in the cold by itself. */
function isManaged(bank: Instance, chargers: readonly Instance[], context: DesignContext): boolean {
  const linked = context.system.links
    .filter(({ from, to }) => from === bank || to === bank)
    .flatMap(({ from, to }) => [from, to]);
  return chargers.every((charger) => linked.includes(charger));
}

/** What a lithium bank takes at the lowest cell temperature at which it may still be charged. */
function coldLimit(bank: Instance, context: DesignContext): Limit | undefined {
  const name = context.maybe(bank, 'chemistry')?.value;
  const temperature = context.maybe(bank, 'cellTemperature')?.value;
  const capacity = context.quantity(bank, 'bankCapacity');
  if (
    typeof name !== 'string' ||
    chemistry(name)?.family !== 'lithium' ||
    typeof temperature !== 'object' ||
    capacity.kind !== 'known'
  )
    return undefined;
  // Below freezing no charging is allowed at all; that is the matter of `charge-cold`.
  const coldest = Math.max(0, temperature.low);
  const { rate, source } = lithiumChargeRateAt(coldest);
  if (rate <= 0) return undefined;
  const factor = fromTable('charge rate in the cold', rate, 'C', source, { symbol: 'r', notes: [`at ${coldest} °C`] });
  const current = derive('charge current in the cold', numberIn(capacity.derivation, 'Ah') * rate, 'A', {
    symbol: 'I',
    formula: 'C·r',
    inputs: [capacity.derivation, factor],
  });
  return { current, why: `at ${coldest} degC, the coldest its cells get while charging is allowed`, firm: false };
}

function fixesFor(bank: Instance, total: Derivation, limit: Derivation, context: DesignContext): Fix[] {
  const excess = numberIn(total, 'A') - numberIn(limit, 'A');
  return chargersOf(bank, context).flatMap((charger) => {
    const own = context.quantity(charger, 'outputCurrent');
    if (own.kind !== 'known' || !total.inputs.some((input) => input.name === own.derivation.name)) return [];
    const amperes = roundDown(numberIn(own.derivation, 'A') - excess, 1);
    return amperes < 1
      ? []
      : [
          propose(
            `Limit ${charger.name} to ${amperes} A`,
            [setProperty(charger, 'currentLimit', `${amperes} A`)],
            true,
          ),
        ];
  });
}

function* judgeBank(bank: Instance, context: DesignContext): Generator<Verdict> {
  const chargers = chargersOf(bank, context);
  if (chargers.length === 0) return;
  const total = context.quantity(bank, 'chargeCurrent');
  if (total.kind !== 'known') return yield notChecked(bank, total);
  const stated = context.quantity(bank, 'chargeCurrentLimit');
  const limits = [
    stated.kind === 'known'
      ? { current: stated.derivation, why: 'by its `maximumCharge`, all strings together', firm: true }
      : usualRate(bank, context),
    isManaged(bank, chargers, context) ? undefined : coldLimit(bank, context),
  ].filter((limit): limit is Limit => limit !== undefined);
  if (limits.length === 0)
    return yield notChecked(bank, { kind: 'missing', missing: [`maximumCharge of ${bank.name}`] });
  const least = limits.reduce((so, next) => (numberIn(next.current, 'A') < numberIn(so.current, 'A') ? next : so));
  const firm = limits.find(
    (limit) => limit.firm && numberIn(total.derivation, 'A') > numberIn(limit.current, 'A') * (1 + 1e-9),
  );
  const numbers = { current: total.derivation, limit: least.current };
  if (numberIn(total.derivation, 'A') <= numberIn(least.current, 'A') * (1 + 1e-9)) return yield passed(bank, numbers);
  const broken = firm ?? least;
  const [sum, allowed] = pairText(total.derivation, broken.current);
  const terms = total.derivation.inputs.map((input) => input.name.replace(/^output current of /, '')).join(' and ');
  const governing = total.derivation.governing ? ` ${total.derivation.governing.replace(/^with /, 'with ')}` : '';
  const fixes = fixesFor(bank, total.derivation, broken.current, context);
  yield {
    verdict: 'failed',
    subject: bank.path,
    place: bank.place,
    ...(broken.firm ? {} : { severity: 'warning' as const }),
    message: `${terms || 'The chargers'} can charge ${bank.name} with ${sum}${governing}; the bank takes ${allowed} (${broken.why}).${fixes[0] ? ` ${fixes[0].title}.` : ' Lower the limits of the chargers together.'}`,
    numbers: { ...numbers, limit: broken.current },
    fixes,
    related: chargers.map((charger) => ({ place: charger.place, text: `${charger.name} charges ${bank.name}` })),
  };
}

export const chargeCurrent = defineCheck({
  id: 'charge-current',
  group: 'sources',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'All chargers together can charge a bank with more current than it or its protection takes.',
    guards:
      'The protection of the bank opens in the middle of a charge, or the cells age and heat; in the cold lithium plates out.',
    how: 'The current limits of all chargers that work at the same time in a source state are added up and held against `maximumCharge` times the strings. Where none is stated, the usual largest rate of the chemistry is taken and an excess is a warning; so it is against the rate lithium takes at the lowest cell temperature stated, unless every charger takes its limit from the bank over a link.',
    sources: [
      {
        standard: 'lithium pack manuals and cell data sheets',
        table: 'charge current by temperature',
        provenance: 'published',
      },
      PRACTICE,
    ],
    failing: `design Hut {
  grid Mains { voltage: 230 V   rating: 32 A }
  charger A { input: 180..264 V   currentLimit: 100 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  charger B { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah
  bus Panel {}
  bus Dc {}
  run In: Mains -> Panel { size: 10 mm2   length: 5 m }
  run InA: Panel -> A.ac { size: 6 mm2   length: 5 m }
  run InB: Panel -> B.ac { size: 6 mm2   length: 5 m }
  run OutA: A.dc -> Dc { size: 35 mm2   length: 1 m }
  run OutB: B.dc -> Dc { size: 25 mm2   length: 1 m }
  run Feed: Bank -> Dc { size: 70 mm2   length: 1 m }
}
`,
    passing: `design Hut {
  grid Mains { voltage: 230 V   rating: 32 A }
  charger A { input: 180..264 V   currentLimit: 80 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  charger B { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah
  bus Panel {}
  bus Dc {}
  run In: Mains -> Panel { size: 10 mm2   length: 5 m }
  run InA: Panel -> A.ac { size: 6 mm2   length: 5 m }
  run InB: Panel -> B.ac { size: 6 mm2   length: 5 m }
  run OutA: A.dc -> Dc { size: 35 mm2   length: 1 m }
  run OutB: B.dc -> Dc { size: 25 mm2   length: 1 m }
  run Feed: Bank -> Dc { size: 70 mm2   length: 1 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances)
      if (instance.kind === 'battery') yield* judgeBank(instance, context);
  },
});
