import { displayValue } from '../../derivation/index.js';
import { terminalsOf } from '../../quantities/conductors/conductor.js';
import type { DesignContext } from '../../model/context.js';
import type { Run } from '../../model/types.js';
import { type Verdict, defineCheck, atMost, NO_LIMIT, type UseOfLimit } from '../define.js';
import { ofEachRun } from '../each-run.js';
import { basisText, notChecked, passed, placeOf, pairText, shareOf, whyOf } from '../verdicts.js';
import { PUBLISHED } from './shared.js';
import { largerSize } from './ways.js';
import { type AmpacityJudgement, isJudgement, judgeAmpacity } from './sizing.js';
import { askingForMarks } from './unmarked-terminals.js';

/** What a run that passes uses of what its terminals allow; none where the conductor itself allows no more, which `run-ampacity` judges. */
function useOf({ ampacity, demanded }: AmpacityJudgement): UseOfLimit {
  const { terminalLimit } = ampacity.parts;
  const use = terminalLimit && atMost(demanded, terminalLimit);
  return use && shareOf(use) <= 1 + 1e-9 ? use : NO_LIMIT;
}

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
  // The terminals are judged by themselves: a conductor that is overloaded in its own column may be so at its terminals too.
  const broken = judged.terminal;
  if (!broken) {
    yield passed(run, useOf(judged), { ampacity: judged.ampacity });
    return;
  }
  const [demand, limit] = pairText(broken.demand, broken.limit);
  const terminals = terminalsOf(run, size.derivation, context);
  yield {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(run, 'size'),
    headline: `${run.name} needs ${demand}; ${displayValue(size.derivation)} on ${terminals ? displayValue(terminals) : '75 °C'} terminals allows ${limit}`,
    ...whyOf(
      context.system.basis.practice === 'nec' && '125 % of the continuous current, and the rest',
      'whatever its insulation',
    ),
    rule: `${basisText(context.system.basis)}${context.system.basis.practice === 'nec' ? ' 110.14(C)' : ''}`,
    use: atMost(broken.demand, broken.limit),
    numbers: { required: broken.demand, limit: broken.limit },
    fixes: [largerSize(run, { target: 'terminal-temperature' })],
  };
}

export const terminalTemperature = defineCheck({
  id: 'terminal-temperature',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A conductor is used above the ampacity its terminals allow: 90 °C insulation on a 60 °C or 75 °C terminal.',
    guards: 'The conductor stays cool enough, the lug does not: terminals discolour, loosen and burn.',
    how: 'The current a run must be sized for (under nec 125 % of the continuous part plus the rest) is held against the table column of the lowest terminal temperature that the run or the gear at and along it states. Where neither says, nec reads 75 °C above 100 A and 60 °C up to 100 A; what would do on terminals marked 75 °C is then not a finding: the marking is a question. Under iec and craft this is done where `terminals` is stated.',
    fix: 'Use a larger conductor, or terminals marked for the higher temperature.',
    sources: [PUBLISHED('NEC', '110.14(C), Table 310.16', '2017-2023')],
    failing: `design Hut {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 7 kW   voltage: 120/240 V   efficiency: 92 %   dcVoltage: 44..60 V   cutOff: 46 V }
  fuse F1 { class: T   rating: 225 A }
  run Feed: Bank -> F1 @ 150 mm -> Inv.dc { size: 3/0 AWG   type: THWN-2   length: 1 m   terminals: 75 degC }
}
`,
    passing: `design Hut {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 7 kW   voltage: 120/240 V   efficiency: 92 %   dcVoltage: 44..60 V   cutOff: 46 V }
  fuse F1 { class: T   rating: 225 A }
  run Feed: Bank -> F1 @ 150 mm -> Inv.dc { size: 4/0 AWG   type: THWN-2   length: 1 m   terminals: 75 degC }
}
`,
  },
  judge: ofEachRun((run, context) => askingForMarks(run, context, judgeRun)),
});
