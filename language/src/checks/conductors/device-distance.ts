/** How far from a feeding end the device of a run may stand: the rules of the practices, and which of them a stretch keeps. */
import { type Derivation, type Source, derive, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { isBank } from '../../model/roles.js';
import { flagIn } from '../../model/stated-facts.js';
import type { Run, Stop } from '../../model/types.js';
import { ruleValue } from '../../reference/index.js';

/** How far the device may stand by the distance alone. */
export interface DistanceRule {
  readonly limit: Derivation;
  /** Why this limit, for messages. */
  readonly text: string;
  /** Whether the figure is a rule of thumb or from memory: then it makes a warning. */
  readonly isSoft: boolean;
  /** A longer limit that holds where the conductor is enclosed, when it is not said to be. */
  readonly enclosed?: Derivation;
  /** Farther than any rule of the practice allows of a stretch that nothing limits: beyond it no doubt about a figure counts. */
  readonly utmost: Derivation;
}

type Place = 'bank' | 'elsewhere';

/** `ABYC E-11.10` rather than `ABYC E-11 E-11.10`: sections of a standard may repeat its number. */
function ruleName({ standard, table = '' }: Source): string {
  const number = standard.split(' ').at(-1)!;
  return table.startsWith(number) ? `${standard.slice(0, -number.length)}${table}` : `${standard} ${table}`.trim();
}

export const isEnclosed = (run: Run): boolean => flagIn(run.properties, 'enclosed') === true;

/** The distances that count at an end, whatever feeds it. */
export function distanceRule(run: Run, at: Stop, isMetric: boolean, context: DesignContext): DistanceRule {
  const place: Place = isBank(at.instance) ? 'bank' : 'elsewhere';
  const { practice } = context.system.basis;
  const { open, enclosed, utmost } = distances(practice, place, isMetric);
  const limit = isEnclosed(run) ? enclosed : open;
  const named =
    limit.source?.provenance === 'common practice, no source'
      ? STANDARD_TEXT[practice]
      : limit.source && ruleName(limit.source);
  return {
    limit,
    text: `${named}, ${isEnclosed(run) ? 'enclosed' : 'not enclosed'}`,
    isSoft: limit.source?.provenance !== 'published',
    ...(isEnclosed(run) ? {} : { enclosed }),
    utmost,
  };
}

/** What a standard says where it gives no distance. */
const STANDARD_TEXT: Readonly<Record<string, string>> = {
  nec: 'common practice, no source: NEC 240.21(H) says as close as practicable',
  iec: 'common practice, no source: IEC 60364-4-43 says at the start of the conductor',
};

interface Distances {
  readonly open: Derivation;
  readonly enclosed: Derivation;
  readonly utmost: Derivation;
}

function distances(practice: string, place: Place, isMetric: boolean): Distances {
  switch (practice) {
    case 'nec':
      return {
        open: ruleValue('nec', 'bankDeviceDistance'),
        enclosed: ruleValue('nec', place === 'bank' ? 'bankDeviceDistanceEnclosed' : 'tapLength'),
        utmost: ruleValue('nec', 'tapLength'),
      };
    case 'iec':
      return {
        open: ruleValue('iec', 'deviceDistance'),
        enclosed: ruleValue('iec', 'displacedDevice'),
        utmost: ruleValue('iec', 'displacedDevice'),
      };
    default:
      return isMetric
        ? {
            open: ruleValue('craft', 'protectionDistanceMetric'),
            enclosed: ruleValue('craft', 'protectionDistanceMetricEnclosed'),
            utmost: ruleValue('craft', 'protectionDistanceMetricEnclosed'),
          }
        : {
            open: ruleValue('craft', 'protectionDistance'),
            enclosed: ruleValue(
              'craft',
              place === 'bank' ? 'protectionDistanceAtBattery' : 'protectionDistanceEnclosed',
            ),
            utmost: ruleValue('craft', 'protectionDistanceAtBattery'),
          };
  }
}

/** What a tap is held against (NEC 240.21(B)). */
export interface Tap {
  /** The device, or what else limits the feeder. */
  readonly feeder: Derivation;
  /** What lets that through, in words. */
  readonly by: string;
  readonly length: Derivation;
  readonly ampacity: Derivation;
  /** The device or the gear that the tap ends in. */
  readonly end: { readonly name: string; readonly rating: Derivation | undefined };
}

/** A condition of a tap rule that is not kept. */
export interface TapFault {
  readonly kind: 'ampacity' | 'end' | 'enclosed';
  readonly text: string;
  /** The least ampacity, where that lacks. */
  readonly least?: Derivation;
}

/** The tap rule that goes as far as a tap is long; none where it is longer than any. */
export interface TapRule {
  readonly title: string;
  /** Whether it is the rule of 10 ft, by which a tap may end in any gear. */
  readonly isShort: boolean;
  readonly length: Derivation;
  readonly faults: readonly TapFault[];
  /** The facts it cannot be judged without. */
  readonly missing: readonly string[];
}

const RULES = [
  { title: 'NEC 240.21(B)(1), the 10 ft tap', length: 'tapLength', share: 'tapShare', shareText: 'a tenth' },
  { title: 'NEC 240.21(B)(2), the 25 ft tap', length: 'longTapLength', share: 'longTapShare', shareText: 'a third' },
] as const;

/** Whether a value is no more than a limit, rounding apart. */
export const isWithin = (left: Derivation, right: Derivation, unit: string): boolean =>
  numberIn(left, unit) <= numberIn(right, unit) * (1 + 1e-9);

/** NEC 240.21(B)(5); that it is outdoors, ends at the nearest point and in one device is known, its details are from memory. */
const OUTSIDE = 'NEC 240.21(B)(5), the outside tap';

const isOutdoors = (run: Run): boolean => flagIn(run.properties, 'outdoors') === true;

/** What any tap is asked, however long: to end in no more than it carries, and to lie where nothing damages it. */
function faultsOfEnd(run: Run, tap: Tap, texts: (derivation: Derivation) => string): TapFault[] {
  const faults: TapFault[] = [];
  const { rating, name } = tap.end;
  if (rating && !isWithin(rating, tap.ampacity, 'A'))
    faults.push({
      kind: 'end',
      least: rating,
      text: `${name} (${texts(rating)}) is above its ${texts(tap.ampacity)}; no next size up on a tap`,
    });
  if (!isEnclosed(run))
    faults.push({
      kind: 'enclosed',
      text:
        flagIn(run.properties, 'enclosed') === false ? 'it is not in a raceway' : 'it is not said to be in a raceway',
    });
  return faults;
}

/**
 * Which conditions a tap breaks: its ampacity is a tenth (third) of the device ahead of it at least and no less than what it ends in, whose
 * rating is not rounded up to the next standard one, and it lies in a raceway.
 */
export function tapRule(run: Run, tap: Tap, texts: (derivation: Derivation) => string): TapRule | undefined {
  const rule = RULES.find(({ length }) => isWithin(tap.length, ruleValue('nec', length), 'm'));
  const faults: TapFault[] = faultsOfEnd(run, tap, texts);
  const missing = tap.end.rating ? [] : [`rating of ${tap.end.name}`];
  // Outdoors no length and no share of the feeder counts; what is asked besides is asked of any tap.
  if (isOutdoors(run)) return { title: OUTSIDE, isShort: false, length: tap.length, faults, missing };
  if (!rule) return undefined;
  const share = ruleValue('nec', rule.share);
  const least = derive('least ampacity of the tap', numberIn(share, '') * numberIn(tap.feeder, 'A'), 'A', {
    formula: 'share·I_feeder',
    inputs: [share, tap.feeder],
    ...(share.source ? { source: share.source } : {}),
  });
  if (!isWithin(least, tap.ampacity, 'A'))
    faults.unshift({
      kind: 'ampacity',
      least,
      text: `its ${texts(tap.ampacity)} are less than ${rule.shareText} of ${texts(tap.feeder)} of ${tap.by}`,
    });
  return {
    title: rule.title,
    isShort: rule === RULES[0],
    length: ruleValue('nec', rule.length),
    faults,
    missing,
  };
}
