import { firstFew } from '../text/wording.js';
import { type Derivation, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Run } from '../../model/types.js';
import { quantity } from '../../quantity/index.js';
import { screwTorqueFor, screwTorques, sourceOf, studOf, studs } from '../../reference/index.js';
import { defineCheck, type Fix, type Verdict, NO_LIMIT } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { basisText, notChecked, passed, placeOf } from '../verdicts.js';
import { PUBLISHED } from './shared.js';
import { terminalKindOf, terminationsOf } from './terminations.js';
import { isBank } from '../../model/roles.js';

/**
 * A usual torque for the terminals of a thing, to start from until its data sheet is at hand: by stud for gear, by conductor size for set
 * screws. None for batteries, whose posts differ two to four times between makes for one thread.
 */
function usualTorque(run: Run, instance: Instance, context: DesignContext): Derivation | undefined {
  if (isBank(instance)) return undefined;
  const stud = context.maybe(instance, 'stud');
  const row = stud && studOf(numberIn(stud, 'mm'));
  if (row)
    return derive(`usual torque on ${row.stud}`, row.torque.low, 'Nm', {
      origin: 'table',
      source: sourceOf(studs, row),
    });
  const size = context.maybe(run, 'size');
  if (terminalKindOf(instance) !== 'set-screw' || !size) return undefined;
  const screw = screwTorqueFor(numberIn(size, 'mm2'));
  if (!screw) return undefined;
  const newtonMetres = Math.round(quantity(screw.torque, screwTorques.unit).value * 10) / 10;
  return derive(`torque of a screw terminal for ${screw.size}`, newtonMetres, 'Nm', {
    origin: 'table',
    source: sourceOf(screwTorques, screw),
  });
}

/** A run whose terminals lack a torque, on these things. */
interface Lacking {
  readonly run: Run;
  readonly current: Derivation;
  readonly things: readonly Instance[];
}

/** The fix that writes usual torques as assumptions, where there is one for every terminal that lacks it. */
function fixesFor(lacking: readonly Lacking[], context: DesignContext): Fix[] {
  const found = new Map<Instance, number>();
  for (const { run, things } of lacking)
    for (const thing of things) {
      const torque = usualTorque(run, thing, context);
      if (!torque) return [];
      found.set(thing, Math.max(found.get(thing) ?? 0, numberIn(torque, 'Nm')));
    }
  const texts = [...found].map(([{ name }, torque]) => `${torque} Nm on ${name}`);
  return [
    propose(
      `Assume ${texts.join(', ')} until the data sheets are at hand`,
      [...found].map(([thing, torque]) => setProperty(thing, 'torque', `assumed ${torque} Nm`)),
      true,
    ),
  ];
}

/** What a run of direct current lacks: nothing, a torque, or the current that decides whether one is asked for. */
function lackingOn(run: Run, from: Derivation, context: DesignContext): Lacking | Verdict | undefined {
  const things = [...new Set(terminationsOf(run).map(({ instance }) => instance))];
  const without = run.properties.has('torque') ? [] : things.filter((each) => !each.properties.has('torque'));
  if (without.length === 0) return things.length > 0 ? passed(run, NO_LIMIT) : undefined;
  const current = context.quantity(run, 'current');
  if (current.kind !== 'known') return notChecked(run, current);
  return numberIn(current.derivation, 'A') < numberIn(from, 'A')
    ? passed(run, NO_LIMIT, { current: current.derivation, from })
    : { run, current: current.derivation, things: without };
}

/** Most runs that a message names. */
const MOST_NAMED = 1;

/** One finding for the design: a torque nobody wrote down is one omission, not one for each cable. */
function failure(lacking: readonly Lacking[], from: Derivation, context: DesignContext): Verdict {
  const named = lacking.map(({ run, current }) => `${run.name} (${displayValue(current, 3)})`);
  const fixes = fixesFor(lacking, context);
  const { run, current } = lacking[0]!;
  return {
    verdict: 'failed',
    subject: context.system.name,
    place: placeOf(run, 'torque'),
    headline: `No torque is stated for the terminals of ${firstFew(named, MOST_NAMED)}`,
    why: `needed from ${displayValue(from)} on, a rule of thumb (\`torqueFrom\`)`,
    rule:
      context.system.basis.practice === 'nec'
        ? `${basisText(context.system.basis)} 110.14(D)`
        : 'common practice, no source: as the data sheet of the gear asks',
    consequence: 'joints that are too loose burn, too tight ones strip',
    advice: 'State `torque` of the run or of the gear from its marking or data sheet.',
    use: NO_LIMIT,
    numbers: { current, from },
    related: lacking
      .slice(1)
      .map((each) => ({ place: each.run.place, text: `${each.run.name} has none stated either` })),
    fixes,
  };
}

function* judge(context: DesignContext): Generator<Verdict> {
  const from = context.setting('torqueFrom');
  if (!from) return;
  const lacking: Lacking[] = [];
  for (const run of context.system.runs) {
    if (run.carries !== 'dc') continue;
    const outcome = lackingOn(run, from, context);
    if (!outcome) continue;
    if ('verdict' in outcome) yield outcome;
    else lacking.push(outcome);
  }
  if (lacking.length > 0) yield failure(lacking, from, context);
}

export const torqueMissing = defineCheck({
  id: 'torque-missing',
  group: 'conductors',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'No tightening torque is stated for terminals that carry a large direct current.',
    guards:
      'Loose joints are what most often burns in battery systems, and nobody can check a torque that is written nowhere.',
    how: `Direct-current runs with a design current from \`torqueFrom\` (50 A unless set, a rule of thumb) must state \`torque\`, or the things they are bolted to must; all without it are one finding. The fix writes a usual value as an assumption: for studs where two published installation manuals agree, for set screws NEC Table I.1; never for batteries, whose posts differ two to four times between makes.`,
    fix: 'State the torque that the maker of the terminal gives, so that the wire schedule lists it.',
    sources: [PUBLISHED('NEC', '110.14(D)', '2017-2023'), PUBLISHED('NEC', 'Annex I Table I.1', '2017-2023')],
    failing: `design Van {
  battery Bank : Lfp12V100Ah { torque: 10 Nm }
  fuse F1 { class: T   rating: 110 A   stud: 8 mm   torque: 9 Nm }
  bus Bar { rating: 150 A   stud: 8 mm }
  load Heater { power: 1 kW   supply: dc }
  run Main: Bank -> F1 @ 100 mm -> Bar { size: 2 AWG   length: 1 m }
  run Line: Bar -> Heater { size: 2 AWG   length: 1 m   torque: 9 Nm }
}
`,
    passing: `design Van {
  battery Bank : Lfp12V100Ah { torque: 10 Nm }
  fuse F1 { class: T   rating: 110 A   stud: 8 mm   torque: 9 Nm }
  bus Bar { rating: 150 A   stud: 8 mm   torque: 9 Nm }
  load Heater { power: 1 kW   supply: dc }
  run Main: Bank -> F1 @ 100 mm -> Bar { size: 2 AWG   length: 1 m }
  run Line: Bar -> Heater { size: 2 AWG   length: 1 m   torque: 9 Nm }
}
`,
  },
  judge,
});
