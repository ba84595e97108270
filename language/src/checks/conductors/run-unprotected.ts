import { type Derivation, type Result, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run, Stop } from '../../model/types.js';
import { ampacityAt } from '../../quantities/conductors/conductor.js';
import { METRIC_SERIES, sameSize } from '../../quantity/index.js';
import { defineCheck, type Verdict, atMost, NO_LIMIT, points } from '../define.js';
import { basisText, notChecked, pairText, passed, whyOf } from '../verdicts.js';
import { type DistanceRule, distanceRule } from './device-distance.js';
import { type Amount, type End, type Fed, feedInto, firstDevice, sourcesText, unknownProtection } from './feeding.js';
import { judgePlace, tapIntoGear } from './device-place.js';
import { judgeMotorTap } from './motor-tap.js';
import { MEMORY, PUBLISHED } from './shared.js';
import { CORD_REMARK, isCordInTheWarm, plugOfCord } from './cord-plug.js';
import { mostAt } from './sizing.js';
import { askingForMarks } from './unmarked-terminals.js';
import { askingForType } from './unsaid-type.js';
import { isLoad } from '../../model/roles.js';
import { wordIn } from '../../model/stated-facts.js';

/** Where devices have to stand. */
const SECTIONS = { nec: '240.21', iec: '4-43 433.2 and 434.2, from memory', craft: '' } as const;

function noDevice(
  run: Run,
  end: End,
  stop: Stop,
  feed: Fed,
  most: Derivation,
  rule: DistanceRule | undefined,
  isWarm: boolean,
  context: DesignContext,
): Verdict {
  const size = displayValue(context.maybe(run, 'size')!);
  const [passes, may] = feed.kind === 'limited' ? pairText(feed.current, most) : ['', ''];
  const why =
    feed.kind === 'limited'
      ? `${sourcesText(feed)} ${feed.by.length > 1 ? 'let' : 'lets'} through ${passes}; its ${size} conductors allow ${may}`
      : `nothing between ${sourcesText(feed)} and its ${size} conductors opens`;
  return {
    verdict: 'failed',
    subject: run.path,
    place: stop.place,
    ...(isWarm ? { severity: 'warning' as const } : {}),
    headline: `${run.name} has no fuse or breaker at its ${stop.instance.name} end`,
    ...whyOf(why, isWarm && CORD_REMARK),
    rule: [basisText(context.system.basis), SECTIONS[context.system.basis.practice]].filter(Boolean).join(' '),
    consequence: 'a short circuit along it burns the whole length',
    use: feed.kind === 'limited' ? atMost(feed.current, most) : NO_LIMIT,
    numbers: { limit: most, ...(feed.kind === 'limited' ? { current: feed.current } : {}) },
    fixes: [
      { way: 'device', run, end, feed, rule },
      { way: 'suit-feed', run, feed },
    ],
  };
}

/** The ends at which a run is joined to a thing. */
const endsAt = (run: Run, instance: Instance): End[] => [
  ...(run.from.instance === instance ? (['near'] as const) : []),
  ...(run.to.some((stop) => stop.instance === instance) ? (['far'] as const) : []),
];

/**
 * Whether a run is fed without limit only because a bank's own conductors lack the device, which is told there. The distance of a device
 * further down is judged once that one stands.
 */
function isToldAtTheBank(run: Run, stop: Stop, feed: Fed, context: DesignContext): boolean {
  if (feed.kind !== 'unlimited' || feed.sources.includes(stop.instance)) return false;
  const isTold = (lead: Run): boolean =>
    context.maybe(lead, 'size') !== undefined &&
    !context.system.accepts.some(
      ({ check, subject }) => check === 'run-unprotected' && (subject ?? lead.name) === lead.name,
    );
  return feed.sources.every((bank) => {
    const leads = context.system.runs.filter(
      (other) => other !== run && endsAt(other, bank).some((end) => !firstDevice(other, end, context)),
    );
    return leads.length > 0 && leads.every(isTold);
  });
}

/** The most that conductors may be fed with: the largest device for them, of a source without a device their ampacity. */
const mostFor = (
  { isOutput }: Pick<Amount, 'isOutput'>,
  run: Run,
  size: Derivation,
  ampacity: Result,
  context: DesignContext,
): Result | undefined => (isOutput ? ampacity : mostAt(run, size, context));

