import { type Derivation, displayValue, fromTable, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Link } from '../../model/types.js';
import { longestBranch, longestLine, longestOfMedium } from '../../reference/links.js';
import { defineCheck, type Verdict, atMost, NO_LIMIT } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, pairText, passed, placeOf } from '../verdicts.js';
import { sumOf } from '../../quantities/worst.js';
import { type Line, linesOf, mediumOf } from './lines.js';

/** Media that go over a pair of conductors. */
const PAIRS = ['rs485', 'can'];

const KILOBIT = 1000;

function* judgeLength(line: Line, medium: string, context: DesignContext): Generator<Verdict> {
  const [first] = line.links;
  const most = longestOfMedium(medium);
  if (!most) return;
  const lengths = line.links.map((link) => context.fact(link, 'length'));
  const lacking = lengths.flatMap((length) => (length.kind === 'missing' ? length.missing : []));
  if (lacking.length > 0) return yield notChecked(first!, { kind: 'missing', missing: lacking });
  const length = sumOf(
    'length of the line',
    'L',
    'm',
    lengths.map((each) => (each as { derivation: Derivation }).derivation),
  );
  const metres = numberIn(length, 'm');
  const rate = rateOf(line, context);
  // A line that would do at any rate needs no rate to be judged by.
  const shortest = longestLine(medium, fastestOf(medium));
  if (!rate && !(shortest && metres <= shortest.length) && metres <= most.length)
    return yield notChecked(first!, { kind: 'missing', missing: [`rate of ${line.title}`] });
  const limit = rate ? longestLine(medium, numberIn(rate, 'bit/s') / KILOBIT) : metres <= most.length ? shortest : most;
  const numbers = { length, ...(rate ? { rate } : {}) };
  if (!limit) {
    return yield {
      verdict: 'failed',
      subject: first!.path,
      place: placeOf(first!, 'rate'),
      severity: 'warning',
      headline: `${line.title} runs at ${displayValue(rate!)}, faster than its medium goes over any length`,
      advice: 'Choose a lower rate.',
      use: NO_LIMIT,
      numbers,
      sources: [most.source],
    };
  }
  const most1 = fromTable('longest line', limit.length, 'm', limit.source);
  const use = atMost(length, most1);
  if (metres <= limit.length * (1 + 1e-9)) return yield passed(first!, use, numbers);
  const [is, may] = pairText(length, most1);
  yield {
    verdict: 'failed',
    subject: first!.path,
    place: placeOf(first!, 'length'),
    ...(limit.source.provenance === 'published' ? {} : { severity: 'warning' as const }),
    headline: `${line.title} is ${is} long; a line of its kind reaches ${may}${rate ? ` at ${displayValue(rate)}` : ''}`,
    ...(limit.source.provenance === 'from memory' ? { rule: 'length by rate, from memory' } : {}),
    advice: metres <= most.length ? 'Lower the rate, or insert a repeater.' : 'Insert a repeater.',
    use,
    numbers: { ...numbers, longest: most1 },
    sources: [limit.source],
  };
}

/** The highest bit rate of the table for a medium, kbit/s: found by halving from above, since the table answers only up to it. */
function fastestOf(medium: string): number {
  let rate = 1e6;
  while (rate > 1 && !longestLine(medium, rate)) rate /= 2;
  let [low, high] = [rate, rate * 2];
  for (let step = 0; step < 60; step += 1) {
    const middle = (low + high) / 2;
    if (longestLine(medium, middle)) low = middle;
    else high = middle;
  }
  return low;
}

const rateOf = (line: Line, context: DesignContext): Derivation | undefined =>
  line.links.map((link) => context.maybe(link, 'rate')).find(Boolean) ??
  line.things.map((thing) => context.maybe(thing, 'rate')).find(Boolean);

