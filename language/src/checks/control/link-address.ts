import { type Derivation, displayValue, numberIn, derive } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Link } from '../../model/types.js';
import { modbusAddresses } from '../../reference/links.js';
import { defineCheck, type Verdict, atMost, atLeast, NO_LIMIT } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf } from '../verdicts.js';
import { linesOf, mediumOf, speaks } from './lines.js';

const sameAddress = (one: Derivation, other: Derivation | undefined): boolean =>
  other !== undefined && numberIn(one, '') === numberIn(other, '');

/** The lowest address that nothing of the design has, as a fix for one thing. */
function freeAddress(thing: Instance, context: DesignContext): number {
  const taken = new Set(
    context.system.instances
      .filter((other) => other !== thing)
      .flatMap((other) => {
        const address = context.maybe(other, 'address');
        return address ? [numberIn(address, '')] : [];
      }),
  );
  let free = modbusAddresses.from;
  while (taken.has(free)) free += 1;
  return free;
}

const giveFree = (thing: Instance, context: DesignContext): ReturnType<typeof propose> => {
  const free = freeAddress(thing, context);
  return propose(`Give ${thing.name} address ${free}`, [setProperty(thing, 'address', String(free))], true);
};

/**
 * Things that hang on one thing by links of one medium, or on one named line, must differ in their addresses. Both ends of a single link
 * may say the same one: there it is often the address of the one, told to the other.
 */
function* judgeHub(hub: Instance, context: DesignContext): Generator<Verdict> {
  const speaking = context.system.links.filter((link) => speaks(link, context));
  const far = speaking.flatMap((link) =>
    link.from === hub ? [{ link, end: link.to }] : link.to === hub ? [{ link, end: link.from }] : [],
  );
  for (const [index, { link, end }] of far.entries()) {
    const address = context.maybe(end, 'address');
    const before =
      address &&
      far
        .slice(0, index)
        .find(
          (other) =>
            other.end !== end &&
            mediumOf(other.link, context) === mediumOf(link, context) &&
            sameAddress(address, context.maybe(other.end, 'address')),
        );
    if (before) yield twice(link, before.end, end, `${hub.name} (${before.link.name}, ${link.name})`, address, context);
  }
}

function twice(
  link: Link,
  first: Instance,
  second: Instance,
  line: string,
  address: Derivation,
  context: DesignContext,
): Verdict {
  return {
    verdict: 'failed',
    subject: link.path,
    place: placeOf(second, 'address'),
    headline: `${first.name} and ${second.name} both have address ${displayValue(address)}`,
    why: `both are on the line of ${line}, where their messages cannot be distinguished`,
    use: NO_LIMIT,
    related: [{ place: placeOf(first, 'address'), text: `${first.name}: ${displayValue(address)}` }],
    numbers: { address },
    fixes: [giveFree(second, context)],
  };
}

/** Every two things of a line that several links make up. */
function* judgeLines(context: DesignContext): Generator<Verdict> {
  for (const { links, things, title } of linesOf(context)) {
    if (links.length < 2) continue;
    const lacking = things.filter((thing) => !context.maybe(thing, 'address'));
    if (lacking.length > 0)
      yield notChecked(links[0]!, { kind: 'missing', missing: lacking.map(({ name }) => `address of ${name}`) });
    for (const [index, thing] of things.entries()) {
      const address = context.maybe(thing, 'address');
      const first =
        address && things.slice(0, index).find((other) => sameAddress(address, context.maybe(other, 'address')));
      // Two that hang on one hub are told there.
      const isTold =
        first &&
        things.some((hub) =>
          [first, thing].every((each) =>
            links.some(({ from, to }) => (from === hub && to === each) || (to === hub && from === each)),
          ),
        );
      if (first && !isTold) yield twice(links[0]!, first, thing, title, address, context);
    }
  }
}

