import { type Derivation, displayValue } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Link } from '../../model/types.js';
import { defineCheck, type Verdict, NO_LIMIT } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf } from '../verdicts.js';
import { speaks } from './lines.js';

/** A protocol without regard to case and spaces, a rate as its number: 0.5 Mbit/s is 500 kbit/s. */
const comparable = ({ value }: Derivation): string | number =>
  typeof value === 'object' ? Number(value.value.toPrecision(9)) : String(value).trim().toLowerCase();

function* judgeLink(link: Link, context: DesignContext): Generator<Verdict> {
  if (!speaks(link, context)) return;
  for (const name of ['protocol', 'rate'] as const) {
    const said = [
      { title: `link ${link.name}`, thing: link, value: context.maybe(link, name) },
      { title: link.from.name, thing: link.from, value: context.maybe(link.from, name) },
      { title: link.to.name, thing: link.to, value: context.maybe(link.to, name) },
    ].filter((each) => each.value !== undefined);
    const ends = said.filter(({ thing }) => thing !== link);
    const lacking = [link.from, link.to].filter((end: Instance) => !context.maybe(end, name));
    const agree = new Set(said.map(({ value }) => comparable(value!))).size <= 1;
    if (agree) {
      if (lacking.length > 0 && (name === 'protocol' || said.length > 0))
        yield notChecked(link, { kind: 'missing', missing: lacking.map((end) => `${name} of ${end.name}`) });
      else if (said.length > 0) yield passed(link, NO_LIMIT);
      continue;
    }
    const endsAgree = new Set(ends.map(({ value }) => comparable(value!))).size === 1;
    const agreed = ends.length === 2 && endsAgree ? displayValue(ends[0]!.value!) : undefined;
    const own = said.find(({ thing }) => thing === link);
    yield {
      verdict: 'failed',
      subject: link.path,
      place: own ? placeOf(link, name) : link.place,
      headline: `The ends of ${link.name} do not agree on ${name === 'rate' ? 'the bit rate' : 'the protocol'}`,
      why: said
        .map(
          ({ title, value }) => `${title} ${name === 'protocol' ? `"${displayValue(value!)}"` : displayValue(value!)}`,
        )
        .join(', '),
      advice: 'Set both ends to one they share, or put a gateway between.',
      use: NO_LIMIT,
      numbers: Object.fromEntries(said.map(({ title, value }) => [title, value!])),
      related: ends.map(({ thing, title, value }) => ({
        place: placeOf(thing, name),
        text: `${title}: ${displayValue(value!)}`,
      })),
      fixes:
        agreed && own
          ? [
              propose(
                `Set ${name} of ${link.name} to ${agreed}`,
                [setProperty(link, name, name === 'protocol' ? `"${agreed}"` : agreed)],
                true,
              ),
            ]
          : [],
    };
  }
}

export const linkProtocol = defineCheck({
  id: 'link-protocol',
  group: 'control',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'The two ends of a communication link, or the link itself, name different protocols or bit rates.',
    guards: 'The link never comes up: the most frequent service call of battery systems.',
    how: 'Protocol and rate are compared between both ends and the link, by their text; what an end does not state is a question. A dry contact speaks no protocol.',
    fix: 'Set both ends and the link to one protocol and one bit rate.',
    sources: [
      {
        standard: 'service statistics of battery links',
        table: '43 of 100 calls for the protocol setting, 5 for the bit rate (unaudited)',
        provenance: 'published',
      },
    ],
    failing: `design Hut {
  charger Rect { protocol: "neutral-1"   rate: 500 kbit/s }
  battery Bank : Lfp48V280Ah { protocol: "neutral-2"   rate: 500 kbit/s }
  link BmsLink: Bank -> Rect { medium: can }
}
`,
    passing: `design Hut {
  charger Rect { protocol: "neutral-1"   rate: 500 kbit/s }
  battery Bank : Lfp48V280Ah { protocol: "neutral-1"   rate: 500 kbit/s }
  link BmsLink: Bank -> Rect { medium: can }
}
`,
  },
  judge: function* (context) {
    for (const link of context.system.links) yield* judgeLink(link, context);
  },
});
