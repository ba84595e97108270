import { numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import type { ConductorSize } from '../../quantity/index.js';
import type { Fix, TextEdit } from '../../checks/define.js';
import { propose, setProperty } from '../../checks/fixes.js';
import { withRuns } from '../../checks/conductors/run-as-if.js';
import { isSound } from '../../checks/conductors/sizing.js';
import { editsOf, listed, withEarth } from './joint-fixes.js';

/** A property as the design writes it. */
const textOf = (run: Run, property: 'length' | 'size'): string => run.properties.get(property)?.text ?? '';

/**
 * Makes the runs of a group equal, with the earth conductors that go with it. Nothing where one of them would then break a rule: equal
 * shares are larger ones for some.
 */
export function equalRuns(
  group: readonly Run[],
  longest: Run | undefined,
  size: ConductorSize,
  context: DesignContext,
): Fix[] {
  const length = longest && context.maybe(longest, 'length');
  const metres = length && numberIn(length, 'm');
  const changes = new Map(
    group.map((run) => [run, { size: size.area, ...(metres === undefined ? {} : { length: metres }) }] as const),
  );
  const after = withRuns(changes, context);
  const edits: TextEdit[] = [];
  for (const run of group) {
    const changed = after.runs.get(run)!;
    const own = context.maybe(run, 'size')!;
    const setup = { size: after.context.maybe(changed, 'size')!, ratings: new Map<Instance, number>(), added: 0 };
    if (!isSound(changed, setup, after.context, new Set(['voltage-drop']))) return [];
    const isOther = Math.abs(numberIn(own, 'mm2') - size.area) > 1e-3 * size.area;
    const proposal = withEarth(changed, setup, isOther ? size : undefined, after.context);
    if (!proposal) return [];
    if (longest && run !== longest) edits.push(setProperty(run, 'length', textOf(longest, 'length')));
    edits.push(...editsOf(run, proposal));
  }
  const aim = [
    ...(longest ? [`the length of ${longest.name}, ${textOf(longest, 'length')}`] : []),
    ...(edits.length > group.length - 1 || !longest ? [`the size ${size.name}`] : []),
  ];
  return [propose(`Give ${listed(group.map(({ name }) => name))} ${listed(aim)}`, edits)];
}
