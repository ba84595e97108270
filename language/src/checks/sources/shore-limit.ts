import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, derive, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { devicesOf } from '../../quantities/conductors/conductor.js';
import { neededRating } from '../../quantities/supply/source-demand.js';
import { isFullyRated } from '../../quantities/flow/required.js';
import { ruleValue } from '../../reference/index.js';
import { defineCheck, type Verdict, atMost, points } from '../define.js';
import { basisText, notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { PRACTICE, termsOf } from './shared.js';
import { currentFixes, feedsAnything, isOneTooMuch } from './supply-limit.js';
import { isService } from '../../model/roles.js';

/**
 * Whether the device of a service is listed for 100 % of its rating: it says so itself, or every run that leaves it does so through devices
 * that do, at least one of them in each.
 */
function isListedForAll(grid: Instance, context: DesignContext): boolean {
  if (context.maybe(grid, 'fullRating')?.value === true) return true;
  const runs = new Set(
    context.graph.nodesOf(grid).flatMap((node) => context.graph.segmentsAt(node).map(({ run }) => run)),
  );
  return runs.size > 0 && [...runs].every((run) => devicesOf(run).length > 0 && isFullyRated(run, context));
}

function* judgeService(grid: Instance, context: DesignContext): Generator<Verdict> {
  if (!feedsAnything(grid, context)) return;
  const rating = context.fact(grid, 'rating');
  const demand = context.quantity(grid, 'legDemand');
  if (rating.kind !== 'known') return yield notChecked(grid, rating);
  if (demand.kind !== 'known') return yield notChecked(grid, demand);
  // One charger that is too much by itself is told once, by `charger-input`.
  if (isOneTooMuch(grid, rating.derivation, context)) return;
  const fail = (asked: Derivation, limit: Derivation, isContinuous: boolean): Verdict => {
    const [takes, gives] = pairText(asked, limit);
    const terms = termsOf(asked);
    const fixes = currentFixes(grid, asked, numberIn(limit, 'A'), context);
    return {
      verdict: 'failed',
      subject: grid.path,
      place: placeOf(grid, 'rating'),
      headline: `${grid.name} carries ${takes}; the service gives ${gives}${isContinuous ? ' continuously (3 h or more)' : ''}`,
      ...whyOf(terms, governingText(asked)),
      ...(isContinuous ? { rule: `80 % of its rating (${basisText(context.system.basis)})` } : {}),
      advice: 'Run less at once.',
      use: atMost(asked, limit),
      numbers: { demand: asked, limit },
      fixes,
    };
  };
  if (numberIn(demand.derivation, 'A') > numberIn(rating.derivation, 'A') * (1 + 1e-9))
    return yield fail(demand.derivation, rating.derivation, false);
  // What an outlet or plug carries for hours is the matter of `plug-continuous`.
  const continuous = context.quantity(grid, 'continuousLegDemand');
  const isJudgedByPlug = grid.properties.has('outlet');
  if (
    context.system.basis.practice !== 'iec' &&
    !isJudgedByPlug &&
    !isListedForAll(grid, context) &&
    continuous.kind === 'known'
  ) {
    const share = ruleValue('nec', 'plugContinuousShare');
    const limit = derive(
      'continuous current of the service',
      numberIn(rating.derivation, 'A') * numberIn(share, ''),
      'A',
      {
        symbol: 'I_c',
        formula: '0.8·rating',
        inputs: [share, rating.derivation],
      },
    );
    if (numberIn(continuous.derivation, 'A') > numberIn(limit, 'A') * (1 + 1e-9))
      return yield fail(continuous.derivation, limit, true);
    const needed = neededRating(grid, context);
    if (needed.kind === 'known' && numberIn(needed.derivation, 'A') > numberIn(rating.derivation, 'A') * (1 + 1e-9)) {
      const [asked, gives] = pairText(needed.derivation, rating.derivation);
      return yield {
        verdict: 'failed',
        subject: grid.path,
        place: placeOf(grid, 'rating'),
        headline: `What ${grid.name} feeds at once needs ${asked}; the service gives ${gives}`,
        ...whyOf('125 % of what lasts 3 h or more, and the rest of one leg', governingText(needed.derivation)),
        rule:
          context.system.basis.practice === 'nec'
            ? `${basisText(context.system.basis)} 215.3`
            : 'NEC 215.3, followed afloat by common practice',
        advice: 'Run less at once, or choose a larger service.',
        use: atMost(needed.derivation, rating.derivation),
        numbers: { demand: needed.derivation, limit: rating.derivation },
      };
    }
  }
  yield passed(grid, atMost(demand.derivation, rating.derivation), {
    demand: demand.derivation,
    limit: rating.derivation,
  });
}

export const shoreLimit = defineCheck({
  id: 'shore-limit',
  group: 'sources',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'Chargers and loads together draw more from a grid or shore connection than it gives on a leg, at once or continuously.',
    guards: 'The breaker on the pier trips at night, or the pedestal overheats.',
    how: points(
      'In every source state the current on the most loaded leg, chargers and the loads that can run at the same time of the day, at nominal voltage, against `rating`.',
      'Continuous (three hours or more): 80 % of the rating under `nec` and `craft` (NEC 210.20(A), 210.21(B)), all of it where its device, or each breaker behind it, is listed for that (`fullRating`).',
      'With what does not last beside it: 125 % of the continuous part plus the rest may need no more than the rating, each leg by itself (215.3). Where an `outlet` is stated, `plug-continuous` judges that.',
      'An inverter that passes the supply on counts with no more than its `inputLimit` leaves for charging. A charger that is too much by itself is found by `charger-input`.',
    ),
    fix: 'Lower the input limits, run fewer loads at once, or use a larger connection.',
    sources: [
      { standard: 'NEC', edition: '2017-2023', table: '210.20(A), 210.21(B)', provenance: 'published' },
      { standard: 'recreational-vehicle pages', table: '24 A of a 30 A supply', provenance: 'published' },
      PRACTICE,
    ],
    failing: `design Van {
  grid Shore { voltage: 120 V   rating: 30 A   outlet: TT-30 }
  charger Rect { input: 90..132 V   currentLimit: 60 A   absorb: 28.4 V   efficiency: 90 %   powerFactor: 0.98 }
  battery Bank : Lfp24V200Ah
  bus Panel {}
  load Heater { power: 1.8 kW   continuous: no }
  run Cord: Shore -> Panel { size: 10 AWG   length: 8 m }
  run In: Panel -> Rect.ac { size: 10 AWG   length: 2 m }
  run Line: Panel -> Heater { size: 12 AWG   length: 3 m }
  run Feed: Rect.dc -> Bank { size: 2 AWG   length: 1 m }
}
`,
    passing: `design Van {
  grid Shore { voltage: 120 V   rating: 30 A   outlet: TT-30 }
  charger Rect { input: 90..132 V   currentLimit: 50 A   absorb: 28.4 V   efficiency: 90 %   powerFactor: 0.98 }
  battery Bank : Lfp24V200Ah
  bus Panel {}
  load Heater { power: 1.8 kW   continuous: no }
  run Cord: Shore -> Panel { size: 10 AWG   length: 8 m }
  run In: Panel -> Rect.ac { size: 10 AWG   length: 2 m }
  run Line: Panel -> Heater { size: 12 AWG   length: 3 m }
  run Feed: Rect.dc -> Bank { size: 2 AWG   length: 1 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances) if (isService(instance)) yield* judgeService(instance, context);
  },
});
