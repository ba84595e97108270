import { callFunction } from '../../calculate/index.js';
import { type Derivation, type Place, deriveFact, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run, Stop } from '../../model/types.js';
import { ampacityAt } from '../../quantities/conductors/conductor.js';
import { METRIC_SERIES, sameSize } from '../../quantity/index.js';
import { defineCheck, type Fix, type TextEdit, type Verdict } from '../define.js';
import { insertText, propose } from '../fixes.js';
import { basisText, notChecked, pairText, passed } from '../verdicts.js';
import { classesFor } from './device-ratings.js';
import { type DistanceRule, distanceRule } from './device-distance.js';
import { type End, type Feed, feedInto, firstDevice, unknownProtection } from './feeding.js';
import { judgePlace, mostAt, movedTo, sourcesText, tapIntoGear } from './device-place.js';
import { MEMORY, PUBLISHED, eitherOf } from './shared.js';
import { CORD_REMARK, isCordInTheWarm, plugOfCord } from './cord-plug.js';
import { editsOf, fixOf, proposeSize } from './joint-fixes.js';
import { type Setup } from './sizing.js';
import { askingForMarks } from './unmarked-terminals.js';
import { askingForType } from './unsaid-type.js';
import { isBank } from '../../model/roles.js';
import { wordIn } from '../../model/stated-facts.js';
import { calculation } from '../../quantities/calculation.js';

type Fed = Extract<Feed, { kind: 'limited' | 'unlimited' | 'open' }>;

/** A device name that is still free. */
function freeName(base: string, context: DesignContext): string {
  let name = base;
  for (let count = 2; context.instance(name) || context.system.runs.some((run) => run.name === name); count += 1)
    name = `${base}${count}`;
  return name;
}

const emptyAt = (place: Place, side: 'before' | 'after'): Place =>
  side === 'after'
    ? { ...place, offset: place.end, line: place.endLine, character: place.endCharacter }
    : { ...place, end: place.offset, endLine: place.line, endCharacter: place.character };

/** The class of fuse for a new device on direct current: the weakest that stands the voltage and fault current of the banks that feed it. */
function fuseClass(feed: Fed, rating: number, run: Run, context: DesignContext): string | undefined {
  if (run.carries !== 'dc') return undefined;
  const joined = context.graph.joinedTo(context.graph.nodeOf(run.from));
  const banks = joined.filter(isBank);
  const voltages = banks.map((bank) => context.quantity(bank, 'highestVoltage'));
  const faults = banks.map((bank) => context.quantity(bank, 'faultCurrent'));
  if (banks.length === 0 || feed.kind === 'open') return undefined;
  if (!voltages.every((each) => each.kind === 'known') || !faults.every((each) => each.kind === 'known'))
    return undefined;
  const volts = Math.max(...voltages.map(({ derivation }) => numberIn(derivation, 'V')));
  const amperes = faults.reduce((sum, { derivation }) => sum + numberIn(derivation, 'A'), 0);
  return classesFor({ device: 'fuse', rating, volts, amperes }, context)[0]?.name;
}

/** Adds a fuse at an end, with rating and class, and with a larger conductor where the fuse that the load needs is too large for it. */
function addFuse(run: Run, end: End, feed: Fed, rule: DistanceRule | undefined, context: DesignContext): Fix[] {
  if (run.to.length > 1 && end === 'far') return [];
  // In a loop the current, and with it the rating, changes with the size that goes with the rating.
  if (context.graph.sides(run).loop) return [];
  const current = context.quantity(run, 'current');
  if (current.kind !== 'known' || numberIn(current.derivation, 'A') === 0) return [];
  const needed = callFunction(calculation('protectionFor'), {
    current: current.derivation,
    basis: deriveFact('basis', context.system.basis.practice, { origin: 'stated' }),
  });
  if (needed.kind !== 'known') return [];
  const rating = numberIn(needed.derivation, 'A');
  const proposal = context.maybe(run, 'size') && proposeSize(run, context, { added: rating });
  if (!proposal) return [];
  const { size } = proposal;
  const stop = end === 'near' ? run.from : run.to[0]!;
  const at = distanceText(run, end, rule, context);
  if (at === undefined) return [];
  const name = freeName(`${run.name}Fuse`, context);
  const part = fuseClass(feed, rating, run, context);
  const edits: TextEdit[] = [
    end === 'near'
      ? { place: emptyAt(stop.place, 'after'), text: ` -> ${name}${at}` }
      : { place: emptyAt(stop.place, 'before'), text: `${name}${at} -> ` },
    ...editsOf(run, proposal),
    insertText(context.system.insert, `fuse ${name} { ${part ? `class: ${part}   ` : ''}rating: ${rating} A }`),
  ];
  return [
    propose(
      `Add a fuse of ${rating} A at the ${stop.instance.name} end of ${run.name}${size ? ` and make it ${size.name}` : ''}`,
      edits,
      run.carries === 'dc',
    ),
  ];
}

/** ` @ 150 mm` for a new device: inside the limit; empty where no distance counts, undefined where it cannot be said. */
function distanceText(run: Run, end: End, rule: DistanceRule | undefined, context: DesignContext): string | undefined {
  if (!rule) return '';
  const place = movedTo(run, end, rule, context);
  return place === undefined ? undefined : ` @ ${place}`;
}