function* judgeCable(link: Link, medium: string, context: DesignContext): Generator<Verdict> {
  const cable = context.maybe(link, 'cable');
  if (!cable) {
    yield notChecked(link, { kind: 'missing', missing: [`cable of ${link.name}`] });
  } else if (cable.value === 'plain') {
    yield {
      verdict: 'failed',
      subject: link.path,
      place: placeOf(link, 'cable'),
      severity: 'warning',
      headline: `${link.name} runs over conductors that lie side by side`,
      why: 'they pick up the noise of the inverters and chargers beside them',
      use: NO_LIMIT,
      fixes: [propose('Use a twisted pair', [setProperty(link, 'cable', 'twisted')], true)],
    };
  } else yield passed(link, NO_LIMIT);
  if (context.maybe(link, 'common')?.value === false && medium === 'rs485')
    yield {
      verdict: 'failed',
      subject: link.path,
      place: placeOf(link, 'common'),
      severity: 'warning',
      headline: `${link.name} has no conductor for the common`,
      why: 'only the earth holds its ends together; receivers accept −7 V to 12 V against their own common',
      use: NO_LIMIT,
      fixes: [propose('Lead the common along', [setProperty(link, 'common', 'yes')], true)],
    };
  const branch = context.maybe(link, 'branch');
  if (!branch || numberIn(branch, 'm') <= longestBranch.length * (1 + 1e-9)) return;
  const most = fromTable('longest branch', longestBranch.length, 'm', longestBranch.source);
  const [is, may] = pairText(branch, most);
  yield {
    verdict: 'failed',
    subject: link.path,
    place: placeOf(link, 'branch'),
    severity: 'warning',
    headline: `A branch of ${is} leaves ${link.name}; at most ${may} allowed`,
    why: 'a longer one reflects the signal at its end',
    rule: 'common practice, no source',
    advice: 'Run the line from device to device instead of a star.',
    use: atMost(branch, most),
    numbers: { branch, most },
    sources: [longestBranch.source],
  };
}

export const linkCable = defineCheck({
  id: 'link-cable',
  group: 'control',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A communication line is longer than its bit rate allows, not a twisted pair, without a common, or has long branches.',
    guards: 'Messages that are lost when the inverter is loaded.',
    how: 'The length of a link, or of all links with the same `line` together, is held against the table of its medium by bit rate (TIA-485: 1200 m at 100 kbit/s, published; others from memory, a warning; between rows on a straight line in both logarithms). A TIA-485 or CAN line goes over a twisted pair; TIA-485 leads a common along (receivers accept −7 to 12 V); branches stay below 0.3 m (common practice, no source).',
    fix: 'Shorten or replace the cable, lower the bit rate, or chain the devices instead of branching.',
    sources: [
      {
        standard: 'service statistics of battery links',
        table: '12 of 100 calls for the cable (unaudited)',
        provenance: 'published',
      },
      { standard: 'TIA-485', table: 'three public pages and a specification table', provenance: 'published' },
    ],
    failing: `design Hut {
  charger Rect { protocol: "neutral-1"   rate: 9.6 kbit/s }
  battery Bank : Lfp48V280Ah { protocol: "neutral-1"   rate: 9.6 kbit/s }
  link BmsLink: Bank -> Rect { medium: rs485   length: 4 m   cable: plain }
}
`,
    passing: `design Hut {
  charger Rect { protocol: "neutral-1"   rate: 9.6 kbit/s }
  battery Bank : Lfp48V280Ah { protocol: "neutral-1"   rate: 9.6 kbit/s }
  link BmsLink: Bank -> Rect { medium: rs485   length: 4 m   cable: twisted }
}
`,
  },
  judge: function* (context) {
    for (const line of linesOf(context)) {
      const medium = mediumOf(line.links[0]!, context);
      if (medium === undefined) continue;
      yield* judgeLength(line, medium, context);
      if (PAIRS.includes(medium)) for (const link of line.links) yield* judgeCable(link, medium, context);
    }
  },
});
