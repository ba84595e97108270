/** Judges where along a run its device stands: what lies between it and the end that feeds it has no protection of its own. */
import { type Derivation, type Result, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { isDevice, isJoint } from '../../model/roles.js';
import { flagIn } from '../../model/stated-facts.js';
import type { Run, Stop } from '../../model/types.js';
import { ampacityAt } from '../../quantities/conductors/conductor.js';
import { ruleValue } from '../../reference/index.js';
import { type Fix, type Verdict, type Way, atMost, NO_LIMIT } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, pairText, passed, whyOf } from '../verdicts.js';
import { type DistanceRule, type TapRule, isEnclosed, isWithin, tapRule } from './device-distance.js';
import { type End, type Fed, feedInto, needsDevice, sourcesText } from './feeding.js';
import { largerSize } from './ways.js';

/** Where a device may stand, as a distance along the run: inside the limit; undefined where the length lacks. */
export function movedTo(run: Run, end: End, rule: DistanceRule, context: DesignContext): string | undefined {
  const millimetres = Math.min(150, Math.floor(numberIn(rule.limit, 'mm')));
  if (end === 'near') return `${millimetres} mm`;
  const length = context.maybe(run, 'length');
  return length && `${Math.max(0, Math.round(numberIn(length, 'mm') - millimetres))} mm`;
}

/** ` @ 150 mm` for a new device: inside the limit; empty where no distance counts, undefined where it cannot be said. */
export function distanceText(
  run: Run,
  end: End,
  rule: DistanceRule | undefined,
  context: DesignContext,
): string | undefined {
  if (!rule) return '';
  const place = movedTo(run, end, rule, context);
  return place === undefined ? undefined : ` @ ${place}`;
}

/** A stretch between an end that feeds it and the first device. */
export interface Stretch {
  readonly run: Run;
  readonly end: End;
  readonly stop: Stop;
  readonly feed: Fed;
  readonly rule: DistanceRule;
  readonly device: Stop;
  readonly distance: Derivation;
  readonly ampacity: Result | undefined;
}

export function judgePlace(stretch: Stretch, context: DesignContext): Verdict {
  const { run, feed, rule, distance } = stretch;
  const { practice } = context.system.basis;
  if (practice === 'nec' && feed.kind !== 'unlimited') return judgeTap(stretch, context);
  const use = atMost(distance, rule.limit);
  if (isWithin(distance, rule.limit, 'mm')) return passed(run, use, { distance, limit: rule.limit });
  if (practice === 'iec' && flagIn(run.properties, 'shortCircuitProof') === true)
    return passed(run, NO_LIMIT, { distance });
  return tooFar(stretch, context);
}

/** Whether a device stands nearer to the other end of its run, which needs none, than to the one that feeds it. */
function isAtWrongEnd({ run, end, distance }: Stretch, context: DesignContext): boolean {
  if (needsDevice(feedInto(run, end === 'near' ? 'far' : 'near', context))) return false;
  const length = context.maybe(run, 'length');
  return length !== undefined && numberIn(distance, 'm') > numberIn(length, 'm') / 2;
}

/** Moving the device towards the end that feeds it. */
function moving({ run, end, rule, device }: Stretch, context: DesignContext): Fix[] {
  const place = movedTo(run, end, rule, context);
  return device.distance?.place && place !== undefined
    ? [
        propose(
          `Move ${device.instance.name} to ${place} along ${run.name}`,
          [{ place: device.distance.place, text: place }],
          true,
        ),
      ]
    : [];
}

const enclosing = ({ run, device }: Stretch): Fix =>
  propose(`State that ${run.name} is enclosed up to ${device.instance.name}`, [setProperty(run, 'enclosed', 'yes')]);

function tooFar(stretch: Stretch, context: DesignContext): Verdict {
  const { run, stop, feed, rule, device, distance } = stretch;
  const [stands, limit] = pairText(distance, rule.limit);
  const fits = rule.enclosed !== undefined && isWithin(distance, rule.enclosed, 'mm');
  const isWrongEnd = feed.kind === 'unlimited' && isAtWrongEnd(stretch, context);
  // A supply that a device ahead limits may be one that protects the stretch too (IEC 60364-4-43 433.2.2); a bank limits nothing.
  const isBeyondAll =
    !isWithin(distance, rule.utmost, 'mm') && (feed.kind === 'unlimited' || context.system.basis.practice === 'craft');
  const isHard = isWrongEnd || isBeyondAll || !rule.isSoft;
  const fixes: Way[] = [
    ...moving(stretch, context),
    ...(fits ? [enclosing(stretch)] : []),
    // Where it protects the run from another end already, one more stands here.
    { way: 'device', run, end: stretch.end, feed, rule },
  ];
  const how = fits ? `, or sheathe it or run it in conduit up to there (${displayValue(rule.enclosed!)} then)` : '';
  const [, utmost] = pairText(distance, rule.utmost);
  const beyond = isWrongEnd
    ? 'it is at the wrong end'
    : isBeyondAll && rule.isSoft
      ? `no rule of the practice goes beyond ${utmost}`
      : undefined;
  return {
    verdict: 'failed',
    subject: run.path,
    place: device.place,
    ...(isHard ? {} : { severity: 'warning' as const }),
    headline: `${device.instance.name} is ${stands} along ${run.name} from ${stop.instance.name}; the limit is ${limit}`,
    ...whyOf(`${sourcesText(feed)} can feed that end: the stretch before the device has no protection`, beyond),
    rule: rule.text,
    advice: `Move the device nearer${how}.`,
    use: atMost(distance, rule.limit),
    numbers: { distance, limit: rule.limit },
    fixes,
  };
}