/** Whether nothing but loads hangs on a run, which cannot draw more than it carries: IEC 60364-4-43 433.3.1 asks no device against overload then. */
const isOfFixedLoads = (run: Run, end: End, context: DesignContext): boolean =>
  context.system.basis.practice === 'iec' && end === 'near' && run.to.every(({ instance }) => isLoad(instance));

/** What is fed by electronics that hold their own current needs no device where its conductors carry all that they give. */
function judgeSelfLimited(run: Run, end: End, most: Amount | undefined, context: DesignContext): Verdict {
  if (!most || firstDevice(run, end, context) || plugOfCord(run, context) || isOfFixedLoads(run, end, context))
    return passed(run, NO_LIMIT);
  const size = context.fact(run, 'size');
  if (size.kind !== 'known') return notChecked(run, size);
  const ampacity = ampacityAt(run, size.derivation, context);
  const largest = mostFor(most, run, size.derivation, ampacity, context);
  if (largest?.kind !== 'known') return notChecked(run, largest ?? ampacity);
  const limit = largest.derivation;
  if (numberIn(most.current, 'A') <= numberIn(limit, 'A') * (1 + 1e-9))
    return passed(run, atMost(most.current, limit), { current: most.current, limit });
  const stop = end === 'near' ? run.from : run.to[0]!;
  return noDevice(run, end, stop, { kind: 'limited', ...most }, limit, undefined, false, context);
}

function* judgeEnd(run: Run, end: End, context: DesignContext): Generator<Verdict> {
  const feed = feedInto(run, end, context);
  if (feed.kind === 'none') return;
  if (feed.kind === 'self-limited') return yield judgeSelfLimited(run, end, feed.most, context);
  const size = context.maybe(run, 'size');
  const ampacity = size && ampacityAt(run, size, context);
  const largest = size && ampacity && mostFor(feed.kind === 'limited' ? feed : {}, run, size, ampacity, context);
  const most = largest?.kind === 'known' ? largest.derivation : undefined;
  if (feed.kind === 'limited' && most && numberIn(feed.current, 'A') <= numberIn(most, 'A') * (1 + 1e-9))
    return yield passed(run, atMost(feed.current, most), { current: feed.current, limit: most });

  const stop = end === 'near' ? run.from : run.to[0]!;
  const isMetric = size !== undefined && METRIC_SERIES.some(({ area }) => sameSize(area, numberIn(size, 'mm2')));
  const rule = distanceRule(run, stop, isMetric, context);
  const device = firstDevice(run, end, context);
  if (!device) {
    if (wordIn(run.properties, 'protection') === 'unknown')
      return yield notChecked(run, { kind: 'missing', missing: [unknownProtection(run)] });
    if (feed.kind === 'open') return yield notChecked(run, { kind: 'missing', missing: feed.missing });
    if (!most) return yield notChecked(run, ampacity ?? context.fact(run, 'size'));
    const gear = tapIntoGear(run, end, feed, ampacity, context);
    if (gear) return yield gear;
    const tap = end === 'near' && feed.kind === 'limited' ? judgeMotorTap(run, ampacity, context) : undefined;
    if (tap) return yield tap;
    // What the outlet of its source lets through a cord is judged by `cord-ampacity`, by the plug.
    const plug = feed.kind === 'limited' ? plugOfCord(run, context) : undefined;
    if (plug && feed.kind === 'limited' && numberIn(feed.current, 'A') <= numberIn(plug.rating, 'A') * (1 + 1e-9))
      return yield passed(run, atMost(feed.current, plug.rating), { current: feed.current, limit: plug.rating });
    const isWarm =
      feed.kind === 'limited' &&
      ampacity?.kind === 'known' &&
      isCordInTheWarm(run, feed.current, ampacity.derivation, context);
    const placed = run.carries === 'dc' ? rule : undefined;
    return yield noDevice(run, end, stop, feed, most, placed, isWarm, context);
  }
  if ('missing' in device.distance)
    return yield notChecked(run, { kind: 'missing', missing: device.distance.missing }, device.stop.place);
  const distance = device.distance.known;
  if (numberIn(distance, 'mm') > numberIn(rule.limit, 'mm') && isToldAtTheBank(run, stop, feed, context)) return;
  yield judgePlace({ run, end, stop, feed, rule, device: device.stop, distance, ampacity }, context);
}

