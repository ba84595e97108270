import type { Fix } from '../../checks/define.js';
import type { ConductorWay } from '../../checks/conductors/ways.js';
import type { DesignContext } from '../../model/context.js';
import { equalRuns } from './equal-runs.js';
import { fixOf, proposeEarth, proposeRatings, proposeSizes } from './joint-fixes.js';
import { addFuse, suitFeed } from './new-device.js';

/**
 * What a declared way of mending conductors comes to in a design: changes that hold together by the rules known on one run, of which the
 * first that proves itself is wanted.
 */
export function conductorFixes(way: ConductorWay, context: DesignContext): readonly Fix[] {
  switch (way.way) {
    case 'size':
      return proposeSizes(way.run, context, way.wish).map((proposal) => fixOf(way.run, proposal));
    case 'rating':
      return proposeRatings(way.run, way.device, way.direction, context, way.wish).map((proposal) =>
        fixOf(way.run, proposal),
      );
    case 'earth': {
      const proposal = proposeEarth(way.run, context);
      return proposal ? [fixOf(way.run, proposal)] : [];
    }
    case 'device':
      return addFuse(way.run, way.end, way.feed, way.rule, context);
    case 'suit-feed':
      return suitFeed(way.run, way.feed, context);
    case 'equal':
      return equalRuns(way.group, way.longest, way.size, context);
  }
}