/** Makes the conductors large enough for the devices they are fed through, so that these protect them. */
function suitFeed(run: Run, feed: Fed, context: DesignContext): Fix[] {
  if (feed.kind !== 'limited') return [];
  const amperes = numberIn(feed.current, 'A');
  const suits = ({ size }: Setup): boolean => {
    const most = mostAt(run, size, context);
    return most?.kind === 'known' && numberIn(most.derivation, 'A') >= amperes * (1 - 1e-9);
  };
  const proposal = context.maybe(run, 'size') && proposeSize(run, context, { accepts: suits });
  if (!proposal) return [];
  const { title, ...rest } = fixOf(run, proposal, run.carries === 'ac');
  return [{ ...rest, title: `${title}, which ${sourcesText(feed)} can protect` }];
}

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
      ? `${sourcesText(feed)} ${feed.by.length > 1 ? 'let' : 'lets'} through ${passes} and its ${size} conductors may have ${may} at most`
      : `nothing between ${sourcesText(feed)} and its ${size} conductors opens`;
  const fuse = addFuse(run, end, feed, rule, context);
  const larger = suitFeed(run, feed, context);
  // An AC circuit is most often made to suit the breaker it starts from; on direct current a fuse costs less than the copper.
  const fixes = run.carries === 'ac' ? [...larger, ...fuse] : [...fuse, ...larger];
  return {
    verdict: 'failed',
    subject: run.path,
    place: stop.place,
    ...(isWarm ? { severity: 'warning' as const } : {}),
    message: `${run.name} has no fuse or breaker of its own, and at its ${stop.instance.name} end ${why}. A short circuit along it burns the whole length (${basisText(context.system.basis)}${isWarm ? CORD_REMARK : ''}).${fixes.length > 0 ? ` ${eitherOf(fixes)}.` : ' Put a device at that end.'}`,
    numbers: { limit: most, ...(feed.kind === 'limited' ? { current: feed.current } : {}) },
    fixes,
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

function* judgeEnd(run: Run, end: End, context: DesignContext): Generator<Verdict> {
  const feed = feedInto(run, end, context);
  if (feed.kind === 'none') return;
  if (feed.kind === 'self-limited') return yield passed(run);
  const size = context.maybe(run, 'size');
  const ampacity = size && ampacityAt(run, size, context);
  const largest = size && mostAt(run, size, context);
  const most = largest?.kind === 'known' ? largest.derivation : undefined;
  if (feed.kind === 'limited' && most && numberIn(feed.current, 'A') <= numberIn(most, 'A') * (1 + 1e-9))
    return yield passed(run, { current: feed.current, limit: most });

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
    // What the outlet of its source lets through a cord is judged by `cord-ampacity`, by the plug.
    const plug = feed.kind === 'limited' ? plugOfCord(run, context) : undefined;
    if (plug && feed.kind === 'limited' && numberIn(feed.current, 'A') <= numberIn(plug.rating, 'A') * (1 + 1e-9))
      return yield passed(run, { current: feed.current, limit: plug.rating });
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
    how: 'For each end it is worked out what can be driven into the run there, in any state: through busbars, devices, transfer gear and passing inverters, branches that meet added up. Chargers, controllers, modules, alternators and inverters give no more than the design current and need no device at their end, as practice has it. A supply held by devices, a service or a set’s own breaker to what the conductors may have needs no other. A set without a breaker counts with 115 % of its rated current (NEC 445.13). Else a fuse or breaker must stand in the run, near that end. Craft: 178 mm, 1016 mm enclosed, 1829 mm enclosed at a battery (metric conductors 200 mm and 1.8 m). Iec: 200 mm by common practice, 3 m enclosed; `shortCircuitProof: yes` waives the distance (434.3). Nec, at a bank: 178 mm, and 1829 mm enclosed, by common practice (240.21(H) says as near as practicable). Nec, behind another device: 178 mm within the gear, else a tap in a raceway (240.21(B)): up to 10 ft with a tenth, up to 25 ft with a third of the rating of the device ahead of it, never less than the device it ends in, which is not rounded up; up to 10 ft it may end in a busbar whose rating is not above its ampacity. Outdoors 240.21(B)(5) sets no length, which is not judged: waive it with `accept`. Distances from memory or by rule of thumb make a warning, up to what no rule of the practice allows: at a bank beyond 10 ft (nec), 3 m (iec), 1829 mm or 1.8 m (craft), or nearer to the far end than to the bank, it is an error. Both ends count where both can feed. A device on alternating current stands at the supply where the design does not place it. `protection: unknown` on an existing cable makes a question of it. A cranking conductor is exempt by craft practice: waive it with `accept`.',
    sources: [
      PUBLISHED('ABYC E-11.10', 'from quotations'),
      MEMORY('ISO 10133'),
      MEMORY('IEC 60364-4-43', '433.2, 434.2.1'),
      PUBLISHED('NEC', '240.21(B)(1), (2)', '2017-2023'),
      MEMORY('NEC', '240.21(H)'),
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
