import { capital } from '../text/wording.js';
import { displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Run } from '../../model/types.js';
import { ampacityAt, conductorType } from '../../quantities/conductors/conductor.js';
import { defineCheck, type Verdict, atMost, points } from '../define.js';
import { basisText, notChecked, pairText, passed, placeOf, whyOf } from '../verdicts.js';
import { CORD_REMARK, isCordInTheWarm, plugOfCord } from './cord-plug.js';
import { MEMORY, PUBLISHED, softened, tableOf } from './shared.js';
import { largerSize } from './ways.js';

function* judgeRun(run: Run, context: DesignContext): Generator<Verdict> {
  const plug = plugOfCord(run, context);
  if (!plug) return;
  const size = context.fact(run, 'size');
  if (size.kind !== 'known') return yield notChecked(run, size);
  const result = ampacityAt(run, size.derivation, context);
  if (result.kind !== 'known') return yield notChecked(run, result);
  const ampacity = result.derivation;
  const numbers = { plug: plug.rating, ampacity };
  const use = atMost(plug.rating, ampacity);
  if (plug.carriedBy(ampacity, size.derivation)) return yield passed(run, use, numbers);
  const [lets, may] = pairText(plug.rating, ampacity);
  const { severity } = softened(ampacity);
  const isWarm = isCordInTheWarm(run, plug.rating, ampacity, context);
  const factor = ampacity.parts['ambientFactor'];
  const cord = conductorType(run).cord;
  const type = cord && 'kind' in cord ? ` ${cord.name}` : '';
  yield {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(run, 'size'),
    ...(severity || isWarm ? { severity: 'warning' as const } : {}),
    headline: `${capital(plug.title)} lets through ${lets}; the cord of ${run.name} carries ${may}`,
    ...whyOf(
      `${displayValue(size.derivation)}${type}`,
      factor && numberIn(factor, '') < 1 && `ambient factor ${displayValue(factor)}`,
      isWarm && CORD_REMARK,
    ),
    rule: tableOf(ampacity, context) || basisText(context.system.basis),
    consequence: 'whoever plugs more in overheats it before anything opens',
    use,
    numbers,
    fixes: [largerSize(run, { target: 'cord-ampacity' })],
  };
}

export const cordAmpacity = defineCheck({
  id: 'cord-ampacity',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A flexible cord may carry less than the plug or outlet that supplies it lets through.',
    guards: 'Cords that smoulder in the grass or on the drum while the breaker of the outlet holds.',
    how: points(
      'The ampacity of the cord against the rating of the outlet or receptacle at its end (of the source’s own breaker or service where that is smaller), else of the plug it feeds.',
      'The ampacity: NEC Table 400.5(A)(1) or (2) by conductors that carry current, BS 7671 Tables 4F for rubber cables, corrected for ambient and bundling.',
      'Under nec, cords from 16 AWG may have plugs up to 20 A (240.5(B)(4), from memory).',
      'Where only the correction for a warm ambient brings the cord below its plug it is a warning: NEC 400.5(A) corrects the ampacity, and 240.5(A), from memory, names that of the table.',
      'The load itself is judged by `run-ampacity`, which reads the same tables. The fix is the cord size.',
    ),
    fix: 'Use a heavier cord, or an outlet with a smaller breaker.',
    sources: [
      PUBLISHED('NEC', '400.5(A), Table 400.5(A)(1)', '2017-2023'),
      MEMORY('NEC', '240.5, Table 400.5(A)(2)'),
      PUBLISHED('BS 7671', 'Tables 4F1A, 4F2A', '2008'),
    ],
    failing: `design Camp {
  generator Genset { rated: 7.2 kW   voltage: 120/240 V   outlet: L14-30   breaker: 30 A   neutralBond: bonded }
  load Heater { power: 3 kW   voltage: 240 V }
  run Cord: Genset -> Heater { size: 12 AWG   type: SOOW   length: 10 m }
}
`,
    passing: `design Camp {
  generator Genset { rated: 7.2 kW   voltage: 120/240 V   outlet: L14-30   breaker: 30 A   neutralBond: bonded }
  load Heater { power: 3 kW   voltage: 240 V }
  run Cord: Genset -> Heater { size: 10 AWG   type: SOOW   length: 10 m }
}
`,
  },
  judge: function* (context) {
    for (const run of context.system.runs) yield* judgeRun(run, context);
  },
});