/** The address a link says must be that of one of its ends, where they say one; a Modbus address must be one. */
function* judgeLink(link: Link, context: DesignContext): Generator<Verdict> {
  const own = context.maybe(link, 'address');
  const ends = [link.to, link.from].map((thing) => ({ thing, address: context.maybe(thing, 'address') }));
  const known = ends.filter(({ address }) => address);
  if (own && known.length > 0 && !known.some(({ address }) => sameAddress(own, address))) {
    const [{ thing, address }] = known as [{ thing: Instance; address: Derivation }];
    yield {
      verdict: 'failed',
      subject: link.path,
      place: placeOf(link, 'address'),
      headline: `${link.name} speaks to address ${displayValue(own)}, which neither of its ends has`,
      why: known.map((each) => `${each.thing.name} has ${displayValue(each.address!)}`).join(', '),
      use: NO_LIMIT,
      related: known.map((each) => ({
        place: placeOf(each.thing, 'address'),
        text: `${each.thing.name}: ${displayValue(each.address!)}`,
      })),
      numbers: { address: own },
      fixes: [
        propose(
          `Set address of ${link.name} to that of ${thing.name}`,
          [setProperty(link, 'address', displayValue(address))],
          true,
        ),
      ],
    };
  } else if (own && known.length > 0) yield passed(link, NO_LIMIT, { address: own });
  const protocols = [link, link.from, link.to].map((thing) => String(context.maybe(thing, 'protocol')?.value ?? ''));
  if (!protocols.some((protocol) => /modbus/i.test(protocol))) return;
  for (const { thing, address } of known) {
    const value = numberIn(address!, '');
    if (value >= modbusAddresses.from && value <= modbusAddresses.to) continue;
    yield {
      verdict: 'failed',
      subject: link.path,
      place: placeOf(thing, 'address'),
      severity: 'warning',
      headline: `${thing.name} has address ${value} on a Modbus line; allowed are ${modbusAddresses.from}–${modbusAddresses.to}`,
      ...(value === 0 ? { why: '0 speaks to all' } : {}),
      use:
        value < modbusAddresses.from
          ? atLeast(address!, derive('lowest address', modbusAddresses.from, ''))
          : atMost(address!, derive('highest address', modbusAddresses.to, '')),
      numbers: { address: address! },
      sources: [modbusAddresses.source],
      fixes: [giveFree(thing, context)],
    };
  }
}

export const linkAddress = defineCheck({
  id: 'link-address',
  group: 'control',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'Two things on one line have the same address, or a link speaks to an address that neither of its ends has.',
    guards: 'Two packs answer at once, or none does.',
    how: 'Things connected to one thing by links of one medium, and all things of links with the same `line`, must differ in their addresses; on a line of several links each needs one. Both ends of a single link may state one address: that of the one, told to the other. The address of a link must be stated by one of its ends, where they state any. On a Modbus line addresses run from 1 to 247 (from memory: a warning).',
    fix: 'Give each device on the line an address of its own, and state in the link the one it addresses.',
    sources: [
      {
        standard: 'service statistics of battery links',
        table: '6 of 100 calls for the address switch (unaudited)',
        provenance: 'published',
      },
    ],
    failing: `design Hut {
  charger Rect { protocol: "neutral-1"   address: 2 }
  inverter Inv { protocol: "neutral-1"   address: 2 }
  battery Bank : Lfp48V280Ah { protocol: "neutral-1"   address: 1 }
  link First: Bank -> Rect { medium: rs485 }
  link Second: Bank -> Inv { medium: rs485 }
}
`,
    passing: `design Hut {
  charger Rect { protocol: "neutral-1"   address: 2 }
  inverter Inv { protocol: "neutral-1"   address: 3 }
  battery Bank : Lfp48V280Ah { protocol: "neutral-1"   address: 1 }
  link First: Bank -> Rect { medium: rs485 }
  link Second: Bank -> Inv { medium: rs485 }
}
`,
  },
  judge: function* (context) {
    for (const hub of context.system.instances) yield* judgeHub(hub, context);
    yield* judgeLines(context);
    for (const link of context.system.links) if (speaks(link, context)) yield* judgeLink(link, context);
  },
});
