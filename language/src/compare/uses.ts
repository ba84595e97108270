import type { AnalysedDesign, Pass } from '../analyse/types.js';
import type { Derivation } from '../derivation/index.js';
import type { QuantityName } from '../model/quantity-names.js';
import type { Instance, Thing } from '../model/types.js';
import type { Use } from './types.js';

/** How the numbers of a check say how much of a limit is in use: what is needed over what is there. */
interface Measure {
  /** Name among the numbers of the verdict, or the quantity of its thing where the verdict does not carry it. */
  readonly demand: string | { readonly quantity: QuantityName };
  readonly capacity: string;
  readonly label: string;
  /** Whether both are shares, shown in percent. */
  readonly isShare?: true;
  /** Whether it is a choice among ratings rather than a load: told where it fails, and no margin. */
  readonly isChoice?: true;
}

/**
 * The numbers by which checks say how much is in hand. Only what is a load on a limit stands here: a setting that stays within what may
 * be set is a choice, no load. Several rows of a check are tried in turn; all whose numbers are there count.
 */
const MEASURES: Readonly<Record<string, readonly Measure[]>> = {
  'run-ampacity': [{ demand: 'current', capacity: 'ampacity', label: 'ampacity' }],
  'terminal-temperature': [
    { demand: 'required', capacity: 'limit', label: 'ampacity' },
    { demand: { quantity: 'requiredAmpacity' }, capacity: 'ampacity', label: 'ampacity' },
  ],
  'run-protection': [{ demand: 'rating', capacity: 'limit', label: 'protection', isChoice: true }],
  'protection-continuous': [{ demand: 'needed', capacity: 'rating', label: 'rating' }],
  'protection-coordination': [{ demand: 'current', capacity: 'rating', label: 'rating' }],
  'voltage-drop': [{ demand: 'share', capacity: 'limit', label: 'voltage drop', isShare: true }],
  'interrupt-rating': [{ demand: 'current', capacity: 'limit', label: 'interrupting rating' }],
  'plug-continuous': [{ demand: 'current', capacity: 'limit', label: 'plug' }],
  'conductor-fault-heat': [{ demand: 'fault', capacity: 'limit', label: 'short-circuit withstand' }],
  'fault-too-small': [{ demand: 'needed', capacity: 'fault', label: 'fault clearing' }],
  'bus-rating': [{ demand: 'current', capacity: 'limit', label: 'rating' }],
  'switch-rating': [{ demand: 'current', capacity: 'limit', label: 'rating' }],
  'generator-overload': [
    { demand: 'activeDemand', capacity: 'activeLimit', label: 'usable power' },
    { demand: 'apparentDemand', capacity: 'apparentLimit', label: 'apparent power' },
    { demand: 'legDemand', capacity: 'legLimit', label: 'leg current' },
  ],
  'generator-fuel': [{ demand: 'planned', capacity: 'lasts', label: 'tank' }],
  'charger-input': [{ demand: 'current', capacity: 'limit', label: 'input' }],
  'charge-current': [{ demand: 'current', capacity: 'limit', label: 'charge current' }],
  'inverter-surge': [{ demand: 'demand', capacity: 'limit', label: 'power' }],
  'inverter-idle': [{ demand: 'idle', capacity: 'limit', label: 'idle energy' }],
  'inverter-bank-current': [{ demand: 'current', capacity: 'limit', label: 'discharge current' }],
  'cold-string-voltage': [{ demand: 'voltage', capacity: 'limit', label: 'cold voltage' }],
  'string-current': [{ demand: 'current', capacity: 'limit', label: 'array current' }],
  'array-current': [{ demand: 'current', capacity: 'limit', label: 'array current' }],
  'shore-limit': [{ demand: 'demand', capacity: 'limit', label: 'supply' }],
  'discharge-rate': [{ demand: 'current', capacity: 'limit', label: 'discharge current' }],
};

/** What a verdict says: the part of findings and passes that margins are read from. */
export type Judged = Pick<Pass, 'check' | 'subject' | 'numbers'>;

/** The single place that knows how the numbers of a verdict say how much of a limit is in use. */
export function usesOf(judged: Judged, { system, context }: AnalysedDesign): Use[] {
  const name = nameIn(judged.subject, system.name);
  const things: readonly Thing[] = [...system.instances, ...system.runs, ...system.links, ...system.controls];
  const thing = things.find((each) => each.name === name.split('.')[0]);
  const numberOf = (of: Measure['demand']): Derivation | undefined => {
    if (typeof of === 'string') return judged.numbers[of];
    const result = thing && context.quantity(thing, of.quantity);
    return result?.kind === 'known' ? result.derivation : undefined;
  };
  return (MEASURES[judged.check] ?? []).flatMap(({ demand, capacity, label, isShare, isChoice }): Use[] => {
    const [needed, there] = [numberOf(demand), numberOf(capacity)];
    if (!needed || !there) return [];
    const use = shareOf(needed, there);
    if (use === undefined) return [];
    const owner = ownerOf(there, thing);
    return [
      {
        check: judged.check,
        thing: owner?.name ?? thing?.name ?? system.name,
        label,
        demand: needed,
        capacity: there,
        use,
        ...(isShare ? { isShare } : {}),
        ...(isChoice ? { isChoice } : {}),
        ...((owner ?? thing) ? { place: (owner ?? thing)!.place } : {}),
      },
    ];
  });
}

/** The name of a thing without that of its design; the design's own name for the whole. */
export const nameIn = (subject: string, design: string): string =>
  subject === design ? design : subject.startsWith(`${design}.`) ? subject.slice(design.length + 1) : subject;

function shareOf(demand: Derivation, capacity: Derivation): number | undefined {
  if (typeof demand.value !== 'object' || typeof capacity.value !== 'object') return undefined;
  if (demand.value.dimension !== capacity.value.dimension || demand.value.dimension.point) return undefined;
  const share = demand.value.value / capacity.value.value;
  return Number.isFinite(share) && share >= 0 ? share : undefined;
}

/** The device whose rating a limit is, where that is another thing than the one that was judged: a fuse in a run. */
function ownerOf(capacity: Derivation, judged: Thing | undefined): Instance | undefined {
  const { place, fact } = capacity;
  if (!place || fact === undefined || judged?.kind !== 'run') return undefined;
  const gear = [judged.from, ...judged.through, ...judged.to].map(({ instance }) => instance);
  return gear.find((instance) => {
    const own = instance.properties.get(fact)?.place;
    return own && own.uri === place.uri && own.offset === place.offset;
  });
}
