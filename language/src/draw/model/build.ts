import type { Analysis, AnalysedDesign } from '../../analyse/types.js';
import { neutralRegions } from '../../checks/conductors/neutral.js';
import { CAUTION_SHORT } from '../../explain/cautions.js';
import type { DesignContext } from '../../model/context.js';
import type { Node, Segment } from '../../model/graph.js';
import { flagIn, wordIn } from '../../model/stated-facts.js';
import type { Instance, Run, System } from '../../model/types.js';
import { liveNodesIn, runFlowsIn } from '../../quantities/flow/flows-in-state.js';
import { bondingOf, isJoint } from '../../model/roles.js';
import { mannerOf, symbolOf } from '../symbols/choose.js';
import { isAgainst } from './direction.js';
import type {
  DrawnFlow,
  DrawnLink,
  DrawnRun,
  DrawnState,
  DrawnStretch,
  DrawnSymbol,
  Drawing,
  Mark,
  Port,
} from './drawing.js';
import { marksOf, notesOf } from './findings.js';
import { currentSpan, derivedSpan, inLines, linkLines, nameLine, plainText, ratingSpans, runLines } from './ratings.js';

/** Characters of a line of ratings above a symbol, and beside one. */
const RATINGS_WIDTH = 16;

/** Makes the drawing of one design as data. */
export function buildDrawing(analysis: Analysis, { system, context }: AnalysedDesign): Drawing {
  const marks = marksOf(analysis, system);
  const ports = new Ports();
  const stretches = system.runs.flatMap((run) => stretchesOf(run, context, ports, marks));
  const links = system.links.map((link): DrawnLink => ({
    id: link.name,
    from: ports.below(link.from),
    to: ports.below(link.to),
    label: linkLines(link),
    marks: marks.get(link.name) ?? [],
    place: link.place,
  }));
  return {
    design: system.name,
    title: titleOf(system),
    ...(system.variantOf && system.variant ? { variantOf: system.variantOf } : {}),
    basis: basisOf(system),
    ...statedTexts(system),
    manner: mannerOf(system.basis.practice),
    symbols: system.instances.map((instance) => symbol(instance, context, ports, marks)),
    stretches,
    runs: system.runs.map((run): DrawnRun => ({
      id: run.name,
      carries: run.carries,
      description: describedRun(run, context),
    })),
    links,
    states: context.circuitStates.map(({ state }) => drawnState(state.id, context)),
    notes: notesOf(analysis, system),
    caution: CAUTION_SHORT,
  };
}

/** Who made and checked it, and its revision, where the design says so. */
const statedTexts = ({ settings }: System): Partial<Pick<Drawing, 'author' | 'checkedBy' | 'revision'>> =>
  Object.fromEntries(
    ['author', 'checkedBy', 'revision'].flatMap((name) => {
      const value = settings.get(name)?.value;
      return value?.type === 'text' ? [[name, value.text]] : [];
    }),
  );

/** So much of a title is shown in heads and captions; the summary has all of it. */
const LONGEST_TITLE = 120;

/** What a design is called at the head of what is printed of it, cut at a word where it is very long. */
export function titleOf({ label, name }: System): string {
  const whole = label ?? name;
  if (whole.length <= LONGEST_TITLE) return whole;
  const start = whole.slice(0, LONGEST_TITLE);
  const end = start.lastIndexOf(' ');
  return `${(end > LONGEST_TITLE / 2 ? start.slice(0, end) : start).trimEnd()}…`;
}

export const basisOf = ({ basis: { practice, edition } }: System): string =>
  [PRACTICES[practice], edition].filter(Boolean).join(' ');

const PRACTICES = { nec: 'NEC', iec: 'IEC 60364', craft: 'small-craft practice' } as const;

type Marks = ReadonlyMap<string, readonly Mark[]>;

/** The ports of every thing, as lines ask for them. */
class Ports {
  private readonly of = new Map<Instance, Map<string, Port>>();

