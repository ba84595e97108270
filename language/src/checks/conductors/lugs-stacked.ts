import { type Derivation, derive, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import { parallelOf } from '../../quantities/conductors/conductor-facts.js';
import { defineCheck, type Verdict, atMost } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf } from '../verdicts.js';
import { MEMORY } from './shared.js';
import { terminalKindOf } from './terminations.js';
import type { Instance } from '../../model/types.js';
import { chargingOf, isBank, isInverter, isJoint, isOwnCharger } from '../../model/roles.js';

/** Inverters, chargers, controllers and converters, whose direct-current side may have studs. */
const isElectronic = (instance: Instance): boolean =>
  isInverter(instance) || (chargingOf(instance) !== undefined && !isOwnCharger(instance));

/** Direct-current things whose conductors are bolted on with lugs. */
const hasStuds = ({ instance }: Node): boolean =>
  isBank(instance) || isJoint(instance) || (isElectronic(instance) && terminalKindOf(instance) === 'stud');

/** Lugs on each pole of a thing: one for every end of a run, and every conductor in parallel. */
const lugsAt = (node: Node, context: DesignContext): number =>
  context.graph.segmentsAt(node).reduce((sum, { run }) => sum + parallelOf(run, context), 0);

function judgeNode(node: Node, context: DesignContext): Verdict | undefined {
  const { instance } = node;
  const segments = context.graph.segmentsAt(node);
  if (segments.length === 0 || segments.some(({ run }) => run.carries !== 'dc')) return undefined;
  // Bars with screws or clamps take one conductor in each.
  if (['set-screw', 'clamp', 'spring'].includes(terminalKindOf(instance) ?? '')) return undefined;
  const count = lugsAt(node, context);
  const limit = context.setting('lugsPerStud');
  if (!limit) return undefined;
  const each = numberIn(limit, '');
  const lugs = derive('lugs on each pole', count, '', { formula: 'ends of runs, conductors in parallel counted' });
  const stated: Derivation | undefined = context.maybe(instance, 'studs');
  if (count <= each) return passed(instance, atMost(lugs, limit), { lugs, limit });
  if (!stated && isJoint(instance))
    return notChecked(instance, { kind: 'missing', missing: [`studs of ${instance.name}`] });
  const studs = stated ? numberIn(stated, '') : 1;
  const most = derive('lugs that the studs of a pole accept', each * studs, '', { inputs: [limit] });
  if (count <= each * studs) return passed(instance, atMost(lugs, most), { lugs, limit });
  const needed = Math.ceil(count / each);
  return {
    verdict: 'failed',
    subject: instance.path,
    place: placeOf(instance, 'studs'),
    headline: `${count} lugs on ${studs === 1 ? 'one stud' : `${studs} studs`} of each pole of ${instance.name}; at most ${each} a stud`,
    rule: 'ABYC E-11, from memory',
    consequence: 'the pile settles, the upper lugs loosen and run hot',
    advice: `Use ${needed} studs of each pole${isBank(instance) ? ', or lead one cable to a busbar' : ''}, the largest lug next to the bar.`,
    use: atMost(lugs, most),
    numbers: { lugs, limit },
    fixes: [
      propose(
        `Give ${instance.name} ${needed} studs of each pole`,
        [setProperty(instance, 'studs', `${needed}`)],
        true,
      ),
    ],
  };
}

export const lugsStacked = defineCheck({
  id: 'lugs-stacked',
  group: 'conductors',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'More lugs stacked on one stud than practice allows.',
    guards: 'A pile of lugs settles and loosens; the ones on top carry their current through a few threads.',
    how: 'Every end of a direct-current run at a bank, busbar or converter is one lug on each pole (several where conductors run in parallel); a thing has one stud for each pole unless it says `studs`, a busbar must say. Limit: `lugsPerStud` of the design, four unless set (a rule of small craft, from memory). Assumes that lugs are spread evenly over the studs.',
    fix: 'Spread the lugs over more studs or a busbar.',
    sources: [MEMORY('ABYC E-11', 'four conductors on a stud')],
    failing: `design Van {
  battery Bank : Lfp12V100Ah
  load A { power: 60 W   supply: dc }
  load B { power: 60 W   supply: dc }
  load C { power: 60 W   supply: dc }
  load D { power: 60 W   supply: dc }
  load E { power: 60 W   supply: dc }
  run ToA: Bank -> A { size: 12 AWG   length: 2 m }
  run ToB: Bank -> B { size: 12 AWG   length: 2 m }
  run ToC: Bank -> C { size: 12 AWG   length: 2 m }
  run ToD: Bank -> D { size: 12 AWG   length: 2 m }
  run ToE: Bank -> E { size: 12 AWG   length: 2 m }
}
`,
    passing: `design Van {
  battery Bank : Lfp12V100Ah
  bus Bar { studs: 6   rating: 100 A }
  load A { power: 60 W   supply: dc }
  load B { power: 60 W   supply: dc }
  load C { power: 60 W   supply: dc }
  load D { power: 60 W   supply: dc }
  load E { power: 60 W   supply: dc }
  run Main: Bank -> Bar { size: 6 AWG   length: 1 m }
  run ToA: Bar -> A { size: 12 AWG   length: 2 m }
  run ToB: Bar -> B { size: 12 AWG   length: 2 m }
  run ToC: Bar -> C { size: 12 AWG   length: 2 m }
  run ToD: Bar -> D { size: 12 AWG   length: 2 m }
  run ToE: Bar -> E { size: 12 AWG   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const node of context.graph.nodes.values()) {
      if (!hasStuds(node)) continue;
      const verdict = judgeNode(node, context);
      if (verdict) yield verdict;
    }
  },
});
