import { derive, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { terminatorsOf } from '../../reference/links.js';
import { defineCheck, type Verdict } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf } from '../verdicts.js';
import { type Line, linesOf, mediumOf } from './lines.js';

function* judgeLine(line: Line, context: DesignContext): Generator<Verdict> {
  const [first] = line.links;
  const medium = mediumOf(first!, context);
  const wanted = medium === undefined ? undefined : terminatorsOf(medium);
  if (!wanted) return;
  const stated = line.links.flatMap((link) => {
    const count = context.maybe(link, 'terminators');
    return count ? [{ link, count }] : [];
  });
  if (stated.length === 0)
    return yield notChecked(first!, { kind: 'missing', missing: [`terminators of ${line.title}`] });
  const sum = stated.reduce((total, { count }) => total + numberIn(count, ''), 0);
  const numbers = { terminators: derive('terminators', sum, '', { inputs: stated.map(({ count }) => count) }) };
  const use = {
    value: numbers.terminators,
    limit: derive('terminators needed', wanted.count, ''),
    sense: sum < wanted.count ? 'at-least' : 'at-most',
  } as const;
  if (sum === wanted.count) return yield passed(first!, use, numbers);
  const ohms = sum === 0 ? 'an open line' : `${Math.round(wanted.ohms / sum)} Ω`;
  const right = Math.round(wanted.ohms / wanted.count);
  yield {
    verdict: 'failed',
    subject: first!.path,
    place: placeOf(stated[0]!.link, 'terminators'),
    // A short, slow pair often works without; three load its drivers.
    ...(medium === 'rs485' && sum < wanted.count ? { severity: 'warning' as const } : {}),
    headline: `${line.title} has ${sum === 0 ? 'no terminator' : sum === 1 ? 'one terminator' : `${sum} terminators`}; a line needs ${wanted.count} of ${wanted.ohms} Ω`,
    why: `one at each end and none between; with the power off a meter shows ${ohms} between its conductors, not ${right} Ω`,
    use,
    numbers,
    sources: [wanted.source],
    fixes:
      line.links.length === 1
        ? [
            propose(
              `Fit ${wanted.count} terminators`,
              [setProperty(stated[0]!.link, 'terminators', String(wanted.count))],
              true,
            ),
          ]
        : [],
  };
}

export const linkTermination = defineCheck({
  id: 'link-termination',
  group: 'control',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A TIA-485 or CAN line has not two terminating resistors.',
    guards:
      'A link that works on the bench and drops out on site: the second most frequent service call of battery systems.',
    how: 'The `terminators` of a link, or of all links with the same `line` together, must be two of 120 Ω, one at each end. Too few on a TIA-485 pair are a warning, since short and slow lines often work without.',
    fix: 'Fit one resistor at each end of the line and none between.',
    sources: [
      {
        standard: 'service statistics of battery links',
        table: '31 of 100 calls for termination (unaudited)',
        provenance: 'published',
      },
      {
        standard: 'article on battery communication: 60 Ω with the power off, 40 Ω with three',
        provenance: 'published',
      },
    ],
    failing: `design Hut {
  charger Rect { protocol: "neutral-1" }
  battery Bank : Lfp48V280Ah { protocol: "neutral-1" }
  link BmsLink: Bank -> Rect { medium: can   terminators: 3 }
}
`,
    passing: `design Hut {
  charger Rect { protocol: "neutral-1" }
  battery Bank : Lfp48V280Ah { protocol: "neutral-1" }
  link BmsLink: Bank -> Rect { medium: can   terminators: 2 }
}
`,
  },
  judge: function* (context) {
    for (const line of linesOf(context)) yield* judgeLine(line, context);
  },
});