/** The rating of the device that a tap ends in, and its name. */
function endOf({ device }: Stretch, context: DesignContext): { name: string; rating: Derivation | undefined } {
  const { instance } = device;
  return { name: instance.name, rating: isDevice(instance) ? context.maybe(instance, 'rating') : undefined };
}

/** Conductors ahead of their device, behind another one, under the NEC: what stands at the feeder, else one of the tap rules. */
function judgeTap(stretch: Stretch, context: DesignContext): Verdict {
  const { run, feed, device, distance, ampacity } = stretch;
  const near = ruleValue('nec', 'bankDeviceDistance');
  // Within the gear in which the tap is made.
  if (isWithin(distance, near, 'mm')) return passed(run, atMost(distance, near), { distance, limit: near });
  if (feed.kind !== 'limited')
    return notChecked(run, { kind: 'missing', missing: feed.kind === 'open' ? feed.missing : [] }, device.place);
  if (ampacity?.kind !== 'known') return notChecked(run, ampacity ?? context.fact(run, 'size'));
  const tap = {
    feeder: feed.current,
    by: sourcesText(feed),
    length: distance,
    ampacity: ampacity.derivation,
    end: endOf(stretch, context),
  };
  const rule = tapRule(run, tap, (each) => displayValue(each, 3));
  if (!rule) return beyondTaps(stretch, context);
  if (rule.faults.length > 0) return brokenTap(stretch, rule, context);
  if (rule.missing.length > 0) return notChecked(run, { kind: 'missing', missing: rule.missing }, device.place);
  return passed(run, atMost(distance, rule.length), { distance, limit: rule.length, current: feed.current });
}

/** A tap without a device that ends in a busbar good for no more than the tap: each circuit from there has its own (240.21(B)(1)). */
export function tapIntoGear(
  run: Run,
  end: End,
  feed: Fed,
  ampacity: Result | undefined,
  context: DesignContext,
): Verdict | undefined {
  const [far] = end === 'near' ? run.to : [run.from];
  const length = context.maybe(run, 'length');
  const rating = far && isJoint(far.instance) ? context.maybe(far.instance, 'rating') : undefined;
  if (context.system.basis.practice !== 'nec' || feed.kind !== 'limited' || run.to.length > 1) return undefined;
  if (!far || !rating || !length || ampacity?.kind !== 'known') return undefined;
  const rule = tapRule(
    run,
    {
      feeder: feed.current,
      by: sourcesText(feed),
      length,
      ampacity: ampacity.derivation,
      end: { name: far.instance.name, rating },
    },
    (each) => displayValue(each, 3),
  );
  return rule?.faults.length === 0 && rule.isShort
    ? passed(run, atMost(length, rule.length), { distance: length, limit: rule.length, current: feed.current })
    : undefined;
}

const TAP_END = 'NEC 240.21(B)';

function beyondTaps(stretch: Stretch, context: DesignContext): Verdict {
  const { run, stop, feed, device, distance } = stretch;
  const longest = ruleValue('nec', 'longTapLength');
  const fixes = moving(stretch, context);
  const [stands, limit] = pairText(distance, longest);
  return {
    verdict: 'failed',
    subject: run.path,
    place: device.place,
    headline: `${device.instance.name} is ${stands} along ${run.name} from ${stop.instance.name}; no tap indoors exceeds ${limit}`,
    why: `${sourcesText(feed)} can feed that end`,
    rule: `${TAP_END}(2)`,
    advice: `Move the device nearer, or make the conductors large enough for ${sourcesText(feed)}.`,
    use: atMost(distance, longest),
    numbers: { distance, limit: longest },
    fixes,
  };
}

function brokenTap(stretch: Stretch, rule: TapRule, context: DesignContext): Verdict {
  const { run, stop, device, distance } = stretch;
  const isOnlyUnsaid =
    rule.faults.every(({ kind }) => kind === 'enclosed') && flagIn(run.properties, 'enclosed') === undefined;
  const least = rule.faults.reduce<Derivation | undefined>(
    (so, { least: next }) => (next && (!so || numberIn(next, 'A') > numberIn(so, 'A')) ? next : so),
    undefined,
  );
  const isEnough = (size: Derivation): boolean => {
    const carries = ampacityAt(run, size, context);
    return (
      least === undefined ||
      (carries.kind === 'known' && numberIn(carries.derivation, 'A') >= numberIn(least, 'A') * (1 - 1e-9))
    );
  };
  const sizes: Way[] = least && isEnclosed(run) ? [largerSize(run, { accepts: ({ size }) => isEnough(size) })] : [];
  const fixes: Way[] = [...moving(stretch, context), ...sizes, ...(isOnlyUnsaid ? [enclosing(stretch)] : [])];
  return {
    verdict: 'failed',
    subject: run.path,
    place: device.place,
    ...(isOnlyUnsaid ? { severity: 'warning' as const } : {}),
    headline: `${device.instance.name} is ${displayValue(distance)} along ${run.name} from ${stop.instance.name}, but the stretch is no tap`,
    ...whyOf(...rule.faults.map(({ text }) => text)),
    rule: rule.title,
    advice: 'Put the device at that end, or keep the rule.',
    use: atMost(distance, rule.length),
    numbers: { distance, limit: rule.length, ...(least ? { least } : {}) },
    fixes,
  };
}
