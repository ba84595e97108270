import { displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { formatNumber } from '../../quantity/index.js';
import { chemistrySource } from '../../reference/energy/chemistries.js';
import { defineCheck, type Verdict, NO_LIMIT } from '../define.js';
import { passed } from '../verdicts.js';
import { PRACTICE, busesOf, chemistryOf } from './shared.js';

/** Rated capacities, cell counts and other figures of one type agree within this share: rounding of data sheets, no source. */
const SAME = 0.02;

/** What each of two banks is, where they are unlike: `lithium iron phosphate` and `lead-acid, gel`; undefined when they are alike. */
function unlike(
  one: Instance,
  other: Instance,
  context: DesignContext,
): { readonly pair: readonly [string, string]; readonly isChemistry: boolean } | undefined {
  const rows = [chemistryOf(one, context), chemistryOf(other, context)] as const;
  if (rows[0] && rows[1] && rows[0] !== rows[1]) {
    const pair = [rows[0].title, rows[1].title] as const;
    return { pair, isChemistry: true };
  }
  // The voltage of unlike series counts is the matter of `bank-voltage`; here units of one string are compared.
  for (const [property, unit] of [
    ['capacity', 'Ah'],
    ['voltage', 'V'],
  ] as const) {
    const [left, right] = [context.maybe(one, property), context.maybe(other, property)];
    if (!left || !right) continue;
    const ratio = numberIn(left, unit) / numberIn(right, unit);
    if (Math.abs(ratio - 1) > SAME)
      return { pair: [`units of ${displayValue(left)}`, `units of ${displayValue(right)}`], isChemistry: false };
  }
  return undefined;
}

/** Charge windows of two chemistries for one bus, in V a cell of either, for the message. */
function windowsOf(banks: readonly Instance[], context: DesignContext): string {
  const texts = banks.flatMap((bank) => {
    const row = chemistryOf(bank, context);
    const count = context.quantity(bank, 'cellCount');
    if (!row || count.kind !== 'known') return [];
    const cells = numberIn(count.derivation, '');
    return [`${bank.name} ${formatNumber(row.absorb.from * cells, 3)}–${formatNumber(row.absorb.to * cells, 3)} V`];
  });
  return texts.length < 2 ? '' : `; ${texts.join(', ')}`;
}

function* judgeBus(banks: readonly Instance[], context: DesignContext): Generator<Verdict> {
  const [first, ...others] = banks as readonly [Instance, ...Instance[]];
  const odd = others.flatMap((other) => {
    const found = unlike(first, other, context);
    return found ? [{ other, ...found }] : [];
  });
  if (odd.length === 0) {
    const lacking = banks.flatMap((bank) =>
      (['chemistry', 'capacity', 'voltage'] as const).flatMap((fact) =>
        context.maybe(bank, fact) ? [] : [`${fact} of ${bank.name}`],
      ),
    );
    if (lacking.length === 0) yield passed(first, NO_LIMIT);
    else yield { verdict: 'not-checked', subject: first.path, place: first.place, missing: lacking };
    return;
  }
  for (const { other, pair, isChemistry } of odd)
    yield {
      verdict: 'failed',
      subject: other.path,
      place: other.place,
      headline: `${other.name} and ${first.name} are in parallel, but ${isChemistry ? 'of unlike chemistry' : 'their units differ'}`,
      why: isChemistry
        ? `${pair[1]}; ${pair[0]}${windowsOf([first, other], context)}`
        : `${pair[1]} and ${pair[0]}: they share the current by resistance, not by size`,
      consequence: isChemistry
        ? 'one is over- or undercharged by what suits the other, and the fuller one discharges into the emptier'
        : 'they age unevenly',
      advice: isChemistry
        ? `Give ${other.name} a bus of its own behind a DC-to-DC charger, or use one kind of battery.`
        : 'Use units of one type, capacity and age.',
      use: NO_LIMIT,
      related: [{ place: first.place, text: `${first.name}: ${pair[0]}` }],
      sources: isChemistry
        ? [first, other].flatMap((bank) => {
            const row = chemistryOf(bank, context);
            return row ? [chemistrySource(row.name, 'absorb')] : [];
          })
        : [],
    };
}

export const bankMixed = defineCheck({
  id: 'bank-mixed',
  group: 'storage',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'Banks of unlike units are in parallel on one bus.',
    guards: 'Cells that are overcharged or never filled, currents between the banks, early loss of the weaker one.',
    how: 'Chemistry, and capacity and voltage of the units (2 % apart count as alike), of all banks that are joined without a converter between them are compared with those of the first. A switch or isolator between them does not part them: it can be closed. That batteries in parallel should be alike in type, capacity and age is common practice.',
    fix: 'Give unlike banks chargers and loads of their own, or a converter between them.',
    sources: [PRACTICE],
    failing: `design Barge {
  battery House : Lfp12V200Ah
  battery Old : Agm12V200Ah
  bus Dc {}
  run A: House -> Dc { size: 70 mm2   length: 1 m }
  run B: Old -> Dc { size: 70 mm2   length: 1 m }
}
`,
    passing: `design Barge {
  battery House : Lfp12V200Ah
  battery Old : Agm12V200Ah
  bus Dc {}
  bus StartBus {}
  converter Between { input: 11..16 V   output: 14.1 V   currentLimit: 30 A   efficiency: 90 % }
  run A: House -> Dc { size: 70 mm2   length: 1 m }
  run B: Old -> StartBus { size: 70 mm2   length: 1 m }
  run C: StartBus -> Between.in { size: 10 mm2   length: 1 m }
  run E: Between.out -> Dc { size: 10 mm2   length: 1 m }
}
`,
  },
  judge: function* (context) {
    for (const banks of busesOf(context)) if (banks.length > 1) yield* judgeBus(banks, context);
  },
});
