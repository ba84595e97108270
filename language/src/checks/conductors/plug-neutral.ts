import { firstFew } from '../text/wording.js';
import type { DesignContext } from '../../model/context.js';
import type { CircuitState, SourceState } from '../../model/network.js';
import type { Instance, Part, Run } from '../../model/types.js';
import { acFlow } from '../../quantities/flow/flow.js';
import { connect, missingFrom, systemOf } from '../../quantities/supply/supply.js';
import { defineCheck, type Fix, type Verdict, NO_LIMIT } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { passed, placeOf, whyOf } from '../verdicts.js';
import { PUBLISHED } from './shared.js';
import { wordIn } from '../../model/stated-facts.js';
import { isAcCharger, isConnection, isLoad, isPlainCharger, takesToCharge } from '../../model/roles.js';

/** A plug or receptacle in the path of a run. */
interface Contact {
  readonly owner: Instance;
  readonly property: 'outlet' | 'plug';
  readonly part: Part;
}

function contactsOf(run: Run): Contact[] {
  return [run.from, ...run.through, ...run.to].flatMap(({ instance: owner }) =>
    (['outlet', 'plug'] as const).flatMap((property): Contact[] => {
      const value = owner.properties.get(property)?.value;
      return value?.type === 'part' && value.part.kind === 'plug' ? [{ owner, property, part: value.part }] : [];
    }),
  );
}

const hasNeutral = (part: Part): boolean | undefined => {
  const value = part.properties.get('neutral')?.value;
  return value?.type === 'flag' ? value.flag : undefined;
};

const isStated = (part: Part, contact: 'neutral' | 'earth' | 'locking'): boolean => {
  const value = part.properties.get(contact)?.value;
  return value?.type === 'flag' && value.flag;
};

/** Lines of a plug besides its neutral; undefined where it does not say. */
function linesOf(part: Part): number | undefined {
  const phases = wordIn(part.properties, 'phases');
  if (phases === 'three') return 3;
  if (phases === 'split') return 2;
  const neutral = hasNeutral(part);
  return phases === 'single' && neutral !== undefined ? (neutral ? 1 : 2) : undefined;
}

const numberOf = (part: Part, property: string): number => {
  const value = part.properties.get(property)?.value;
  return value?.type === 'quantity' ? value.quantity.value : 0;
};

/** What the consumers behind a contact need of it. */
interface Need {
  /** Consumers between a line and neutral. */
  readonly neutral: readonly Instance[];
  /** Consumers between lines, and how many lines there are. */
  readonly across: readonly Instance[];
  readonly lines: number;
}

function needBehind(contact: Contact, run: Run, circuit: CircuitState, context: DesignContext): Map<Instance, Need> {
  const needs = new Map<Instance, Need>();
  const flow = acFlow(run, circuit, context);
  for (const source of flow?.sources ?? []) {
    const system = systemOf(source);
    // With one phase every plug of the right voltage has both conductors.
    if (
      !system ||
      system.phases === 'single' ||
      (contact.property === 'outlet' && contact.owner !== source && !isConnection(contact.owner))
    )
      continue;
    const neutral: Instance[] = [];
    const across: Instance[] = [];
    let lines = 1;
    for (const node of flow!.nodes.values()) {
      const { instance } = node;
      // The plug of a charger carries that charger alone.
      if (contact.property === 'plug' && !isConnection(contact.owner) && contact.owner !== instance) continue;
      if (!isLoad(instance) && !takesToCharge(node)) continue;
      const connection = connect(instance, system, context);
      if (missingFrom(connection)) continue;
      if (connection.legs.length === 1) neutral.push(instance);
      else {
        across.push(instance);
        lines = Math.max(lines, connection.legs.length);
      }
    }
    needs.set(source, { neutral, across, lines });
  }
  return needs;
}

/** Plugs with an earth contact, of the same practice and at least the same rating, that have what is needed, the nearest first. */
function matching({ part }: Contact, lines: number, context: DesignContext): Part | undefined {
  const practices = (each: Part): readonly string[] => {
    const value = each.properties.get('basis')?.value;
    return value?.type === 'words' ? value.words : [];
  };
  const isLocking = (each: Part): boolean => isStated(each, 'locking');
  return [...context.parts('plug')]
    .filter(
      (each) =>
        linesOf(each) === lines &&
        isStated(each, 'neutral') &&
        // Old plugs with a neutral and no earth are not for new work.
        isStated(each, 'earth') &&
        practices(each).some((practice) => practices(part).includes(practice)) &&
        numberOf(each, 'rating') >= numberOf(part, 'rating'),
    )
    .sort(
      (a, b) =>
        numberOf(a, 'rating') - numberOf(b, 'rating') ||
        Number(isLocking(a) !== isLocking(part)) - Number(isLocking(b) !== isLocking(part)) ||
        (a.name < b.name ? -1 : 1),
    )[0];
}

/** All plugs of the run are changed together, so that they still mate; the plug of a charger is what it is. */
function fixesFor(run: Run, contact: Contact, lines: number, context: DesignContext): Fix[] {
  const contacts = contactsOf(run);
  const part = matching(contact, lines, context);
  if (!part || contacts.some(({ owner }) => isAcCharger(owner))) return [];
  const names = contacts.map(({ owner }) => owner.name).join(' and ');
  return [
    propose(
      `Use ${part.name} for ${names}`,
      contacts.map(({ owner, property }) => setProperty(owner, property, part.name)),
      true,
    ),
  ];
}

