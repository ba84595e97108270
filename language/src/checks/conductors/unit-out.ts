import { type Derivation, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { banksOn } from '../../quantities/bank-cases.js';
import { devicesOf } from '../../quantities/conductor.js';
import { defineCheck, type Verdict } from '../define.js';
import { notChecked, pairText, passed, placeOf } from '../verdicts.js';
import { fixOf, proposeRating, proposeSize } from './joint-fixes.js';
import { leastRating } from './protection-need.js';
import { eitherOf } from './shared.js';

/** The remark that one bank is out, at the end of what governs a current. */
const outOf = (current: Derivation): string => (current.governing ? ` (${current.governing})` : '');

function judgeDevice(run: Run, device: Instance, context: DesignContext): Verdict | undefined {
  const rating = context.maybe(device, 'rating');
  const least = leastRating(run, device, context);
  // What the load of every day needs is told by the checks of the rating itself.
  if (!rating || least.kind !== 'known' || numberIn(rating, 'A') < numberIn(least.derivation, 'A') * (1 - 1e-9))
    return undefined;
  const current = context.quantity(run, 'currentWithOneOut');
  if (current.kind !== 'known') return notChecked(run, current);
  const numbers = { rating, current: current.derivation };
  if (numberIn(rating, 'A') >= numberIn(current.derivation, 'A') * (1 - 1e-9)) return passed(run, numbers);
  const target = context.system.basis.practice === 'iec' ? 'protection-coordination' : 'protection-continuous';
  const proposal = proposeRating(run, device, 'up', context, { target }) ?? proposeSize(run, context, { target });
  const fixes = proposal ? [fixOf(run, proposal, true)] : [];
  const [rated, carries] = pairText(rating, current.derivation);
  return {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(device, 'rating'),
    message: `With one bank out, by its protection or for service, ${run.name} carries ${carries}${outOf(current.derivation)}, and ${device.name} is rated ${rated}: it opens too, and all is dark where one bank would have carried on.${fixes.length > 0 ? ` ${eitherOf(fixes)}, or draw less.` : ' Take a larger device with conductors that suit it, or draw less.'}`,
    numbers,
    related: [{ place: run.place, text: `${run.name} carries ${displayValue(current.derivation, 3)}` }],
    fixes,
  };
}

export const unitOut = defineCheck({
  id: 'unit-out',
  group: 'conductors',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A device of one of several banks on a bus does not carry what comes to it when another bank is out.',
    guards: 'Banks in parallel that go dark one after another because one of them was taken out or protected itself.',
    how: 'Banks that share a bus carry it by their resistances; each device is judged for its share by the checks of its rating. Here the network is solved with each bank out in turn, everything drawing, everything charging, and both, with each bank at either end of its resistance: each device between banks must hold the current then, without the margin for hours. A run that leads to banks alone carries at most what these give where they have electronics that open above it (`maximumDischarge`, `maximumCharge`).',
    sources: [{ standard: 'common practice, no source', provenance: 'common practice, no source' }],
    failing: `design Cabin {
  battery A { voltage: 25.6 V   chemistry: lfp   cells: 8   capacity: 100 Ah   resistance: 10 mohm }
  battery B { voltage: 25.6 V   chemistry: lfp   cells: 8   capacity: 100 Ah   resistance: 10 mohm }
  bus Bar {}
  load Heater { power: 2 kW   supply: dc }
  fuse Fa { rating: 80 A }
  fuse Fb { rating: 110 A }
  run FromA: A -> Fa @ 100 mm -> Bar { size: 2 AWG   length: 1 m }
  run FromB: B -> Fb @ 100 mm -> Bar { size: 2 AWG   length: 1 m }
  run Line: Bar -> Heater { size: 2 AWG   length: 1 m }
}
`,
    passing: `design Cabin {
  battery A { voltage: 25.6 V   chemistry: lfp   cells: 8   capacity: 100 Ah   resistance: 10 mohm }
  battery B { voltage: 25.6 V   chemistry: lfp   cells: 8   capacity: 100 Ah   resistance: 10 mohm }
  bus Bar {}
  load Heater { power: 2 kW   supply: dc }
  fuse Fa { rating: 110 A }
  fuse Fb { rating: 110 A }
  run FromA: A -> Fa @ 100 mm -> Bar { size: 2 AWG   length: 1 m }
  run FromB: B -> Fb @ 100 mm -> Bar { size: 2 AWG   length: 1 m }
  run Line: Bar -> Heater { size: 2 AWG   length: 1 m }
}
`,
  },
  judge: function* (context) {
    for (const run of context.system.runs) {
      if (run.carries !== 'dc' || banksOn(context.graph.nodeOf(run.from), context).length < 2) continue;
      for (const { instance } of devicesOf(run)) {
        const verdict = judgeDevice(run, instance, context);
        if (verdict) yield verdict;
      }
    }
  },
});
