import { lowEnd, highEnd } from '../../quantities/ends.js';
import { type Derivation, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Part, Run, Stop } from '../../model/types.js';
import { formatNumber } from '../../quantity/index.js';
import { connect, missingFrom, systemOf } from '../../quantities/supply/supply.js';
import { type Check, defineCheck, type Failed, type Verdict, atMost, atLeast, NO_LIMIT } from '../define.js';
import { placeOf, passed } from '../verdicts.js';
import { isAcConsumer, isConnection, isLoad, passingOf } from '../../model/roles.js';

const SPOKEN = { ac: 'alternating current', dc: 'direct current' } as const;

/** Outlets of continental Europe with and without side contacts, which one plug fits (CEE 7, from memory). */
const CONTINENTAL = ['CEE-7-4', 'CEE-7-6'];

/** Receptacles that take a plug of another configuration: a 15 A plug fits the 20 A receptacle of its family (NEMA WD 6). */
const MATES: Readonly<Record<string, readonly string[]>> = {
  'NEMA-1-15': ['NEMA-5-15', 'NEMA-5-20'],
  'NEMA-5-15': ['NEMA-5-20'],
  'NEMA-6-15': ['NEMA-6-20'],
  'CEE-7-7': CONTINENTAL,
  'CEE-7-16': CONTINENTAL,
  'CEE-7-17': CONTINENTAL,
};

function* judgeKinds(run: Run): Generator<Verdict> {
  const stops = [run.from, ...run.through, ...run.to].filter(({ terminal }) => terminal && terminal.carries !== 'any');
  const [first] = stops;
  const other = stops.find(({ terminal }) => terminal!.carries !== first?.terminal?.carries);
  if (!first || !other) return;
  const at = ({ instance, terminal }: Stop): string =>
    instance.terminals.length > 1 ? `${instance.name}.${terminal!.name}` : instance.name;
  yield {
    verdict: 'failed',
    subject: run.path,
    place: other.place,
    headline: `${run.name} joins ${at(first)} (${SPOKEN[first.terminal!.carries as 'ac' | 'dc']}) to ${at(other)} (${SPOKEN[other.terminal!.carries as 'ac' | 'dc']})`,
    advice: 'Put a charger or an inverter between them, or name the other terminal.',
    use: NO_LIMIT,
    related: [{ place: first.place, text: `${at(first)} carries ${SPOKEN[first.terminal!.carries as 'ac' | 'dc']}` }],
  };
}

/** The supplies at the AC input of each consumer, each pair once. */
function* supplies(context: DesignContext): Generator<{ consumer: Instance; source: Instance }> {
  const seen = new Set<string>();
  for (const { circuit } of context.circuitStates) {
    for (const [key, feeders] of circuit.supply) {
      const node = context.graph.nodes.get(key);
      if (!node || node.terminal.direction !== 'in' || !isAcConsumer(node.instance)) continue;
      for (const source of feeders) {
        const pair = `${key} ${source.name}`;
        if (seen.has(pair) || source === node.instance) continue;
        seen.add(pair);
        yield { consumer: node.instance, source };
      }
    }
  }
}