function judgeContact(
  run: Run,
  contact: Contact,
  source: Instance,
  { neutral, across, lines }: Need,
  state: SourceState,
  context: DesignContext,
): Verdict | undefined {
  const { owner, part, property } = contact;
  const own = linesOf(part);
  if (own === undefined) return undefined;
  const { lineToNeutral, lineToLine, phases } = systemOf(source)!;
  const isWithout = neutral.length > 0 && hasNeutral(part) === false;
  const isShort = across.length > 0 && own < lines;
  if (!isWithout && !isShort) return neutral.length + across.length > 0 ? passed(owner, NO_LIMIT) : undefined;
  const fixes = fixesFor(run, contact, phases === 'three' ? 3 : 2, context);
  const [needing, volts] = isWithout ? [neutral, lineToNeutral] : [across, lineToLine];
  const who = firstFew(
    needing.map(({ name }) => name),
    2,
  );
  return {
    verdict: 'failed',
    subject: owner.path,
    place: placeOf(owner, property),
    headline: `${who} ${needing.length > 1 ? 'need' : 'needs'} ${volts} V; ${part.name} of ${owner.name} has ${isWithout ? 'no neutral' : own === 1 ? 'one line' : `${own} lines`}`,
    ...whyOf(
      isWithout ? 'between a line and neutral' : 'between lines; an adapter does not make a second line',
      context.states.length > 1 && `with ${state.title}`,
    ),
    consequence: isWithout ? 'the earth conductor would carry the return current, or nothing runs' : 'they do not run',
    advice: `Use a plug with the lines and the neutral that are needed, or feed ${who} another way.`,
    use: NO_LIMIT,
    related: (isWithout ? neutral : across).map((each) => ({
      place: each.place,
      text: `${each.name} is fed through it`,
    })),
    fixes,
  };
}

/** Consumers on legs that a source does not have connected. */
function* judgeLegs(
  source: Instance,
  state: SourceState,
  circuit: CircuitState,
  context: DesignContext,
): Generator<Verdict> {
  const value = source.properties.get('legs')?.value;
  const system = systemOf(source);
  if (value?.type !== 'words' || !system || system.phases === 'single') return;
  for (const [key, feeders] of circuit.supply) {
    const instance = feeders.has(source) ? context.graph.nodes.get(key)?.instance : undefined;
    if (!instance || (!isLoad(instance) && !isPlainCharger(instance))) continue;
    const connection = connect(instance, system, context);
    if (missingFrom(connection)) continue;
    const dead = connection.legs.filter((leg) => !value.words.includes(leg));
    if (dead.length === 0) yield passed(instance, NO_LIMIT);
    else
      yield {
        verdict: 'failed',
        subject: instance.path,
        place: placeOf(instance, instance.properties.has('legs') ? 'legs' : 'voltage'),
        headline: `${instance.name} needs ${connection.legs.join(' and ')}; ${source.name} has ${value.words.join(' and ')} connected`,
        why: `with ${state.title}`,
        consequence: 'it does not run on half its supply',
        advice: `Connect ${dead.join(' and ')}, or feed it from what there is.`,
        use: NO_LIMIT,
        related: [{ place: placeOf(source, 'legs'), text: `legs of ${source.name}` }],
      };
  }
}

export const plugNeutral = defineCheck({
  id: 'plug-neutral',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A load between line and neutral is fed through a plug without neutral, or a load between lines through one line.',
    guards: 'Return current on the earth conductor, adapters that make up a neutral, and 240 V gear that never runs.',
    how: 'For every source state and every plug, receptacle or outlet in a run of a split-phase or three-phase supply, the consumers behind it are looked at as they stand on the supply (by their legs, voltage or input window): between a line and neutral they need a neutral contact, between lines as many lines. Legs that a source says are connected are held against those its consumers need. The fix is the plug of the same practice and rating with the contacts needed, for all plugs of the run. Voltages that do not meet at all are reported by `unlike-terminals`.',
    fix: 'Use a plug with a neutral or with both lines, or feed the load from another outlet.',
    sources: [PUBLISHED('NEMA WD 6'), PUBLISHED('IEC 60309-2')],
    failing: `design Camp {
  generator Genset { rated: 7 kW   voltage: 120/240 V   outlet: L6-30   neutralBond: bonded }
  bus Panel { rating: 30 A }
  load Lights { power: 500 W   voltage: 120 V   legs: L1 }
  run Cord: Genset -> Panel { size: 10 AWG   type: SOOW   length: 10 m }
  run Line: Panel -> Lights { size: 12 AWG   length: 10 m }
}
`,
    passing: `design Camp {
  generator Genset { rated: 7 kW   voltage: 120/240 V   outlet: L14-30   neutralBond: bonded }
  bus Panel { rating: 30 A }
  load Lights { power: 500 W   voltage: 120 V   legs: L1 }
  run Cord: Genset -> Panel { size: 10 AWG   type: SOOW   length: 10 m }
  run Line: Panel -> Lights { size: 12 AWG   length: 10 m }
}
`,
  },
  judge: function* (context) {
    const told = new Set<string>();
    const first = (verdict: Verdict | undefined): verdict is Verdict => {
      if (!verdict || (verdict.verdict === 'failed' && told.has(verdict.subject))) return false;
      if (verdict.verdict === 'failed') told.add(verdict.subject);
      return true;
    };
    for (const { state, circuit } of context.circuitStates) {
      for (const run of context.system.runs) {
        if (run.carries !== 'ac') continue;
        for (const contact of contactsOf(run))
          for (const [source, need] of needBehind(contact, run, circuit, context)) {
            const verdict = judgeContact(run, contact, source, need, state, context);
            if (first(verdict)) yield verdict;
          }
      }
      for (const source of context.system.instances)
        if (source.properties.has('legs'))
          for (const verdict of judgeLegs(source, state, circuit, context)) if (first(verdict)) yield verdict;
    }
  },
});
