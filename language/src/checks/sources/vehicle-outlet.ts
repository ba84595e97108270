import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { dcDemand } from '../../quantities/flow/direct-flows.js';
import { chargersFedBy } from '../../quantities/supply/source-demand.js';
import { collect, sumOf, worstOfStates, termOf } from '../../quantities/worst.js';
import { defineCheck, type Fix, type Verdict, atMost, NO_LIMIT, type Use } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf, pairText, fullest, whyOf } from '../verdicts.js';
import { inputPerAmpere, PRACTICE, roundDown, termsOf, termsOrNames, turnDown } from './shared.js';
import { currentFixes, feedsAnything, isOneTooMuch } from './supply-limit.js';
import { isDcSource, isBank, isBusCharger, isInverter, isLoad, isVehicle } from '../../model/roles.js';

/** Charger limits at which the power taken from a vehicle comes down to what it gives. */
function powerFixes(vehicle: Instance, demand: Derivation, excess: number, context: DesignContext): Fix[] {
  const chargers = chargersFedBy(vehicle, context).map((charger) => {
    const part = termOf(demand, charger);
    const perAmpere = inputPerAmpere(charger, context);
    return {
      charger,
      burdens: part && perAmpere ? [{ share: numberIn(part, 'W'), perAmpere: perAmpere.W, excess }] : [],
    };
  });
  return turnDown(chargers, context);
}

function* judgeAlternating(vehicle: Instance, context: DesignContext): Generator<Verdict> {
  if (!feedsAnything(vehicle, context)) return;
  const limits = (
    [
      { property: 'rating', unit: 'A', demand: 'legDemand' },
      { property: 'rated', unit: 'W', demand: 'powerDemand' },
    ] as const
  ).flatMap((each) => {
    const limit = context.maybe(vehicle, each.property);
    return limit ? [{ ...each, limit }] : [];
  });
  if (limits.length === 0)
    return yield notChecked(vehicle, { kind: 'missing', missing: [`rating or rated of ${vehicle.name}`] });
  const open: string[] = [];
  let numbers: Record<string, Derivation> = {};
  const uses: Use[] = [];
  for (const { property, unit, demand: name, limit } of limits) {
    const demand = context.quantity(vehicle, name);
    if (demand.kind !== 'known') {
      if (demand.kind === 'missing') open.push(...demand.missing);
      continue;
    }
    const asked = demand.derivation;
    numbers = { ...numbers, [name]: asked, [property]: limit };
    uses.push(atMost(asked, limit));
    if (numberIn(asked, unit) <= numberIn(limit, unit) * (1 + 1e-9)) continue;
    // One charger that is too much by itself is told once, by `charger-input`.
    if (unit === 'A' && isOneTooMuch(vehicle, limit, context)) return;
    const [takes, gives] = pairText(asked, limit);
    const terms = termsOf(asked);
    const fixes =
      unit === 'A'
        ? currentFixes(vehicle, asked, numberIn(limit, 'A'), context)
        : powerFixes(vehicle, asked, numberIn(asked, 'W') - numberIn(limit, 'W'), context);
    yield {
      verdict: 'failed',
      subject: vehicle.path,
      place: placeOf(vehicle, property),
      headline: `The outlet of ${vehicle.name} gives ${gives} continuously; ${takes} are drawn`,
      ...whyOf(terms, governingText(asked)),
      consequence: 'it switches itself off',
      advice: 'Run less at once.',
      use: atMost(asked, limit),
      numbers: { demand: asked, limit },
      fixes,
    };
    return;
  }
  if (open.length > 0) return yield notChecked(vehicle, { kind: 'missing', missing: [...new Set(open)] });
  yield passed(vehicle, uses.length > 0 ? fullest(uses[0]!, ...uses.slice(1)) : NO_LIMIT, numbers);
}

/** A lower output limit of the one converter that hangs on the outlet. */
function converterFix(fed: readonly Instance[], asked: Derivation, limit: Derivation, context: DesignContext): Fix[] {
  const [converter, ...others] = fed.filter(isBusCharger);
  const part = converter && termOf(asked, converter);
  const output = converter && context.quantity(converter, 'outputCurrent');
  if (!converter || others.length > 0 || !part || output?.kind !== 'known') return [];
  const left = numberIn(limit, 'A') - (numberIn(asked, 'A') - numberIn(part, 'A'));
  const amperes = roundDown((numberIn(output.derivation, 'A') * left) / numberIn(part, 'A'), 1);
  return amperes >= 1
    ? [
        propose(
          `Limit ${converter.name} to ${amperes} A`,
          [setProperty(converter, 'currentLimit', `${amperes} A`)],
          true,
        ),
      ]
    : [];
}