export const runUnprotected = defineCheck({
  id: 'run-unprotected',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A run can be fed at an end where no device protects it, or the device stands further from that end than the practice allows.',
    guards:
      'A bank drives thousands of amperes into a chafed cable; without a device near it the cable burns over its whole length.',
    how: points(
      'For each end of a run, in any source state: what can be driven into it from there, through busbars, devices, transfer gear and inverters that pass a supply; branches that meet are added up. Where nothing holds that to what the conductors may have, a fuse or breaker must be in the run, near that end. Both ends count where both can feed.',
      'No device of their own: chargers, controllers, modules and alternators, which give no more than the design current (common practice); inverters, and generators with an output stage, where the conductors carry all that they are rated for; and an end whose supply is held by other devices, a service or a generator’s own breaker. A generator without a breaker counts with 115 % of its rated current (NEC 445.13).',
      'A smaller branch behind them needs a device of its own; under iec not one that ends in loads alone, which cannot draw more (60364-4-43 433.3.1, from memory).',
      'Distance, craft: 178 mm; 1016 mm enclosed; 1829 mm enclosed at a battery (metric conductors 200 mm and 1.8 m).',
      'Distance, iec: 200 mm by common practice, 3 m enclosed; `shortCircuitProof: yes` waives it (434.3).',
      'Distance, nec, at a bank: 178 mm, and 1829 mm enclosed, by common practice (240.21(H) says as near as practicable).',
      'Distance, nec, behind another device: 178 mm within the gear, else a tap in a raceway (240.21(B)). Up to 10 ft it needs a tenth, up to 25 ft a third of the rating of the device ahead of it, and never less than the device it ends in, which is not rounded up. Up to 10 ft it may end in a busbar whose rating is not above its ampacity.',
      'Outdoors under nec (`outdoors: yes`), 240.21(B)(5) sets neither length nor share: the device it ends in may not be above its ampacity, and it must be protected from damage.',
      'Under nec the conductors of one motor that branch off behind the device of several need none of their own where they are as good as those they branch off from, or a third as good, up to 25 ft and in a raceway; or up to 10 ft, in a raceway and with a tenth of the device, where they end in a switch with `tapProtection`, a manual motor controller marked for it, from which those that lead on need none either (430.53(D), from memory).',
      'Distances from memory or by rule of thumb make a warning. Beyond what any rule of the practice allows it is an error: at a bank beyond 10 ft (nec), 3 m (iec), 1829 mm or 1.8 m (craft), or nearer to the far end than to the bank.',
      'A device on alternating current counts as standing at the supply where the design does not place it. `protection: unknown` on an existing cable makes it a question. A cranking conductor is exempt by craft practice: waive it with `accept`.',
    ),
    fix: 'Fit a fuse or breaker at that end, or move the device nearer to it.',
    sources: [
      PUBLISHED('ABYC E-11.10', 'from quotations'),
      MEMORY('ISO 10133'),
      MEMORY('IEC 60364-4-43', '433.2, 434.2.1'),
      PUBLISHED('NEC', '240.21(B)(1), (2)', '2017-2023'),
      MEMORY('NEC', '240.21(B)(5), (H), 430.53(D)'),
      PUBLISHED('NEC', '445.13', '2017-2023'),
    ],
    failing: `design Van {
  battery Bank : Lfp12V100Ah
  load Heater { power: 400 W   supply: dc }
  run Line: Bank -> Heater { size: 8 AWG   type: THHN   length: 2 m }
}
`,
    passing: `design Van {
  battery Bank : Lfp12V100Ah
  fuse F1 { class: T   rating: 50 A }
  load Heater { power: 400 W   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 8 AWG   type: THHN   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const run of context.system.runs) {
      if (run.carries === 'any') continue;
      for (const end of ['near', 'far'] as const)
        yield* askingForType(run, context, (typed, inDesign) =>
          askingForMarks(typed, inDesign, (each, design) => judgeEnd(each, end, design)),
        );
    }
  },
});
