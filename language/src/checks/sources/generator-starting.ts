import { governingText } from '../../glossary/reason-text.js';
import { callFunction } from '../../calculate/index.js';
import { type Derivation, derive, displayValue, numberIn, otherReasons, reasonOf } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { formatNumber, formatPair, quantity } from '../../quantity/index.js';
import { demandByState } from '../../quantities/supply/source-demand.js';
import { startIncrement } from '../../quantities/supply/starting.js';
import { connect, type Leg, missingFrom, systemOf } from '../../quantities/supply/supply.js';
import { collect, sumOf, termOf } from '../../quantities/worst.js';
import { generatorPractice } from '../../reference/energy/sources.js';
import { defineCheck, type Verdict, atMost, NO_LIMIT, type UseOfLimit, points } from '../define.js';
import { notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { inputPerAmpere, limitFixes, PRACTICE, turnedDown } from './shared.js';
import { isLoad, isSet } from '../../model/roles.js';
import { calculation } from '../../quantities/calculation.js';

/** The loads a set feeds in any state, in the order of the design. */
function loadsOf(set: Instance, context: DesignContext): Instance[] {
  const fed = new Set(demandByState('power', 'P', 'W', set, context).flatMap(({ consumers }) => consumers));
  return context.system.instances.filter((each) => isLoad(each) && fed.has(each));
}

/** Charger limits that leave room for the start. */
function roomFor(set: Instance, excess: number, context: DesignContext): ReturnType<typeof turnedDown> {
  const demand = context.quantity(set, 'powerDemand');
  if (demand.kind !== 'known') return [];
  const chargers = demandByState('power', 'P', 'W', set, context)
    .flatMap(({ consumers }) => consumers.filter((each) => !isLoad(each)))
    .filter((each, index, all) => all.indexOf(each) === index)
    .map((charger) => {
      const part = termOf(demand.derivation, charger);
      const perAmpere = inputPerAmpere(charger, context);
      return {
        charger,
        burdens: part && perAmpere ? [{ share: numberIn(part, 'W'), perAmpere: perAmpere.W, excess }] : [],
      };
    });
  return turnedDown(chargers, context);
}

/** The power of the start against the surge rating at the site; facts that are open otherwise. */
function* judgePower(set: Instance, loads: readonly Instance[], context: DesignContext): Generator<Verdict, string[]> {
  const all = collect([context.quantity(set, 'startDemand'), context.quantity(set, 'usablePower')]);
  if (!all.ok) return all.result.kind === 'missing' ? [...all.result.missing] : [];
  const [start, usable] = all.derivations as [Derivation, Derivation];
  if (numberIn(start, 'W') <= numberIn(usable, 'W') * (1 + 1e-9)) return [];
  const surge = context.maybe(set, 'surge');
  const rated = context.maybe(set, 'rated');
  if (!surge || !rated) return [`surge of ${set.name}`];
  const limit = surgeAt(surge, rated, usable);
  if (numberIn(start, 'W') <= numberIn(limit, 'W') * (1 + 1e-9)) return [];
  const largest = start.inputs.at(-1)!;
  const load = loads.find(({ name }) => name === reasonOf(start, 'start')?.load);
  if (!load) return [];
  const excess = numberIn(start, 'W') - numberIn(limit, 'W');
  const factor = context.maybe(load, 'startFactor')!;
  const running = numberIn(largest, 'W') / (numberIn(factor, '') - 1);
  const soft = Math.floor((numberIn(factor, '') - excess / running) * 10 + 1e-6) / 10;
  const larger = Math.ceil((numberIn(surge, 'kW') * numberIn(start, 'W')) / numberIn(limit, 'W') / 0.1 - 1e-9) * 0.1;
  const [asked, given] = pairText(start, limit);
  const limits = roomFor(set, excess, context);
  yield {
    verdict: 'failed',
    subject: set.path,
    place: placeOf(set, 'surge'),
    headline: `${set.name} needs ${asked} while ${load.name} starts; it gives ${given} for a few seconds`,
    ...whyOf(
      `start at ${displayValue(factor)} times its running power, the rest running`,
      numberIn(usable, 'W') < numberIn(rated, 'W') && 'surge derated at this site',
      governingText({ governing: otherReasons(start, 'start') }),
    ),
    advice: `Run less while it starts, fit ${soft > 1 ? `a soft starter that holds ${load.name} to ${formatNumber(soft)} times, or ` : ''}a generator with ${formatNumber(larger)} kW of surge.`,
    use: atMost(start, limit),
    numbers: { demand: start, limit },
    related: [
      { place: load.place, text: `${load.name} starts with ${displayValue(factor)} times its running current` },
    ],
    fixes: limitFixes(limits, `, which leaves ${set.name} room for the start`),
  };
  return [];
}

/** The one leg of a split-phase set a consumer stands on; undefined across both legs, and on other systems. */
function legOf(consumer: Instance, set: Instance, context: DesignContext): Leg | undefined {
  const system = systemOf(set);
  if (system?.phases !== 'split') return undefined;
  const connection = connect(consumer, system, context);
  return missingFrom(connection) || connection.legs.length > 1 ? undefined : connection.legs[0];
}

/** The power of a start on one leg of a split-phase set, which gives half of its surge there; facts that are open otherwise. */
function* judgeLeg(set: Instance, loads: readonly Instance[], context: DesignContext): Generator<Verdict, string[]> {
  const usable = context.quantity(set, 'usablePower');
  const surge = context.maybe(set, 'surge');
  const rated = context.maybe(set, 'rated');
  const starters = loads.filter((load) => legOf(load, set, context) && startIncrement(load, 'W', context));
  if (starters.length === 0 || usable.kind !== 'known') return [];
  let worst: { load: Instance; leg: Leg; power: Derivation } | undefined;
  for (const { consumers, result } of demandByState('power', 'P', 'W', set, context)) {
    if (result.kind !== 'known') continue;
    for (const load of starters.filter((each) => consumers.includes(each))) {
      const leg = legOf(load, set, context)!;
      const increment = startIncrement(load, 'W', context);
      if (increment?.kind !== 'known') continue;
      const parts = consumers.flatMap((consumer, index) => {
        const own = legOf(consumer, set, context);
        const part = result.derivation.inputs[index]!;
        if (own !== undefined && own !== leg) return [];
        if (own === leg) return [part];
        const half = derive(part.name, numberIn(part, 'W') / 2, 'W', { formula: 'P/2', inputs: [part] });
        return [part.symbol ? { ...half, symbol: part.symbol } : half];
      });
      const power = sumOf(`power on leg ${leg} while a motor starts`, 'P_start', 'W', [...parts, increment.derivation]);
      if (!worst || numberIn(power, 'W') > numberIn(worst.power, 'W')) worst = { load, leg, power };
    }
  }
  if (!worst || numberIn(worst.power, 'W') <= (numberIn(usable.derivation, 'W') / 2) * (1 + 1e-9)) return [];
  if (!surge || !rated) return [`surge of ${set.name}`];
  const limit = derive(
    'surge power of one leg at the site',
    (numberIn(surge, 'W') * numberIn(usable.derivation, 'W')) / numberIn(rated, 'W') / 2,
    'W',
    { symbol: 'P_leg', formula: 'P_s·P_site/(2·P_r)', inputs: [surge, usable.derivation, rated] },
  );
  if (numberIn(worst.power, 'W') <= numberIn(limit, 'W') * (1 + 1e-9)) return [];
  const { load, leg, power } = worst;
  const [asked, given] = pairText(power, limit);
  yield {
    verdict: 'failed',
    subject: set.path,
    place: placeOf(set, 'surge'),
    headline: `${set.name} needs ${asked} on ${leg} while ${load.name} starts; one leg gives ${given}`,
    why: `half of its surge for a few seconds; start at ${displayValue(context.maybe(load, 'startFactor')!)} times its running power`,
    advice: `Move ${load.name} or what runs beside it to the other leg, use a soft starter, or a motor for both legs.`,
    use: atMost(power, limit),
    numbers: { demand: power, limit },
    related: [{ place: load.place, text: `${load.name} starts here` }],
  };
  return [];
}

/** The dip of the voltage at the start of the largest motor; facts that are open otherwise. */
function* judgeDip(set: Instance, loads: readonly Instance[], context: DesignContext): Generator<Verdict, string[]> {
  const waveform = context.maybe(set, 'waveform')?.value;
  const limit = context.setting('dipLimit');
  // An output stage holds its voltage until its current limit, which is the matter of the surge rating.
  if (waveform === 'inverter' || !limit) return [];
  const starters = loads.filter((load) => context.maybe(load, 'startFactor'));
  if (starters.length === 0) return [];
  const powers = collect(starters.map((load) => context.quantity(load, 'startApparent')));
  const rating = context.quantity(set, 'apparentRating');
  const facts = collect([...(powers.ok ? [] : [powers.result]), rating]);
  if (!facts.ok || !powers.ok || rating.kind !== 'known')
    return !facts.ok && facts.result.kind === 'missing' ? [...facts.result.missing] : [];
  // On one leg of a split-phase set half of the alternator holds the voltage up.
  const weight = (at: number): number =>
    numberIn(powers.derivations[at]!, 'VA') * (legOf(starters[at]!, set, context) ? 2 : 1);
  const index = powers.derivations.reduce((so, _, at) => (weight(at) > weight(so) ? at : so), 0);
  const starting = powers.derivations[index]!;
  const load = starters[index]!;
  const leg = legOf(load, set, context);
  const held = leg
    ? derive(`apparent power of leg ${leg}`, numberIn(rating.derivation, 'VA') / 2, 'VA', {
        symbol: 'S_leg',
        formula: 'S_r/2',
        inputs: [rating.derivation],
      })
    : rating.derivation;
  const reactance = context.maybe(set, 'reactance');
  const dip = callFunction(calculation('voltageDip'), { starting, rating: held, reactance });
  if (dip.kind !== 'known') return [];
  const most = numberIn(limit, '');
  if (numberIn(dip.derivation, '') <= most * (1 + 1e-9)) return [];
  if (waveform !== 'conventional') return [`waveform of ${set.name}`];
  const usual = generatorPractice('transient-reactance');
  const x = reactance ? numberIn(reactance, '') : usual.value;
  const soft = (most * numberIn(held, 'kVA')) / (x * (1 - most));
  const larger = ((leg ? 2 : 1) * numberIn(starting, 'kVA') * x * (1 - most)) / most;
  const [dips, allowed] = formatPair(quantity(numberIn(dip.derivation, '%'), '%'), quantity(most * 100, '%'));
  yield {
    verdict: 'failed',
    subject: set.path,
    place: placeOf(set, 'apparent'),
    headline: `The voltage of ${leg ? `leg ${leg} of ` : ''}${set.name} dips by ${dips} when ${load.name} starts; ${allowed} allowed`,
    why: `${displayValue(starting, 3)} on ${displayValue(held)}${leg ? ', half of the generator' : ''}; reactance ${formatNumber(x)}${reactance ? '' : ', usual; not stated'}`,
    rule: limit.origin === 'default' ? 'usual limit, from memory; set by `dipLimit`' : '`dipLimit`',
    consequence: 'contactors drop out and electronics restart',
    advice: `A soft starter that holds the start to ${formatNumber(Math.floor(soft * 100) / 100)} kVA, or a generator of ${formatNumber(Math.ceil(larger * 10) / 10)} kVA, keeps within it.`,
    use: atMost(dip.derivation, limit),
    numbers: { dip: dip.derivation, limit, starting },
    related: [{ place: load.place, text: `${load.name} starts here` }],
  };
  return [];
}

/** The power of a start against the surge power at the site, or against what the generator gives where no surge is stated. */
function startUse(set: Instance, start: Derivation, context: DesignContext): UseOfLimit {
  const usable = context.quantity(set, 'usablePower');
  if (usable.kind !== 'known') return NO_LIMIT;
  const [surge, rated] = [context.maybe(set, 'surge'), context.maybe(set, 'rated')];
  return atMost(start, surge && rated ? surgeAt(surge, rated, usable.derivation) : usable.derivation);
}

const surgeAt = (surge: Derivation, rated: Derivation, usable: Derivation): Derivation =>
  derive('surge power at the site', (numberIn(surge, 'W') * numberIn(usable, 'W')) / numberIn(rated, 'W'), 'W', {
    symbol: 'P_surge',
    formula: 'P_s·P_site/P_r',
    inputs: [surge, usable, rated],
  });
function* judgeSet(set: Instance, context: DesignContext): Generator<Verdict> {
  const loads = loadsOf(set, context);
  if (loads.length === 0) return;
  const both = collect([context.quantity(set, 'powerDemand'), context.quantity(set, 'usablePower')]);
  // A set that is overloaded before anything starts is the matter of `generator-overload`.
  if (both.ok && numberIn(both.derivations[0]!, 'W') > numberIn(both.derivations[1]!, 'W') * (1 + 1e-9)) return;
  let failures = 0;
  const open: string[] = [];
  for (const judge of [judgePower, judgeLeg, judgeDip]) {
    const verdicts = judge(set, loads, context);
    for (let next = verdicts.next(); ; next = verdicts.next()) {
      if (next.done) {
        open.push(...next.value);
        break;
      }
      failures += 1;
      yield next.value;
    }
    // One start, one finding.
    if (failures > 0) return;
  }
  if (open.length > 0) return yield notChecked(set, { kind: 'missing', missing: [...new Set(open)] });
  const start = context.quantity(set, 'startDemand');
  if (start.kind === 'known' || loads.every((load) => !startIncrement(load, 'W', context)))
    yield passed(
      set,
      start.kind === 'known' ? startUse(set, start.derivation, context) : NO_LIMIT,
      start.kind === 'known' ? { demand: start.derivation } : {},
    );
}

export const generatorStarting = defineCheck({
  id: 'generator-starting',
  group: 'sources',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A motor starts on a generator that cannot give the starting power, or whose voltage dips too far.',
    guards: 'The engine stalls, contactors drop out, chargers and electronics restart at every start of the pump.',
    how: points(
      'For each state in which the generator runs: chargers, the loads that can run at the same time of the day, and the largest start on top of them (one piece, `startFactor` times its running power).',
      'That is held against the running power of the generator, and where it is not enough against its `surge`, both as the site leaves them; a start on one leg of a split-phase generator against half of them, with what else stands on that leg.',
      'The dip at the start of the largest motor is S·X′d/(S_r + S·X′d) with the generator’s `reactance` (0.25 where it is not stated, from memory), held against `dipLimit` of the design (20 % unless said, from memory). Generators with an output stage are exempt from it.',
      'Loads that state no `startFactor` count as starting smoothly.',
    ),
    fix: 'Use a soft start or a smaller motor, start it from the bank, or use a larger generator.',
    sources: [
      {
        standard: 'voltage divider of transient reactance and motor at standstill',
        provenance: 'common practice, no source',
      },
      generatorPractice('dip-motor-start').source,
      generatorPractice('transient-reactance').source,
      PRACTICE,
    ],
    failing: `design Farm {
  generator Genset { rated: 5 kW   surge: 6 kW   voltage: 230 V   waveform: inverter }
  load Pump { power: 1.5 kW   startFactor: 5 }
  run Cord: Genset -> Pump { size: 4 mm2   length: 10 m }
}
`,
    passing: `design Farm {
  generator Genset { rated: 5 kW   surge: 6 kW   voltage: 230 V   waveform: inverter }
  load Pump { power: 1.5 kW   startFactor: 3 }
  run Cord: Genset -> Pump { size: 4 mm2   length: 10 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances) if (isSet(instance)) yield* judgeSet(instance, context);
  },
});