function windowFault(
  consumer: Instance,
  source: Instance,
  context: DesignContext,
): Omit<Failed, 'verdict' | 'subject'> | undefined {
  const system = systemOf(source);
  if (!system) return undefined;
  const related = [{ place: placeOf(source, 'voltage'), text: `${source.name} gives ${system.text}` }];
  const phases = context.maybe(consumer, 'phases')?.value;
  if (phases === 'three' && system.phases !== 'three')
    return {
      place: placeOf(consumer, 'phases'),
      headline: `${consumer.name} needs three phases; ${source.name} gives ${system.text}`,
      advice: 'Choose single-phase equipment or a three-phase supply.',
      use: NO_LIMIT,
      related,
    };
  const own = consumer.properties.get('voltage')?.value;
  // What a pass-through inverter is fed goes straight to its output.
  const passes = passingOf(consumer) !== undefined;
  if ((isLoad(consumer) || passes) && own?.type === 'system') {
    const fits = [system.lineToLine, system.lineToNeutral].some((volts) =>
      [own.system.lineToLine, own.system.lineToNeutral].some((wanted) => Math.abs(wanted - volts) <= 0.1 * volts),
    );
    const unlike = own.system.phases === 'three' && system.phases !== 'three';
    if (!fits || unlike)
      return {
        place: placeOf(consumer, 'voltage'),
        headline: passes
          ? `${consumer.name} gives ${own.system.text} but passes ${system.text} of ${source.name} through`
          : `${consumer.name} runs on ${own.system.text}; ${source.name} gives ${system.text}`,
        advice: passes
          ? `Feed it with ${own.system.text}, or set \`passThrough: no\`.`
          : `Feed it with ${own.system.text}, or through a transformer.`,
        use: NO_LIMIT,
        related,
      };
  }
  const window = context.maybe(consumer, 'input');
  const connection = connect(consumer, system, context);
  if (window && typeof window.value === 'object' && !missingFrom(connection)) {
    const volts = numberIn(connection.voltage, 'V');
    const tolerance = context.maybe(source, 'tolerance');
    const spread = tolerance ? numberIn(tolerance, '') : 0;
    if (volts * (1 + spread) < window.value.low || volts * (1 - spread) > window.value.high) {
      return {
        place: placeOf(consumer, 'input'),
        headline: `${consumer.name} accepts ${displayValue(window)}; ${source.name} gives ${formatNumber(volts)} V${spread > 0 ? ` ± ${formatNumber(spread * 100)} %` : ''}`,
        use:
          volts * (1 + spread) < window.value.low
            ? atLeast(connection.voltage, lowEnd(window))
            : atMost(connection.voltage, highEnd(window)),
        related,
        numbers: { window, voltage: connection.voltage },
      };
    }
  }
  return frequencyFault(context.maybe(consumer, 'frequency'), context.maybe(source, 'frequency'), consumer, source);
}

function frequencyFault(
  accepted: Derivation | undefined,
  given: Derivation | undefined,
  consumer: Instance,
  source: Instance,
): Omit<Failed, 'verdict' | 'subject'> | undefined {
  if (!accepted || !given || typeof accepted.value !== 'object' || typeof given.value !== 'object') return undefined;
  if (given.value.high >= accepted.value.low && given.value.low <= accepted.value.high) return undefined;
  return {
    place: placeOf(consumer, 'frequency'),
    headline: `${consumer.name} accepts ${displayValue(accepted)}; ${source.name} gives ${displayValue(given)}`,
    use:
      given.value.high < accepted.value.low
        ? atLeast(highEnd(given), lowEnd(accepted))
        : atMost(lowEnd(given), highEnd(accepted)),
    numbers: { accepted, given },
    related: [{ place: placeOf(source, 'frequency'), text: `${source.name} gives ${displayValue(given)}` }],
  };
}

/** A plug configuration that meets another in a run. `side` is clear for outlets of sources, plugs of chargers and adapters, not for other receptacles. */
interface Contact {
  readonly instance: Instance;
  readonly part: Part;
  readonly property: 'outlet' | 'plug';
  readonly side?: 'outlet' | 'plug';
}

/** The contacts of a thing in the order in which a run meets them, coming from the source: an adapter has a plug, and an outlet behind it. */
function contactsOf(instance: Instance): Contact[] {
  const partOf = (property: 'outlet' | 'plug'): Part | undefined => {
    const value = instance.properties.get(property)?.value;
    return value?.type === 'part' ? value.part : undefined;
  };
  const [plug, outlet] = [partOf('plug'), partOf('outlet')];
  const isPlug = !isConnection(instance) || outlet !== undefined;
  return [
    ...(plug
      ? [{ instance, part: plug, property: 'plug' as const, ...(isPlug ? { side: 'plug' as const } : {}) }]
      : []),
    ...(outlet ? [{ instance, part: outlet, property: 'outlet' as const, side: 'outlet' as const }] : []),
  ];
}

