import type { AnalysedDesign, FindingKey } from '../analyse/types.js';
import type { Use as LimitUse } from '../checks/define.js';
import { type Derivation, reasonOf } from '../derivation/index.js';
import type { Instance, Thing } from '../model/types.js';
import type { LoadUse } from './types.js';

interface Load {
  /** What is held against what, in the trade's words. */
  readonly label: string;
  /** Whether both are shares, shown in percent. */
  readonly isShare?: true;
  /** Whether it is a choice among ratings rather than a load: told where it fails, and no margin. */
  readonly isChoice?: true;
}

/**
 * The checks whose limit is one that something loads. A setting that stays within what may be set is a choice and no load: how close it
 * stands to the end of its range says nothing of what is in hand.
 */
const LOADS: Readonly<Record<string, Load>> = {
  'run-ampacity': { label: 'ampacity' },
  'cord-ampacity': { label: 'ampacity', isChoice: true },
  'terminal-temperature': { label: 'ampacity' },
  'run-protection': { label: 'protection', isChoice: true },
  'protection-continuous': { label: 'rating' },
  'protection-coordination': { label: 'rating' },
  'voltage-drop': { label: 'voltage drop', isShare: true },
  'interrupt-rating': { label: 'interrupting rating' },
  'plug-continuous': { label: 'plug' },
  'conductor-fault-heat': { label: 'short-circuit withstand' },
  'short-circuit-withstand': { label: 'short-circuit withstand' },
  'fault-too-small': { label: 'fault clearing' },
  'fault-clearing': { label: 'fault clearing' },
  'bus-rating': { label: 'rating' },
  'switch-rating': { label: 'rating' },
  'gear-rating': { label: 'rating' },
  'generator-overload': { label: 'usable power' },
  'generator-starting': { label: 'motor starting' },
  'generator-fuel': { label: 'tank' },
  'machine-total': { label: 'machine power' },
  'leg-balance': { label: 'leg current' },
  'charger-input': { label: 'input' },
  'charge-current': { label: 'charge current' },
  'inverter-surge': { label: 'power' },
  'inverter-idle': { label: 'idle energy' },
  'inverter-bank-current': { label: 'discharge current' },
  'cold-string-voltage': { label: 'cold voltage' },
  'string-current': { label: 'array current' },
  'array-current': { label: 'array current' },
  'shore-limit': { label: 'supply' },
  'vehicle-outlet': { label: 'outlet' },
  'supply-setting': { label: 'supply' },
  'discharge-rate': { label: 'discharge current' },
  'voltage-collapse': { label: 'voltage' },
};

/** What a verdict says: the part of findings and of what passed that margins are read from. */
export type Judged = FindingKey & { readonly use?: LimitUse };

/** The single place that knows how a verdict says how much of a limit is in use. */
export function useOf(judged: Judged, { system }: AnalysedDesign): LoadUse | undefined {
  const load = LOADS[judged.check];
  if (!load || !judged.use) return undefined;
  const { value, limit, sense } = judged.use;
  const [demand, capacity] = sense === 'at-most' ? [value, limit] : [limit, value];
  const share = shareOf(demand, capacity);
  if (share === undefined) return undefined;
  const name = nameIn(judged.subject, system.name).split('.')[0];
  const things: readonly Thing[] = [...system.instances, ...system.runs, ...system.links, ...system.controls];
  const thing = things.find((each) => each.name === name);
  const owner = ownerOf(capacity, thing) ?? thing;
  return {
    check: judged.check,
    thing: owner?.name ?? system.name,
    ...load,
    demand,
    capacity,
    use: share,
    // What could be drawn at most by the rating of a device: the conductors are matched to it, they do not carry it.
    ...(reasonOf(demand, 'ratedOutput') ? { isChoice: true as const } : {}),
    ...(owner ? { place: owner.place } : {}),
  };
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
