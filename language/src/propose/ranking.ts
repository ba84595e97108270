import type { Analysis } from '../analyse/types.js';
import { numberIn } from '../derivation/index.js';
import { isDevice } from '../model/roles.js';
import { isFromMemory } from '../quantities/conductors/device-class.js';
import type { Property, Run, System, Thing } from '../model/types.js';

/**
 * What a change costs whoever builds it, the least first: words of the text, a setting, a device for another, a device more, conductors,
 * other equipment, conductors too large for the gear they end in. Common practice, no source.
 */
const TIERS = ['text', 'setting', 'device', 'more-devices', 'conductor', 'equipment', 'heavy-conductor'] as const;

export type Tier = (typeof TIERS)[number];

/** What a change makes of a design. */
export interface Change {
  readonly tier: Tier;
  /** Whether what is taken rests on values from memory. */
  readonly restsOnMemory: boolean;
  /** The largest growth of the conductors of a run, by their area together; 1 where none grows. */
  readonly growth: number;
}

/** Properties that are set on the thing that is there: no other one is needed. */
const SETTINGS: ReadonlySet<string> = new Set([
  'absorb',
  'float',
  'equalise',
  'temperatureCompensation',
  'currentLimit',
  'inputLimit',
  'cutOff',
  'reconnect',
  'onTime',
  'plannedRun',
  'lostLink',
  'remoteSense',
  'absorbTime',
  'tailCurrent',
  'tailTime',
  'rebulk',
  'equaliseInterval',
  'equaliseTime',
  'address',
  'rate',
  'protocol',
  'priority',
]);

/** Properties of a run that say how it is ended and held, and change none of its conductors. */
const FITTINGS: ReadonlySet<string> = new Set(['torque', 'ends', 'lugHole']);

/** Conductors above this, mm² of one of them (250 kcmil), go into few lugs of small gear. Common practice, no source. */
export const HEAVY = 127;

const tierOf = (tiers: Iterable<Tier>): Tier =>
  [...tiers].reduce((so, next) => (TIERS.indexOf(next) > TIERS.indexOf(so) ? next : so), 'text' as Tier);

/** Compares the designs of a file before and after a change. */
export function changeOf(before: Analysis, after: Analysis): Change {
  const tiers = new Set<Tier>();
  let [growth, restsOnMemory] = [1, false];
  for (const { system } of after.designs) {
    const old = before.designs.find(({ system: { name } }) => name === system.name)?.system;
    if (!old) continue;
    const names = new Set(old.instances.map(({ name }) => name));
    for (const added of system.instances.filter(({ name }) => !names.has(name)))
      tiers.add(isDevice(added) ? 'more-devices' : 'equipment');
    for (const { now, was } of pairs(old, system)) {
      for (const { name, to } of changedProperties(was, now)) {
        tiers.add(propertyTier(now, name));
        restsOnMemory ||= to !== undefined && takesMemory(to);
      }
      if (now.kind === 'run' && was.kind === 'run') {
        const [is, had] = [areaOf(now), areaOf(was)];
        if (is && had) growth = Math.max(growth, is.whole / had.whole);
        if (is && (!had || is.one > had.one * 1.001) && is.one > HEAVY) tiers.add('heavy-conductor');
        if (stopsText(now) !== stopsText(was)) tiers.add('device');
      }
      if (now.kind === 'control' && was.kind === 'control' && rulesText(now.rules) !== rulesText(was.rules))
        tiers.add('setting');
    }
  }
  return { tier: tierOf(tiers), restsOnMemory, growth };
}

const things = ({ instances, runs, links, controls }: System): readonly Thing[] => [
  ...instances,
  ...runs,
  ...links,
  ...controls,
];

function* pairs(before: System, after: System): Generator<{ readonly was: Thing; readonly now: Thing }> {
  const old = new Map(things(before).map((thing) => [thing.path, thing]));
  for (const now of things(after)) {
    const was = old.get(now.path);
    if (was) yield { was, now };
  }
}

interface Changed {
  readonly name: string;
  readonly to?: Property;
}

function changedProperties(was: Thing, now: Thing): Changed[] {
  const names = new Set([...was.properties.keys(), ...now.properties.keys()]);
  return [...names].flatMap((name): Changed[] => {
    const [from, to] = [was.properties.get(name), now.properties.get(name)];
    return from?.text === to?.text ? [] : [{ name, ...(to ? { to } : {}) }];
  });
}

function propertyTier(thing: Thing, name: string): Tier {
  if (thing.kind === 'control' || thing.kind === 'link') return 'setting';
  if (thing.kind === 'run') return FITTINGS.has(name) ? 'setting' : 'conductor';
  if (isDevice(thing)) return 'device';
  return SETTINGS.has(name) ? 'setting' : 'equipment';
}

/** Whether a class of devices that is taken says of its ratings that they are from memory. */
const takesMemory = ({ value }: Property): boolean =>
  value.type === 'part' && ['dcVoltage', 'interruptRating'].some((rating) => isFromMemory(value.part, rating));

/** The area of one conductor of a run and of those in parallel together, mm². */
export function areaOf({ properties }: Run): { readonly one: number; readonly whole: number } | undefined {
  const size = properties.get('size')?.value;
  if (size?.type !== 'quantity') return undefined;
  const one = size.quantity.value * 1e6;
  const parallel = properties.get('parallel')?.value;
  return { one, whole: one * (parallel?.type === 'quantity' ? parallel.quantity.value : 1) };
}

const stopsText = ({ from, through, to }: Run): string =>
  [from, ...through, ...to]
    .map(({ instance, distance: at }) => `${instance.name}${at ? ` ${numberIn(at, 'm')}` : ''}`)
    .join(' ');

const rulesText = (rules: readonly { readonly text: string }[]): string => rules.map(({ text }) => text).join('\n');

/** Compares two changes: the one that costs less first, then what is published. */
export const byCost = (left: Change, right: Change): number =>
  TIERS.indexOf(left.tier) - TIERS.indexOf(right.tier) || Number(left.restsOnMemory) - Number(right.restsOnMemory);

/** Whether the first costs less than conductors do, so that no large ones are worth proposing beside it. */
export const isBelowCopper = ({ tier }: Change): boolean => TIERS.indexOf(tier) < TIERS.indexOf('conductor');