function* judgeDirect(vehicle: Instance, context: DesignContext): Generator<Verdict> {
  const nodes = [
    ...new Set(context.graph.nodesOf(vehicle).flatMap((node) => [...context.graph.reach(node).values()])),
  ].filter(({ instance }) => instance !== vehicle);
  const fed = [...new Set(nodes.map(({ instance }) => instance))];
  const bank = fed.find(isBank);
  if (bank)
    return yield notChecked(vehicle, {
      kind: 'missing',
      missing: [`what limits the current from ${vehicle.name} to ${bank.name} (a DC-to-DC converter)`],
    });
  const rating = context.fact(vehicle, 'rating');
  const asked = worstOfStates(
    'current taken from the outlet',
    'I',
    'A',
    context.circuitStates
      .filter(({ state }) => state.dcSources.includes(vehicle))
      .map(({ state, circuit }) => {
        const all = collect(nodes.flatMap((node) => dcDemand(node, circuit, context) ?? []));
        return {
          state,
          result: all.ok
            ? { kind: 'known', derivation: sumOf('current taken from the outlet', 'I', 'A', all.derivations) }
            : all.result,
        };
      }),
  );
  if (!fed.some((each) => isBusCharger(each) || isInverter(each) || isLoad(each))) return;
  const both = collect([rating, asked]);
  if (!both.ok) return yield notChecked(vehicle, both.result);
  const [limit, current] = both.derivations as [Derivation, Derivation];
  const numbers = { demand: current, limit };
  const use = atMost(current, limit);
  if (numberIn(current, 'A') <= numberIn(limit, 'A') * (1 + 1e-9)) return yield passed(vehicle, use, numbers);
  const fixes = converterFix(fed, current, limit, context);
  const [takes, gives] = pairText(current, limit);
  const terms = termsOrNames(current);
  yield {
    verdict: 'failed',
    subject: vehicle.path,
    place: placeOf(vehicle, 'rating'),
    headline: `The outlet of ${vehicle.name} gives ${gives} continuously; ${takes} are drawn`,
    ...whyOf('at the lowest voltage', terms),
    consequence: 'its fuse blows or its socket melts',
    advice: 'Draw less, or wire it to the vehicle’s battery by a cable and fuse of its own.',
    use,
    numbers,
    fixes,
  };
}

export const vehicleOutlet = defineCheck({
  id: 'vehicle-outlet',
  group: 'sources',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'More is drawn continuously from the outlet of a vehicle than it gives.',
    guards: 'An outlet that switches itself off after minutes, a blown fuse in the vehicle, a socket that melts.',
    how: 'Of an outlet with alternating current, chargers and the loads that can run at the same time of the day are held against `rating` per leg and against `rated`. Of a direct-current outlet, what converters and loads draw at their lowest input voltage is held against `rating`; a bank joined to it without a converter draws whatever it is given, so that what limits the current is a question. What the plug carries for hours is judged by `plug-continuous`, a charger that is too much by itself by `charger-input`.',
    fix: 'Lower the charge current to what the outlet gives continuously, or charge while driving only.',
    sources: [PRACTICE],
    failing: `design Camp {
  vehicle Truck { supply: dc   rating: 15 A }
  converter Booster { input: 11..15 V   output: 14.2 V   currentLimit: 20 A   efficiency: 88 % }
  battery Bank : Lfp12V100Ah
  run Socket: Truck -> Booster.in { size: 4 mm2   length: 3 m }
  run Out: Booster.out -> Bank { size: 6 mm2   length: 1 m }
}
`,
    passing: `design Camp {
  vehicle Truck { supply: dc   rating: 15 A }
  converter Booster { input: 11..15 V   output: 14.2 V   currentLimit: 10 A   efficiency: 88 % }
  battery Bank : Lfp12V100Ah
  run Socket: Truck -> Booster.in { size: 4 mm2   length: 3 m }
  run Out: Booster.out -> Bank { size: 6 mm2   length: 1 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances)
      if (isVehicle(instance))
        yield* isDcSource(instance) ? judgeDirect(instance, context) : judgeAlternating(instance, context);
  },
});