/** Whether two parts are one configuration: the same part, or one that is the other under a second name. */
const isSame = (one: Part, other: Part): boolean =>
  one === other ||
  (one.properties.size === other.properties.size &&
    [...one.properties].every(([name, { value }]) => other.properties.get(name)?.value === value));

/** Whether one goes into the other. Where it is not said which of them is the plug, either may be. */
function mates(one: Contact, other: Contact): boolean {
  const goesInto = (plug: Contact, receptacle: Contact): boolean =>
    plug.side !== 'outlet' &&
    receptacle.side !== 'plug' &&
    (MATES[plug.part.name]?.includes(receptacle.part.name) ?? false);
  return isSame(one.part, other.part) || goesInto(one, other) || goesInto(other, one);
}

function* judgePlugs(run: Run): Generator<Verdict> {
  const contacts = [run.from, ...run.through, ...run.to].flatMap(({ instance }) => contactsOf(instance));
  for (let index = 1; index < contacts.length; index += 1) {
    const [a, b] = [contacts[index - 1]!, contacts[index]!];
    if (a.instance === b.instance || mates(a, b)) continue;
    yield {
      verdict: 'failed',
      subject: run.path,
      place: placeOf(b.instance, b.property),
      headline: `In ${run.name}, ${a.part.name} of ${a.instance.name} does not mate with ${b.part.name} of ${b.instance.name}`,
      why: 'an adapter does not raise what the smaller one carries',
      advice: `Write an adapter as a receptacle between them: \`receptacle Adapter { plug: ${a.part.name}   outlet: ${b.part.name} }\`.`,
      use: NO_LIMIT,
      related: [{ place: placeOf(a.instance, a.property), text: `${a.instance.name} has ${a.part.name}` }],
    };
  }
}

export const unlikeTerminals: Check = defineCheck({
  id: 'unlike-terminals',
  group: 'text',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A run joins things that do not go together: alternating to direct current, voltages, phases or frequencies that do not meet, plugs that do not mate.',
    guards: 'Equipment that is destroyed when it is switched on, or that never runs.',
    how: 'The terminals a run joins must carry the same kind of current. For every supply that can reach a consumer, phases, nominal voltage with tolerance, and frequency are held against what the consumer accepts. Plug configurations that meet in a run must be the same (or known to mate); an adapter is a receptacle with the `plug` and the `outlet` it has. Bank voltage against chargers and inverters is judged by `bank-voltage`.',
    fix: 'Join terminals that go together: another terminal, another supply, a converter or transformer between them.',
    sources: [
      { standard: 'NEMA WD 6', provenance: 'published' },
      { standard: 'IEC 60309-2', provenance: 'published' },
    ],
    failing: `design Hut {
  grid Mains { voltage: 230 V   rating: 16 A }
  battery Bank : Lfp12V100Ah
  run Wrong: Mains -> Bank { size: 4 mm2   length: 5 m }
}
`,
    passing: `design Hut {
  grid Mains { voltage: 230 V   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 20 A   absorb: 14 V   efficiency: 90 %   powerFactor: 0.98 }
  battery Bank : Lfp12V100Ah
  run In: Mains -> Rect.ac { size: 4 mm2   length: 5 m }
  run Out: Rect.dc -> Bank { size: 16 mm2   length: 1 m }
}
`,
  },
  judge: function* (context) {
    for (const run of context.system.runs) {
      yield* judgeKinds(run);
      yield* judgePlugs(run);
    }
    const told = new Set<string>();
    for (const { consumer, source } of supplies(context)) {
      const fault = windowFault(consumer, source, context);
      if (!fault) yield passed(consumer, NO_LIMIT);
      else if (!told.has(fault.headline)) {
        told.add(fault.headline);
        yield { verdict: 'failed', subject: consumer.path, ...fault };
      }
    }
  },
});
