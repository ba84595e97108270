import { type Derivation, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { highEnd, lowEnd } from '../../quantities/ends.js';
import { defineCheck, type Verdict, atMost, atLeast, type Use } from '../define.js';
import { notChecked, pairText, passed, placeOf } from '../verdicts.js';
import { banksOf } from './shared.js';
import { chargersOf } from '../../quantities/supply/joined.js';

/** One end of a span that cells may have, with what they must not do beyond it. */
interface Bound {
  readonly property: 'dischargeTemperature' | 'chargeTemperature';
  readonly end: 'cold' | 'hot';
  readonly limit: Derivation;
  readonly use: string;
}

/** Charging in the cold is a matter of its own: `charge-cold`. */
function boundsOf(bank: Instance, context: DesignContext): Bound[] {
  const discharge = context.maybe(bank, 'dischargeTemperature');
  const charge = chargersOf(bank, context).length > 0 ? context.maybe(bank, 'chargeTemperature') : undefined;
  return [
    ...(discharge
      ? ([
          { property: 'dischargeTemperature', end: 'cold', limit: lowEnd(discharge), use: 'discharged' },
          { property: 'dischargeTemperature', end: 'hot', limit: highEnd(discharge), use: 'discharged' },
        ] as const)
      : []),
    ...(charge
      ? ([{ property: 'chargeTemperature', end: 'hot', limit: highEnd(charge), use: 'charged' }] as const)
      : []),
  ];
}

const extreme = (span: Derivation, end: Bound['end']): Derivation => (end === 'cold' ? lowEnd(span) : highEnd(span));

const isBeyond = (temperature: Derivation, { end, limit }: Bound): boolean =>
  end === 'cold'
    ? numberIn(temperature, 'degC') < numberIn(limit, 'degC')
    : numberIn(temperature, 'degC') > numberIn(limit, 'degC');

const useOf = (temperature: Derivation, { end, limit }: Bound): Use =>
  end === 'cold' ? atLeast(temperature, limit) : atMost(temperature, limit);
function* judgeBank(bank: Instance, context: DesignContext): Generator<Verdict> {
  const bounds = boundsOf(bank, context);
  if (bounds.length === 0) return;
  const cells = context.maybe(bank, 'cellTemperature');
  if (!cells) {
    const ambient = context.siteFact('ambient');
    // A site within the limits says nothing of a hot enclosure, but is no reason to ask either.
    if (ambient && bounds.some((bound) => isBeyond(extreme(ambient, bound.end), bound)))
      yield notChecked(bank, { kind: 'missing', missing: [`cellTemperature of ${bank.name}`] });
    return;
  }
  const broken = bounds.filter((bound) => isBeyond(extreme(cells, bound.end), bound));
  if (broken.length === 0) {
    const uses = bounds.map((bound) => useOf(extreme(cells, bound.end), bound));
    // Readings have no shares: the bound with the fewest degrees left is the one that counts.
    const left = ({ value, limit }: Use): number => Math.abs(numberIn(value, 'degC') - numberIn(limit, 'degC'));
    return yield passed(
      bank,
      uses.reduce((so, next) => (left(next) < left(so) ? next : so)),
      { cells },
    );
  }
  for (const end of ['cold', 'hot'] as const) {
    const all = broken.filter((bound) => bound.end === end);
    // Of two limits at one end the one that is passed first is told.
    const [first, ...others] = all;
    if (!first) continue;
    const bound = others.reduce(
      (so, next) => (numberIn(next.limit, 'degC') < numberIn(so.limit, 'degC') ? next : so),
      first,
    );
    const [is, limit] = pairText(extreme(cells, end), bound.limit);
    yield {
      verdict: 'failed',
      subject: bank.path,
      place: placeOf(bank, 'cellTemperature'),
      headline:
        end === 'cold'
          ? `The cells of ${bank.name} get as cold as ${is}; discharge is allowed from ${limit} up`
          : `The cells of ${bank.name} get as hot as ${is}; they may be ${bound.use} up to ${limit}`,
      rule: `\`${bound.property}\` of ${bank.name}`,
      consequence:
        end === 'cold'
          ? 'the BMS disconnects, or the bank gives next to nothing'
          : 'they age fast, or the BMS disconnects',
      advice:
        end === 'cold'
          ? 'Insulate or warm it, or choose cells for such cold.'
          : 'Shade, ventilate or cool it, or set it up elsewhere.',
      use: useOf(extreme(cells, end), bound),
      numbers: { cells, limit: bound.limit },
    };
  }
}

export const cellTemperature = defineCheck({
  id: 'cell-temperature',
  group: 'storage',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'The cells of a bank get colder or hotter than its data sheet allows.',
    guards:
      'A bank that switches itself off in the cold or heat when it is needed, and cells that age in a few summers.',
    how: 'Both ends of `cellTemperature` are held against `dischargeTemperature`, and its upper end against that of `chargeTemperature` where anything charges the bank. Charging in the cold is judged by `charge-cold`. Where `cellTemperature` is not stated it is a question only if the site leaves the span of the data sheet.',
    fix: 'Move, insulate, heat or cool the bank, or choose a chemistry for that climate.',
    sources: [{ standard: 'the data sheet of the bank', provenance: 'data sheet' }],
    failing: `design Mast {
  site { ambient: -35..30 degC }
  battery Bank : Lfp12V100Ah { cellTemperature: -30..30 degC }
  load Radio { power: 10 W   supply: dc   profile: always }
  run Feed: Bank -> Radio { size: 4 mm2   length: 2 m }
}
`,
    passing: `design Mast {
  site { ambient: -35..30 degC }
  battery Bank : Lfp12V100Ah { cellTemperature: -20..30 degC }
  load Radio { power: 10 W   supply: dc   profile: always }
  run Feed: Bank -> Radio { size: 4 mm2   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const bank of banksOf(context)) yield* judgeBank(bank, context);
  },
});
