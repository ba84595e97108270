import { type Derivation, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Link } from '../../model/types.js';
import { defineCheck, type Verdict } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf } from '../verdicts.js';

/** Links of these media carry messages; a dry contact speaks no protocol. */
const SPEAKING = ['rs485', 'can', 'ethernet', 'wireless'];

/** A protocol without regard to case and spaces, a rate as its number: 0.5 Mbit/s is 500 kbit/s. */
const comparable = ({ value }: Derivation): string | number =>
  typeof value === 'object' ? Number(value.value.toPrecision(9)) : String(value).trim().toLowerCase();

function* judgeLink(link: Link, context: DesignContext): Generator<Verdict> {
  const medium = context.maybe(link, 'medium')?.value;
  if (typeof medium === 'string' && !SPEAKING.includes(medium)) return;
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
      else if (said.length > 0) yield passed(link);
      continue;
    }
    const endsAgree = new Set(ends.map(({ value }) => comparable(value!))).size === 1;
    const agreed = ends.length === 2 && endsAgree ? displayValue(ends[0]!.value!) : undefined;
    const own = said.find(({ thing }) => thing === link);
    yield {
      verdict: 'failed',
      subject: link.path,
      place: own ? placeOf(link, name) : link.place,
      message: `The ends of ${link.name} do not agree on ${name === 'rate' ? 'the bit rate' : 'the protocol'}: ${said.map(({ title, value }) => `${title} ${name === 'protocol' ? `"${displayValue(value!)}"` : displayValue(value!)}`).join(', ')}. ${agreed && own ? `Both ends say ${agreed}; set the link to that.` : 'Set both ends to one they share, or put a gateway between.'}`,
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

/**
 * Things that hang on one thing by links of one medium must differ in their addresses. Both ends of a single link may say the same one:
 * there it is often the address of the one, told to the other.
 */
function* judgeAddresses(context: DesignContext): Generator<Verdict> {
  const speaking = context.system.links.filter((link) => {
    const medium = context.maybe(link, 'medium')?.value;
    return typeof medium !== 'string' || SPEAKING.includes(medium);
  });
  for (const hub of context.system.instances) {
    const far = speaking.flatMap((link) =>
      link.from === hub ? [{ link, end: link.to }] : link.to === hub ? [{ link, end: link.from }] : [],
    );
    for (const [index, { link, end }] of far.entries()) {
      const address = context.maybe(end, 'address');
      const medium = context.maybe(link, 'medium')?.value;
      const before =
        address &&
        far
          .slice(0, index)
          .find(
            (other) =>
              other.end !== end &&
              context.maybe(other.link, 'medium')?.value === medium &&
              sameAddress(address, context.maybe(other.end, 'address')),
          );
      if (!before) continue;
      yield {
        verdict: 'failed',
        subject: link.path,
        place: placeOf(end, 'address'),
        message: `${before.end.name} and ${end.name} both have address ${displayValue(address)} on the line of ${hub.name} (${before.link.name}, ${link.name}): their messages cannot be told apart. Give one of them another address.`,
        related: [{ place: placeOf(before.end, 'address'), text: `${before.end.name}: ${displayValue(address)}` }],
        numbers: { address },
      };
    }
  }
}

const sameAddress = (one: Derivation, other: Derivation | undefined): boolean =>
  other !== undefined && numberIn(one, '') === numberIn(other, '');

export const linkProtocol = defineCheck({
  id: 'link-protocol',
  group: 'control',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'The two ends of a communication link, or the link itself, name different protocols or bit rates, or two things on one line have one address.',
    guards: 'The link never comes up: the most frequent service call of battery systems.',
    how: 'Protocol and rate are compared between both ends and the link, by their text; what an end does not state is asked for. Things that hang on one thing by links of one medium must differ in their addresses. A dry contact speaks no protocol.',
    sources: [
      {
        standard: 'service statistics of battery links',
        table: '43 of 100 calls: protocol setting; 5: bit rate (unaudited)',
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
    yield* judgeAddresses(context);
  },
});