  /** Lines at a bus have a port each; elsewhere those of a side and a terminal share one. */
  at({ instance, key }: Node, side: 'left' | 'right', line: string, carries: Run['carries']): string {
    const id = isJoint(instance) ? `${key} ${side} ${line}` : `${key} ${side}`;
    return this.add(instance, { id, side, node: key, carries });
  }

  below(instance: Instance): string {
    return this.add(instance, { id: `${instance.name} below`, side: 'below', node: '', carries: 'any' });
  }

  all(instance: Instance): readonly Port[] {
    return [...(this.of.get(instance)?.values() ?? [])];
  }

  private add(instance: Instance, port: Port): string {
    const own = this.of.get(instance) ?? new Map<string, Port>();
    this.of.set(instance, own);
    if (!own.has(port.id)) own.set(port.id, port);
    return port.id;
  }
}

function stretchesOf(run: Run, context: DesignContext, ports: Ports, marks: Marks): DrawnStretch[] {
  const { graph } = context;
  const segments = graph.segmentsOf(run);
  const from = graph.nodeOf(run.from);
  const isReversed = isAgainst(
    from,
    run.to.map((stop) => graph.nodeOf(stop)),
  );
  // The long stretch is the one that leads to the far end: devices sit at the beginning.
  const labelled = Math.max(0, segments.length - run.to.length);
  return segments.map((segment: Segment, index): DrawnStretch => {
    const id = `${run.name} ${index + 1}`;
    const [start, end] = isReversed ? [segment.to, segment.from] : [segment.from, segment.to];
    return {
      id,
      run: run.name,
      from: ports.at(start, 'right', id, run.carries),
      to: ports.at(end, 'left', id, run.carries),
      carries: run.carries,
      isReversed,
      ...(index === labelled ? { label: runLines(run, context) } : {}),
      marks: index === labelled ? (marks.get(run.name) ?? []) : [],
      place: run.place,
    };
  });
}

function symbol(instance: Instance, context: DesignContext, ports: Ports, marks: Marks): DrawnSymbol {
  const own = ports.all(instance);
  const isEnd = !own.some(({ side }) => side === 'right');
  const label = [...nameLine(instance), ...inLines(ratingSpans(instance, context), RATINGS_WIDTH)];
  return {
    id: instance.name,
    symbol: symbolOf(instance, isEnd),
    label,
    marks: marks.get(instance.name) ?? [],
    ports: own,
    canBond: canBond(instance),
    place: instance.place,
    description: plainText(label),
  };
}

/** Whether a thing says that it joins neutral and earth, always or while it feeds. */
function canBond(instance: Instance): boolean {
  const bonds = bondingOf(instance);
  if (!bonds) return false;
  const word = wordIn(instance.properties, bonds.word);
  return (word === 'bonded' || word === 'switched') && flagIn(instance.properties, bonds.word) === undefined;
}

function describedRun(run: Run, context: DesignContext): string {
  const stops = [run.from, ...run.through, ...run.to].map(({ instance }) => instance.name).join(' to ');
  return `${plainText(runLines(run, context))}: ${stops}`;
}

function drawnState(id: string, context: DesignContext): DrawnState {
  const each = context.circuitStates.find(({ state }) => state.id === id)!;
  const flows = context.system.runs.flatMap((run) =>
    runFlowsIn(run, each, context).map(({ towards, current, power }): DrawnFlow => {
      const texts = [
        ...(current.kind === 'known' ? [currentSpan(current.derivation).text] : []),
        ...(power.kind === 'known' ? [derivedSpan(power.derivation).text] : []),
      ];
      return { run: run.name, towards, text: texts.join('  ') || 'not worked out' };
    }),
  );
  return {
    id,
    title: each.state.title,
    live: [...liveNodesIn(each, context)],
    flows,
    bonds: [...new Set(neutralRegions(each.circuit, context).flatMap(({ bonds }) => bonds.map(({ name }) => name)))],
  };
}
