import { type AnalysedDesign, type Instance, type Run, type Stop, isAgainst } from '@wattwright/language';
import type { CallHierarchyProvider } from 'langium/lsp';
import type { LangiumDocument } from 'langium';
import {
  type CallHierarchyIncomingCall,
  type CallHierarchyItem,
  type CallHierarchyOutgoingCall,
  type CallHierarchyPrepareParams,
  type Range,
  SymbolKind,
} from 'vscode-languageserver';
import { rangeOf } from '../convert/to-lsp.js';
import type { WattwrightServices } from '../workspace/analyses.js';
import { designOf, documentNamed, isThingNode, spotAt, thingOf } from './locate.js';

/** Power from one thing to the next along a run. */
interface Stretch {
  readonly from: Stop;
  readonly to: Stop;
  readonly run: Run;
}

/** What an item of the hierarchy carries, so that it can be found again. */
interface ItemData {
  readonly design: string;
  readonly thing: string;
}

/** The hierarchy of calls as the way of power: what feeds a thing, and what it feeds. */
export class PowerFlow implements CallHierarchyProvider {
  constructor(private readonly services: WattwrightServices) {}

  prepareCallHierarchy(
    document: LangiumDocument,
    { position }: CallHierarchyPrepareParams,
  ): CallHierarchyItem[] | undefined {
    const spot = spotAt(document, document.textDocument.offsetAt(position));
    const node =
      spot && [spot.node, ...this.services.references.References.findDeclarations(spot.leaf)].find(isThingNode);
    const design = node && designOf(this.services.analysis.Analyses.of(document), node);
    const thing = design && thingOf(design, node);
    if (!design || !thing) return undefined;
    if ('terminals' in thing) return [itemOf(thing, design)];
    // On a run: what it leads power from.
    const [first] = 'stops' in thing || thing.kind === 'run' ? stretchesOf(thing as Run, design) : [];
    return first && [itemOf(first.from.instance, design)];
  }

  incomingCalls({ item }: { readonly item: CallHierarchyItem }): CallHierarchyIncomingCall[] | undefined {
    return this.next(item, 'to', 'from')?.map(({ other, ranges }) => ({ from: other, fromRanges: ranges }));
  }

  outgoingCalls({ item }: { readonly item: CallHierarchyItem }): CallHierarchyOutgoingCall[] | undefined {
    return this.next(item, 'from', 'to')?.map(({ other, ranges }) => ({ to: other, fromRanges: ranges }));
  }

  /** The things at the far ends of stretches that a thing is at, with the places in the runs that say so. */
  private next(
    { uri, data }: CallHierarchyItem,
    own: 'from' | 'to',
    far: 'from' | 'to',
  ): { readonly other: CallHierarchyItem; readonly ranges: Range[] }[] | undefined {
    const { design: name, thing } = (data ?? {}) as Partial<ItemData>;
    const document = documentNamed(this.services.shared, uri);
    const designs = document && this.services.analysis.Analyses.of(document)?.designs;
    const design = designs?.find(({ system }) => keyOf(system) === name);
    if (!design) return undefined;
    const found = new Map<Instance, Range[]>();
    for (const stretch of design.system.runs.flatMap((run) => stretchesOf(run, design))) {
      if (stretch[own].instance.name !== thing) continue;
      const { instance } = stretch[far];
      const ranges = found.get(instance) ?? [];
      found.set(instance, ranges);
      ranges.push(rangeOf(stretch[own].place));
    }
    return [...found].map(([instance, ranges]) => ({ other: itemOf(instance, design), ranges }));
  }
}

const keyOf = ({ name, variant }: AnalysedDesign['system']): string => variant ?? name;

/** A run as stretches between neighbouring stops, in the direction in which power mostly goes. */
function stretchesOf(run: Run, { context }: AnalysedDesign): Stretch[] {
  const near = [run.from, ...run.through];
  const last = near.at(-1)!;
  const written = [
    ...near.slice(1).map((stop, index) => ({ from: near[index]!, to: stop, run })),
    ...run.to.map((stop) => ({ from: last, to: stop, run })),
  ];
  const { graph } = context;
  if (
    !isAgainst(
      graph.nodeOf(run.from),
      run.to.map((stop) => graph.nodeOf(stop)),
    )
  )
    return written;
  return written.map(({ from, to }) => ({ from: to, to: from, run }));
}

function itemOf(instance: Instance, { system }: AnalysedDesign): CallHierarchyItem {
  return {
    name: instance.name,
    kind: SymbolKind.Object,
    detail: [instance.kind, instance.label].filter(Boolean).join(' · '),
    uri: instance.place.uri,
    range: rangeOf(instance.whole),
    selectionRange: rangeOf(instance.place),
    data: { design: keyOf(system), thing: instance.name } satisfies ItemData,
  };
}
