import { termOf } from '../../quantities/worst.js';
import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, derive, fromTable, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { formatNumber } from '../../quantity/index.js';
import { chemistry, chemistrySource } from '../../reference/energy/chemistries.js';
import { defineCheck, type Fix, type Verdict, atMost, NO_LIMIT } from '../define.js';
import { notChecked, passed, pairText, whyOf } from '../verdicts.js';
import { PRACTICE, termsOrNames, turnDown } from './shared.js';
import { chargingOf, isBank } from '../../model/roles.js';
import { chargeByTemperature, isChargedByTemperature } from '../../quantities/plant/cell-limits.js';
import { currentInto } from '../../quantities/storage/bank-group.js';
import { chargersOf } from '../../quantities/supply/joined.js';

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
  return { current, why: `usual for ${row.title}; no \`maximumCharge\` is stated`, firm: false };
}

/** Whether every charger hears the bank's own limits over a link, so that the bank lowers the current in the cold by itself. */
function isManaged(bank: Instance, chargers: readonly Instance[], context: DesignContext): boolean {
  const linked = context.system.links
    .filter(({ from, to }) => from === bank || to === bank)
    .flatMap(({ from, to }) => [from, to]);
  return chargers.every((charger) => linked.includes(charger));
}

/** What a lithium iron phosphate bank takes at the lowest cell temperature at which it is charged; the missing fact when that is not stated. */
function coldLimit(bank: Instance, context: DesignContext): Limit | string | undefined {
  if (!isChargedByTemperature(bank, context)) return undefined;
  const temperature = context.maybe(bank, 'cellTemperature')?.value;
  if (typeof temperature !== 'object') return `cellTemperature of ${bank.name}`;
  // Colder than it may be charged at all is the matter of `charge-cold`.
  const allowed = context.maybe(bank, 'chargeTemperature')?.value;
  const floor = typeof allowed === 'object' ? allowed.low : 0;
  const coldest = Math.max(floor, temperature.low);
  const current = chargeByTemperature(bank, coldest, context);
  if (!current) return undefined;
  const [, rate] = current.inputs;
  return {
    current,
    why: `at ${formatNumber(coldest)} °C, the coldest its cells get: ${formatNumber(numberIn(rate!, 'C'))} C by data sheets`,
    firm: false,
  };
}

function fixesFor(bank: Instance, total: Derivation, most: number, context: DesignContext): Fix[] {
  const excess = numberIn(total, 'A') - most;
  const chargers = chargersOf(bank, context)
    .filter((charger) => chargingOf(charger)?.bounds.setting !== undefined)
    .map((charger) => {
      const part = termOf(total, charger);
      return { charger, burdens: part ? [{ share: numberIn(part, 'A'), perAmpere: 1, excess }] : [] };
    });
  return turnDown(chargers, context);
}

function* judgeBank(bank: Instance, context: DesignContext): Generator<Verdict> {
  const chargers = chargersOf(bank, context);
  if (chargers.length === 0) return;
  const all = context.quantity(bank, 'chargeCurrent');
  if (all.kind !== 'known') return yield notChecked(bank, all);
  const total = currentInto(bank, all.derivation, context);
  if (total.kind !== 'known') return yield notChecked(bank, total);
  const stated = context.quantity(bank, 'chargeCurrentLimit');
  const managed = isManaged(bank, chargers, context);
  const warm: Limit | undefined =
    stated.kind === 'known'
      ? { current: stated.derivation, why: `\`maximumCharge\` of ${bank.name}`, firm: !managed }
      : usualRate(bank, context);
  const cold = managed ? undefined : coldLimit(bank, context);
  const isAbove = ({ current }: Limit): boolean =>
    numberIn(total.derivation, 'A') > numberIn(current, 'A') * (1 + 1e-9);
  const limits = [warm, typeof cold === 'string' ? undefined : cold].filter((limit) => limit !== undefined);
  const least = limits.reduce<Limit | undefined>(
    (so, next) => (!so || numberIn(next.current, 'A') < numberIn(so.current, 'A') ? next : so),
    undefined,
  );
  const broken = limits.find((limit) => limit.firm && isAbove(limit)) ?? (least && isAbove(least) ? least : undefined);
  if (!broken) {
    const open = [...(warm ? [] : [`maximumCharge of ${bank.name}`]), ...(typeof cold === 'string' ? [cold] : [])];
    if (open.length > 0) return yield notChecked(bank, { kind: 'missing', missing: open });
    const numbers = { current: total.derivation, ...(least ? { limit: least.current } : {}) };
    return yield passed(bank, least ? atMost(total.derivation, least.current) : NO_LIMIT, numbers);
  }
  const [sum, allowed] = pairText(total.derivation, broken.current);
  const terms = termsOrNames(all.derivation);
  const share = numberIn(total.derivation, 'A') / numberIn(all.derivation, 'A');
  const parted = share < 1 ? `${formatNumber(share * 100, 2)} % of it beside the other banks of its bus` : '';
  const link = managed ? 'the link lowers it only while it works' : '';
  const fixes = fixesFor(bank, all.derivation, numberIn(broken.current, 'A') / share, context);
  yield {
    verdict: 'failed',
    subject: bank.path,
    place: bank.place,
    ...(broken.firm ? {} : { severity: 'warning' as const }),
    headline: `${bank.name} can be charged with ${sum}; it accepts ${allowed}`,
    ...whyOf(terms, parted, governingText(total.derivation), link),
    rule: broken.why,
    advice: 'Lower the limits of the chargers together, or add strings.',
    use: atMost(total.derivation, broken.current),
    numbers: { current: total.derivation, limit: broken.current },
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
    finds: 'All chargers together can charge a bank with more current than it or its BMS accepts.',
    guards: 'The BMS disconnects in the middle of a charge, or the cells age and heat; in the cold lithium plates out.',
    how: 'The current limits of all chargers that work at the same time in a source state are added up and held against `maximumCharge` times the strings. Where none is stated, the usual largest rate of the chemistry is taken and an excess is a warning; so it is against the rate lithium iron phosphate accepts at the lowest cell temperature at which it may be charged, unless it is heated or every charger receives its limit from the bank over a link (then an excess over `maximumCharge` is a warning, too). A charge controller counts with no more than the modules behind it give.',
    fix: 'Lower the charger limits, or add units in parallel.',
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
    for (const instance of context.system.instances) if (isBank(instance)) yield* judgeBank(instance, context);
  },
});
