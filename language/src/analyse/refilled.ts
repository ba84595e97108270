import { AstUtils, type LangiumDocument } from 'langium';
import type { Place } from '../derivation/index.js';
import { propertyOf } from '../equipment/index.js';
import {
  type Path,
  isAccept,
  isCall,
  isInitialValue,
  isLet,
  isOverride,
  isPath,
  isReading,
  isRequire,
  isRule,
} from '../grammar/generated/ast.js';
import type { DesignContext } from '../model/context.js';
import { type LoweredFile, lowerFile } from '../model/lower/lower.js';
import type { Instance, Property, Run, System } from '../model/types.js';
import { NONE_WATCHED, Watch, type Watched, WatchedProperties, watchedBit } from '../model/watch.js';
import type { LanguageServices } from '../syntax/module.js';
import { type Judged, type Keeper, judgeAgain } from './analyse.js';
import { wordProblems } from './findings.js';
import { type AnalyseOptions, loweringServices } from './surroundings.js';
import type { Analysis, Finding } from './types.js';

/** A property of a thing or run that a text leaves open. */
export interface OpenProperty {
  readonly thing: string;
  readonly property: string;
  /** Where its `?` stands. */
  readonly place: Place;
}

/** A thing of one system whose property is open. */
interface Owner {
  readonly thing: Instance | Run;
  readonly properties: WatchedProperties;
}

interface Opened {
  readonly bit: Watched;
  readonly open: OpenProperty;
  readonly owners: readonly Owner[];
  /** The value it has now; undefined while it is open. */
  text: string | undefined;
}

/**
 * A text with open properties that is judged with one value after the other in them, without being read again: what looked at none of the
 * values that changed is not worked out again. It says of its values what an analysis of the written text says.
 *
 * What it answers holds for the values that are in it at that time: whoever wants to ask the systems of an answer later analyses the text.
 */
export class Refilled {
  private readonly watch = new Watch();
  private readonly lowered: LoweredFile;
  private readonly read: readonly Finding[];
  private readonly opened: readonly Opened[];
  private readonly contexts = new Map<System, { readonly context: DesignContext; readonly seen: Watched }>();
  private readonly judgements = new Map<System, Map<string, Judged>>();

  private readonly keeper: Keeper = {
    contextOf: (system, make) => {
      const kept = this.contexts.get(system);
      if (kept) return kept.context;
      const { made, seen } = this.watch.during(() => make(this.watch));
      this.contexts.set(system, { context: made, seen });
      return made;
    },
    judged: (system, check, make) => {
      let own = this.judgements.get(system);
      if (!own) this.judgements.set(system, (own = new Map()));
      return this.watch.once(own, check, make);
    },
  };

  /** Only what `isPlain` says of can be among `open`. */
  constructor(
    document: LangiumDocument,
    services: LanguageServices,
    open: readonly OpenProperty[],
    private readonly options: AnalyseOptions,
    /** The value that a text stands for; undefined where it cannot stand there. */
    private readonly valueOf: (thing: Instance | Run, property: string, text: string) => Property | undefined,
  ) {
    this.lowered = lowerFile(document, loweringServices(document, services, options));
    this.read = wordProblems(this.lowered.problems);
    const watched = new Map<Instance | Run, WatchedProperties>();
    const propertiesOf = (thing: Instance | Run): WatchedProperties => {
      let properties = watched.get(thing);
      if (!properties) watched.set(thing, (properties = new WatchedProperties(thing.properties, this.watch)));
      // The systems have just been read and nobody else knows them.
      (thing as { properties: ReadonlyMap<string, Property> }).properties = properties;
      return properties;
    };
    this.opened = open.map((each, index) => {
      const bit = watchedBit(index);
      const owners = this.lowered.designs.flatMap(({ system }) =>
        [...system.instances, ...system.runs]
          .filter(
            (thing) =>
              !thing.properties.has(each.property) &&
              thing.holes.some((hole) => hole.property === each.property && isAt(hole.place, each.place)),
          )
          .map((thing): Owner => ({ thing, properties: propertiesOf(thing) })),
      );
      for (const { properties } of owners) properties.follow(each.property, bit);
      return { bit, open: each, owners, text: undefined };
    });
  }

  /**
   * What is said with these texts in place of what is open, in its order; only of the checks that are asked. Undefined where one of them
   * cannot stand there.
   */
  judged(texts: readonly (string | undefined)[], isAsked?: (check: string) => boolean): Analysis | undefined {
    if (!this.fill(texts)) return undefined;
    return judgeAgain(
      this.lowered,
      this.read,
      isAsked ? { ...this.options, checks: isAsked } : this.options,
      this.keeper,
    );
  }

  /** Puts the values in; false, and nothing is changed, where one of them cannot stand there. */
  private fill(texts: readonly (string | undefined)[]): boolean {
    const changes = this.opened.flatMap((each, index) =>
      each.text === texts[index] ? [] : [{ each, text: texts[index], values: this.valuesFor(each, texts[index]) }],
    );
    if (changes.some(({ values }) => values === undefined)) return false;
    let changed = NONE_WATCHED;
    for (const { each, text, values } of changes) {
      each.owners.forEach(({ properties }, index) => properties.put(each.open.property, values![index]));
      each.text = text;
      changed |= each.bit;
    }
    this.watch.forget(changed);
    for (const [system, { seen }] of this.contexts)
      if ((seen & changed) !== 0) {
        this.contexts.delete(system);
        this.judgements.delete(system);
      }
    return true;
  }

  /** The value of each owner; undefined where the text cannot stand there. */
  private valuesFor(
    { open: { property, place }, owners }: Opened,
    text: string | undefined,
  ): readonly (Property | undefined)[] | undefined {
    if (text === undefined) return owners.map(() => undefined);
    const values = owners.flatMap(({ thing }) => {
      const value = this.valueOf(thing, property, text);
      return value ? [{ ...value, place, whole: place }] : [];
    });
    return values.length === owners.length ? values : undefined;
  }
}

const isAt = (one: Place, other: Place): boolean =>
  one.uri === other.uri && one.offset === other.offset && one.end === other.end;

/**
 * Whether a value that goes into an open property changes that property alone: no `let`, rule, scenario or value of another thing rests on
 * what it is of, which would have to be read again.
 */
export function isPlain(
  { thing, property }: Omit<OpenProperty, 'place'>,
  kind: string,
  document: LangiumDocument,
): boolean {
  const definition = propertyOf(kind, property);
  if (definition?.type.type !== 'quantity' || !definition.seek) return false;
  return AstUtils.streamAst(document.parseResult.value)
    .filter(isPath)
    .filter(({ root }) => root?.$refText === thing)
    .every(isReadLater);
}

/** Whether what a path leads to is looked at only when a design is judged, or only as a thing. */
function isReadLater(path: Path): boolean {
  const { $container: owner } = path;
  if ((isOverride(owner) || isReading(owner)) && owner.subject === path) return true;
  if (AstUtils.getContainerOfType(path, isRequire) || AstUtils.getContainerOfType(path, isAccept)) return true;
  const isName = (path.steps ?? []).length === 0;
  const isSignal = AstUtils.getContainerOfType(path, isCall) !== undefined;
  const isTimed =
    AstUtils.getContainerOfType(path, isRule) !== undefined ||
    AstUtils.getContainerOfType(path, isInitialValue) !== undefined;
  return isName && isSignal && isTimed && !AstUtils.getContainerOfType(path, isLet);
}
