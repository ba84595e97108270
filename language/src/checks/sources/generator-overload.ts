import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, type Result, missing, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { chargersFedBy } from '../../quantities/supply/source-demand.js';
import { connect, missingFrom, systemOf } from '../../quantities/supply/supply.js';
import { collect, termOf } from '../../quantities/worst.js';
import { defineCheck, type Fix, type Verdict, atMost, NO_LIMIT, points } from '../define.js';
import { notChecked, passed, placeOf, pairText, fullest, whyOf } from '../verdicts.js';
import { type Burden, inputPerAmpere, PRACTICE, termsOf, turnDown } from './shared.js';
import { isSet } from '../../model/roles.js';

type LimitUnit = 'W' | 'VA' | 'A';

interface Comparison {
  readonly unit: LimitUnit;
  readonly demand: Derivation;
  readonly limit: Derivation;
}

const QUANTITIES = [
  { unit: 'W', demand: 'powerDemand', limit: 'usablePower' },
  { unit: 'VA', demand: 'apparentDemand', limit: 'apparentRating' },
  { unit: 'A', demand: 'legDemand', limit: 'ratedCurrent' },
] as const;

const WHAT: Readonly<Record<LimitUnit, string>> = { W: ' of active power', VA: ' of apparent power', A: ' on one leg' };

/** Charger limits at which nothing of the set is exceeded any more. */
function fixesFor(set: Instance, broken: readonly Comparison[], context: DesignContext): Fix[] {
  const system = systemOf(set);
  const chargers = chargersFedBy(set, context).map((charger) => {
    const perAmpere = inputPerAmpere(charger, context);
    const connection = system && connect(charger, system, context);
    const burdens = broken.map(({ unit, demand, limit }): Burden | undefined => {
      const part = termOf(demand, charger);
      if (!part || !perAmpere || !connection || missingFrom(connection)) return undefined;
      return {
        share: numberIn(part, unit),
        excess: numberIn(demand, unit) - numberIn(limit, unit),
        perAmpere:
          unit === 'A' ? perAmpere.VA / (connection.factor * numberIn(connection.voltage, 'V')) : perAmpere[unit],
      };
    });
    // A charger that has no part in one of the excesses cannot end it.
    const all = burdens.filter((burden) => burden !== undefined);
    return { charger, burdens: all.length === burdens.length ? all : [] };
  });
  return turnDown(chargers, context);
}

/** What was taken for granted about the site. */
function assumedSite(context: DesignContext): string[] {
  const assumed = [
    ...(context.siteFact('altitude') ? [] : ['sea level']),
    ...(context.siteFact('ambient') ? [] : ['25 degC']),
  ];
  return assumed;
}

function* judgeSet(set: Instance, context: DesignContext): Generator<Verdict> {
  const comparisons: Comparison[] = [];
  const open: string[] = [];
  let refusal: Result | undefined;
  const isSinglePhase = systemOf(set)?.phases === 'single';
  for (const { unit, demand, limit } of QUANTITIES) {
    // With one phase the current says the same as the apparent power.
    if (unit === 'A' && isSinglePhase) continue;
    const both = collect([context.quantity(set, demand), context.quantity(set, limit)]);
    if (both.ok) comparisons.push({ unit, demand: both.derivations[0]!, limit: both.derivations[1]! });
    else if (both.result.kind === 'missing') open.push(...both.result.missing);
    else refusal ??= both.result;
  }
  const numbers = Object.fromEntries(
    comparisons.flatMap(({ unit, demand, limit }) => {
      const name = { W: 'active', VA: 'apparent', A: 'leg' }[unit];
      return [
        [`${name}Demand`, demand],
        [`${name}Limit`, limit],
      ];
    }),
  );
  const load = ({ demand, limit, unit }: Comparison): number =>
    numberIn(demand, unit) / Math.max(numberIn(limit, unit), 1e-9);
  const broken = comparisons.filter((comparison) => load(comparison) > 1 + 1e-9);
  const [first] = broken;
  if (!first) {
    const unknown = open.length > 0 ? missing(...open) : refusal;
    const [worstUse, ...others] = comparisons.map(({ demand, limit }) => atMost(demand, limit));
    yield unknown ? notChecked(set, unknown) : passed(set, worstUse ? fullest(worstUse, ...others) : NO_LIMIT, numbers);
    return;
  }
  // Watts are what people think in: apparent power is told where it is clearly the tighter limit.
  const worst = broken.reduce((so, next) => (load(next) > load(so) * 1.1 ? next : so), first);
  const [asked, given] = pairText(worst.demand, worst.limit);
  const isActive = worst.unit === 'W';
  const fixes = fixesFor(set, broken, context);
  const terms = termsOf(worst.demand);
  yield {
    verdict: 'failed',
    subject: set.path,
    place: placeOf(set, set.properties.has('rated') ? 'rated' : 'apparent'),
    headline: `${set.name} carries ${asked}${WHAT[worst.unit]}; it gives ${given}${isActive ? ' at this site' : ''}`,
    ...whyOf(terms, governingText(worst.demand), isActive && governingText(worst.limit)),
    assumes: [
      'chargers at their limits and highest charge voltage, loads together',
      ...(isActive ? assumedSite(context) : []),
    ],
    advice: 'Run fewer loads at once, or choose a larger generator.',
    use: atMost(worst.demand, worst.limit),
    numbers: { ...numbers, demand: worst.demand, limit: worst.limit },
    fixes,
  };
}

export const generatorOverload = defineCheck({
  id: 'generator-overload',
  group: 'sources',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A generator is loaded beyond what it gives continuously at its site: active power, apparent power, or current on one leg.',
    guards: 'The generator trips, sags or overheats when the chargers run at full rate while loads come on.',
    how: points(
      'Everything that the generator feeds in each source state, added up.',
      'Chargers at their current limit and highest charge voltage with efficiency and power factor; one counts with no more than its input limit leaves beside the loads it passes on.',
      'Loads with all their power in the hours in which their profiles let them run (always where none is stated); those that can run at the same time are added.',
      'The sum is held against running power after altitude, temperature and fuel; against apparent power (rated power over 0.8 for three phases and over 1 else where neither is stated; common practice); and against rated current on the most loaded leg at nominal voltage.',
    ),
    fix: 'Lower charger limits, run fewer loads at once, or use a larger generator.',
    sources: [
      { standard: 'ISO 8528-1', table: 'continuous and prime power', provenance: 'published' },
      {
        standard: 'home standby generator owner’s manual',
        table: '3.5 % per 305 m, 1 % per 5.6 K above 25 °C',
        provenance: 'published',
      },
      PRACTICE,
    ],
    failing: `design Hut {
  generator Genset { rated: 3 kW   voltage: 230 V   waveform: conventional }
  charger Rect { input: 180..264 V   currentLimit: 70 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V   waveform: conventional }
  charger Rect { input: 180..264 V   currentLimit: 70 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances) {
      if (isSet(instance)) yield* judgeSet(instance, context);
    }
  },
});
