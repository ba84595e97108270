import type { Instance, Scenario, System } from '../model/types.js';

/** What says where a thing stands in a text or what is remarked of it, and nothing of how it behaves. */
const BESIDE = new Set([
  'place',
  'whole',
  'insert',
  'limitPlace',
  'afterCondition',
  'path',
  'label',
  'doc',
  'note',
  'text',
  'inputs',
  'parts',
  'library',
]);

/** Properties that nothing is worked out from. */
const REMARKS = new Set(['note', 'price', 'mass', 'dataSheet', 'customer', 'author']);

/**
 * A text that is the same for two designs exactly when a scenario, or the proof of their rules without one, plays the same in both: every fact of the things, runs, links and
 * controls, of the site, and of the scenario itself. Where things stand in the file, remarks, requirements, waivers, readings and other
 * scenarios do not count.
 */
export function contentOf(system: System, scenario?: Scenario): string {
  const { basis, site, settings, instances, runs, links, controls } = system;
  const whole = [
    basis.practice,
    basis.edition,
    site.properties,
    settings,
    ...instances,
    ...runs,
    ...links,
    ...controls,
    ...(scenario ? [scenario] : []),
  ];
  return whole.map((each) => contentText(each, true)).join('\n');
}

/** A value without what stands beside it. `isOwn` for a thing in the list of its kind; anywhere else a thing is written by its name. */
export function contentText(value: unknown, isOwn = false): string {
  if (typeof value !== 'object' || value === null)
    return typeof value === 'string' ? JSON.stringify(value) : String(value);
  if (Array.isArray(value)) return `[${value.map((each) => contentText(each)).join(',')}]`;
  if (value instanceof Map) {
    const entries = [...(value as ReadonlyMap<string, unknown>)].filter(([key]) => !REMARKS.has(key));
    return `{${entries.map(([key, each]) => `${key}:${contentText(each)}`).join(',')}}`;
  }
  if (!isOwn && isThing(value)) return value.name;
  if ('low' in value && 'high' in value && 'dimension' in value) return quantity(value as never);
  const entries = Object.entries(value).filter(
    ([key, each]) => each !== undefined && !BESIDE.has(key) && !(isOwn && key === 'part'),
  );
  return `{${entries.map(([key, each]) => `${key}:${contentText(each)}`).join(',')}}`;
}

/** Instances, links and runs have a path; parts, which are data sheets, have none. */
const isThing = (value: object): value is Instance => 'path' in value && 'name' in value && 'kind' in value;

const quantity = (q: {
  readonly value: number;
  readonly low: number;
  readonly high: number;
  readonly dimension: { readonly key: string };
  readonly unit?: { readonly symbol: string };
}): string => `${q.value} ${q.low} ${q.high} ${q.dimension.key} ${q.unit?.symbol ?? ''}`;
