import { governingText } from '../../glossary/reason-text.js';
import { type Derivation, displayValue, numberIn, type Result } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Run } from '../../model/types.js';
import { areUnmarked } from '../../quantities/conductors/terminals.js';
import { type Verdict, defineCheck, atMost, NO_LIMIT, type UseOfLimit, points } from '../define.js';
import { ofEachRun } from '../each-run.js';
import { basisText, notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { largerSize } from './ways.js';
import { PUBLISHED, MEMORY, softened, tableOf } from './shared.js';
import { type AmpacityJudgement, isJudgement, judgeAmpacity } from './sizing.js';
import { asMarked } from './unmarked-terminals.js';
import { askingForType } from './unsaid-type.js';

type Broken = NonNullable<AmpacityJudgement['broken']>;

/** The limit of the conductor itself: what the terminals allow is told by `terminal-temperature`. */
const limitOf = ({ kind, limit }: Broken, { ampacity }: AmpacityJudgement): Derivation =>
  kind === 'corrected' ? (ampacity.parts['corrected'] ?? limit) : limit;

/**
 * What is broken on the conductor itself. Terminals that nobody has read the marking of do not hide that 125 % of the load is above the
 * ampacity before correction, which no marking mends.
 */
function brokenOf(judged: AmpacityJudgement, run: Run, size: Derivation, context: DesignContext): Broken | undefined {
  const { broken } = judged;
  if (broken?.kind !== 'terminal' || !areUnmarked(run, size, context)) return broken;
  const marked = asMarked(run, context);
  const again = judgeAmpacity(marked.run, size, marked.context);
  return isJudgement(again) && again.broken?.kind === 'uncorrected' ? again.broken : broken;
}

/** What a run uses of its ampacity after correction. */
const useOf = ({ ampacity }: AmpacityJudgement, current: Result): UseOfLimit =>
  current.kind === 'known' ? atMost(current.derivation, ampacity.parts['corrected'] ?? ampacity) : NO_LIMIT;
function* judgeRun(run: Run, context: DesignContext): Generator<Verdict> {
  const size = context.fact(run, 'size');
  if (size.kind !== 'known') {
    yield notChecked(run, size);
    return;
  }
  const judged = judgeAmpacity(run, size.derivation, context);
  if (!isJudgement(judged)) {
    yield notChecked(run, judged);
    return;
  }
  const broken = brokenOf(judged, run, size.derivation, context);
  const current = context.quantity(run, 'current');
  const numbers = {
    ...(current.kind === 'known' ? { current: current.derivation } : {}),
    limit: (broken && limitOf(broken, judged)) ?? judged.ampacity,
    ampacity: judged.ampacity,
  };
  if (!broken || broken.kind === 'terminal') {
    yield passed(run, useOf(judged, current), numbers);
    return;
  }
  const [demand, limit] = pairText(broken.demand, limitOf(broken, judged));
  const { severity } = softened(judged.ampacity);
  const factors = ['ambientFactor', 'bundleFactor'].flatMap((name) => {
    const part = judged.ampacity.parts[name];
    return part && displayValue(part) !== '1'
      ? [`${name === 'ambientFactor' ? 'ambient' : 'bundling'} factor ${displayValue(part)}`]
      : [];
  });
  const carried = current.kind === 'known' ? displayValue(current.derivation, 3) : demand;
  const governing = current.kind === 'known' ? governingText(current.derivation) : undefined;
  // Before correction it is not the current itself that counts, but 125 % of its continuous part.
  const isOutput = current.kind === 'known' && broken.kind === 'corrected' && broken.demand !== current.derivation;
  const isBefore = broken.kind === 'uncorrected';
  const conductor = displayValue(size.derivation);
  // The value that hovers show is that with its terminals; the finding is about the conductor itself.
  const allowed = judged.ampacity.parts['terminalLimit'];
  const isLess = allowed !== undefined && numberIn(allowed, 'A') < numberIn(limitOf(broken, judged), 'A');
  const terminals = isLess && !isBefore ? `its terminals allow ${displayValue(allowed, 3)}` : undefined;
  const told = isOutput
    ? {
        headline: `${run.name} needs an ampacity of ${demand}; ${conductor} has ${limit}`,
        ...whyOf(governingText(broken.demand) ?? 'the rated output of its inverter, whatever is connected', ...factors),
        rule: 'NEC 710.15(B)',
      }
    : {
        headline: `${run.name} ${isBefore ? 'needs' : 'carries'} ${demand}; ${conductor} has an ampacity of ${limit}${isBefore ? ' uncorrected' : ''}`,
        ...whyOf(
          isBefore && `carries ${carried}; 125 % of the continuous part, before correction`,
          governing,
          // Before correction they do not count.
          ...(isBefore ? [] : factors),
          terminals,
        ),
        rule: tableOf(judged.ampacity, context) || basisText(context.system.basis),
      };

  yield {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(run, 'size'),
    ...(severity ? { severity } : {}),
    ...told,
    use: atMost(broken.demand, limitOf(broken, judged)),
    numbers,
    fixes: [largerSize(run, { target: 'run-ampacity' })],
  };
}

export const runAmpacity = defineCheck({
  id: 'run-ampacity',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'The design current of a run is above what its conductors may carry after ambient and bundling.',
    guards: 'Insulation that ages in months, melts or burns.',
    how: points(
      'The design current, the largest in any source state at the worst corner, against the ampacity of the conductors.',
      'The ampacity is read in the table of the practice for size, metal and insulation, and corrected for ambient and bundling.',
      'Conductors in parallel count as lying together (all poles in one raceway, under iec as so many circuits) unless `conductors` or `circuits` says otherwise. A cable such as NM-B is held to its `ampacityColumn` at the end (NEC 334.80).',
      'Conductors that state neither type nor insulation count as 90 °C; where 60 °C (iec 70 °C) would not do, the type is a question.',
      'Under nec, 125 % of the continuous part plus the rest must also be within the table value before correction. The limit of the terminals is judged by `terminal-temperature`.',
      'Under nec, conductors at the output of a stand-alone inverter must carry its rated output whatever is connected, or be sized for the device that holds them to less (710.15(B)).',
      'The fix is the smallest size that passes ampacity, terminals, device, plug, fault heat and voltage drop together, with the rating and the earth conductor that go with it.',
    ),
    fix: 'Use a larger size, better insulation or fewer conductors together, or carry less.',
    sources: [
      PUBLISHED('NEC', 'Tables 310.16, 310.15(B)(1), 310.15(C)(1), 400.5(A)', '2011-2023'),
      MEMORY('IEC 60364-5-52', 'Annex B'),
      PUBLISHED('33 CFR 183.425', 'Table 5'),
    ],
    failing: `design Hut {
  basis: iec
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 8 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   cutOff: 44.8 V }
  fuse F1 { class: T   rating: 250 A }
  run Feed: Bank -> F1 @ 150 mm -> Inv.dc { size: 25 mm2   type: H07V-K   length: 1 m   method: C }
}
`,
    passing: `design Hut {
  basis: iec
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 8 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   cutOff: 44.8 V }
  fuse F1 { class: T   rating: 250 A }
  run Feed: Bank -> F1 @ 150 mm -> Inv.dc { size: 95 mm2   type: H07V-K   length: 1 m   method: C }
}
`,
  },
  judge: ofEachRun((run, context) => askingForType(run, context, judgeRun)),
});
