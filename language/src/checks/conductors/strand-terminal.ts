import { deriveFact } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { defineCheck, type Verdict, NO_LIMIT } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { basisText, notChecked, passed, placeOf } from '../verdicts.js';
import { PUBLISHED } from './shared.js';
import { terminalKindOf, terminationsOf } from './terminations.js';
import { flagIn, wordIn } from '../../model/stated-facts.js';

/** The stranding of the conductors of a run, by its type. */
function strandOf(run: Run): string | undefined {
  const value = run.properties.get('type')?.value;
  return value?.type === 'part' ? wordIn(value.part.properties, 'strand') : undefined;
}

/** Screws that bear on the strands and are not marked for fine ones. */
const bitesStrands = (instance: Instance): boolean =>
  terminalKindOf(instance) === 'set-screw' && flagIn(instance.properties, 'fineStrand') !== true;

function* judgeRun(run: Run, context: DesignContext): Generator<Verdict> {
  const things = [...new Set(terminationsOf(run).map(({ instance }) => instance))];
  const screws = things.filter(bitesStrands);
  if (screws.length === 0) {
    // Bare fine strands under a terminal of which nothing is said.
    const open = things.find((instance) => terminalKindOf(instance) === undefined);
    if (open && strandOf(run) === 'flexible' && wordIn(run.properties, 'ends') === 'bare')
      return yield notChecked(run, { kind: 'missing', missing: [`terminalKind of ${open.name}`] });
    if (things.some((instance) => terminalKindOf(instance) !== undefined)) yield passed(run, NO_LIMIT);
    return;
  }
  const strand = strandOf(run);
  if (strand === undefined) return yield notChecked(run, { kind: 'missing', missing: [`type of ${run.name}`] });
  if (strand !== 'flexible') return yield passed(run, NO_LIMIT);
  const ends = wordIn(run.properties, 'ends');
  if (ends === undefined) return yield notChecked(run, { kind: 'missing', missing: [`ends of ${run.name}`] });
  if (ends !== 'bare') return yield passed(run, NO_LIMIT);
  const names = screws.map(({ name }) => name).join(' and ');
  yield {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(run, 'ends'),
    headline: `Fine strands of ${run.name} are bare under the set screw of ${names}`,
    why: 'terminals for more than class B and C stranding must be marked for the class',
    rule: `${basisText(context.system.basis)}${context.system.basis.practice === 'nec' ? ' 110.14' : ''}`,
    consequence: 'the screw cuts and spreads them; the joint loosens and runs hot',
    advice: 'Crimp ferrules or pin lugs that the terminal accepts, or use a terminal marked for fine strands.',
    use: NO_LIMIT,
    numbers: { strand: deriveFact('strand', strand, { origin: 'stated' }) },
    related: screws.map((screw) => ({ place: placeOf(screw, 'terminalKind'), text: `${screw.name} has set screws` })),
    fixes: [propose(`Crimp ferrules on the ends of ${run.name}`, [setProperty(run, 'ends', 'ferrule')], true)],
  };
}

export const strandTerminal = defineCheck({
  id: 'strand-terminal',
  group: 'conductors',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'Bare fine strands under a screw that presses on them.',
    guards: 'Strands that are cut, spread and work loose: the most usual burnt terminal of battery cables.',
    how: 'A run whose type is fine-stranded (`strand: flexible`: class 5, 6, K, M), with `ends: bare`, on gear whose `terminalKind` (its own or that of its class) is `set-screw` and which is not marked `fineStrand: yes`. Without `ends` the run is not checked, nor are bare fine strands on gear without a `terminalKind`. Cords that end in a plug are left out.',
    fix: 'Crimp a ferrule or lug on the strands, or use a terminal made for fine strands.',
    sources: [PUBLISHED('NEC', '110.14', '2011-2023'), PUBLISHED('NEC', '690.31(F)', '2008')],
    failing: `design Shed {
  battery Bank : Lfp12V100Ah
  breaker B1 { rating: 60 A   terminalKind: set-screw }
  load Winch { power: 500 W   supply: dc }
  run Feed: Bank -> B1 @ 100 mm -> Winch { size: 6 AWG   type: WeldingCable   length: 2 m   ends: bare }
}
`,
    passing: `design Shed {
  battery Bank : Lfp12V100Ah
  breaker B1 { rating: 60 A   terminalKind: set-screw }
  load Winch { power: 500 W   supply: dc }
  run Feed: Bank -> B1 @ 100 mm -> Winch { size: 6 AWG   type: WeldingCable   length: 2 m   ends: ferrule }
}
`,
  },
  judge: function* (context) {
    for (const run of context.system.runs) yield* judgeRun(run, context);
  },
});
