import type { DesignContext } from '../../model/context.js';
import type { Place } from '../../derivation/index.js';
import type { Control, Instance, Link, Rule } from '../../model/types.js';
import { defineCheck, type Fix, type Verdict, NO_LIMIT } from '../define.js';
import { insertText, propose } from '../fixes.js';
import { passed } from '../verdicts.js';
import { numberIn } from '../../derivation/index.js';
import { chemistry } from '../../reference/energy/chemistries.js';
import { carrierOf, secondsText, watchedBy } from '../../control/index.js';
import type { RuleSignal, StateSignal } from '../../model/conditions.js';
import { ruleSets, switchesOn } from './rules.js';
import { isAcCharger, isStarted } from '../../model/roles.js';
import { chargersOf } from '../../quantities/supply/joined.js';

/** A fallback on voltage with the usual figures of the chemistry: start, and stop below the absorption set point. */
function voltageFallback(control: Control, link: Link, bank: Instance, context: DesignContext): Fix[] {
  const name = context.maybe(bank, 'chemistry')?.value;
  const row = typeof name === 'string' ? chemistry(name) : undefined;
  const count = context.quantity(bank, 'cellCount');
  const highest = context.quantity(bank, 'highestVoltage');
  if (!row || count.kind !== 'known' || highest.kind !== 'known' || !isStarted(control.target)) return [];
  const cells = numberIn(count.derivation, '');
  const start = Number((row.generatorStart * cells).toFixed(1));
  const stop = Number((numberIn(highest.derivation, 'V') - 0.03 * cells).toFixed(1));
  if (stop <= start) return [];
  const dwell = dwellBeforeFloat(bank, context);
  const text = `without ${link.name} { start when voltage(${bank.name}) < ${start} V for 3 min   stop when voltage(${bank.name}) > ${stop} V for ${secondsText(dwell)} }`;
  return [
    propose(
      `Fall back on voltage: start below ${start} V, stop above ${stop} V`,
      [insertText(control.insert, text)],
      true,
    ),
  ];
}

/** A stop on voltage must hold before the chargers float: half their tail, 5 min where they never do; in s (common practice, no source). */
function dwellBeforeFloat(bank: Instance, context: DesignContext): number {
  const tails = chargersOf(bank, context)
    .filter((charger) => isAcCharger(charger) && context.maybe(charger, 'float'))
    .map((charger) => {
      const tail = context.maybe(charger, 'tailTime');
      return tail ? numberIn(tail, 's') / 2 : 0;
    });
  return Math.round(Math.max(30, Math.min(300, ...tails)));
}

interface Watched {
  readonly signal: StateSignal | RuleSignal;
  readonly of: Instance;
  readonly place: Place;
}

/** Every signal that rules compare, whatever the form of their conditions. */
const watchedIn = (rules: readonly Rule[]): Watched[] =>
  rules.flatMap((rule) =>
    watchedBy(rule).flatMap(({ terms, place }) =>
      terms.flatMap(({ signal }) => (signal.kind === 'of' ? [{ signal: signal.signal, of: signal.of, place }] : [])),
    ),
  );

function* judgeControl(control: Control, context: DesignContext): Generator<Verdict> {
  const [own] = ruleSets(control);
  const told = new Set<Link>();
  const isOn = isStarted(control.target) ? ['started', 'stopped'] : ['switched on', 'switched off'];
  for (const { signal, of, place } of watchedIn(own!.rules)) {
    const link = carrierOf(signal, of, control, context.system.links);
    if (!link || told.has(link)) continue;
    told.add(link);
    const watched = `${signal}(${of.name})`;
    const related = [{ place: link.place, text: `${link.name} carries it` }];
    const fallback = control.fallbacks.find((each) => each.link === link);
    const blind = watchedIn(fallback?.rules ?? []).find(
      (each) => carrierOf(each.signal, each.of, control, context.system.links) === link,
    );
    if (blind) {
      yield {
        verdict: 'failed',
        subject: control.path,
        place: blind.place,
        headline: `The fallback of ${control.name} for the loss of ${link.name} watches a signal of ${link.name}`,
        why: `${blind.signal}(${blind.of.name}) comes over that link`,
        advice: 'Watch a voltage that is measured on the spot.',
        use: NO_LIMIT,
        related,
      };
      continue;
    }
    const [starts, stops] = [true, false].map((on) => fallback?.rules.some((rule) => switchesOn(rule) === on) ?? false);
    if (starts && stops) {
      yield passed(control, NO_LIMIT);
      continue;
    }
    const what = fallback
      ? `its fallback has no rule by which ${control.target.name} is ${starts ? isOn[1] : isOn[0]}`
      : `without it ${control.target.name} is not ${isOn[0]}, or never ${isOn[1]}`;
    yield {
      verdict: 'failed',
      subject: control.path,
      place: fallback?.place ?? place,
      headline: `${control.name} watches ${watched} over ${link.name}, with no complete fallback`,
      why: what,
      advice: `Write \`without ${link.name} { … }\` with rules on a voltage that is measured on the spot.`,
      use: NO_LIMIT,
      related,
      fixes: fallback ? [] : voltageFallback(control, link, of, context),
    };
  }
}

export const noFallback = defineCheck({
  id: 'no-fallback',
  group: 'control',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A control rule watches a signal that comes over a link and says nothing for the loss of the link.',
    guards: 'The battery link drops at night, and nothing starts the generator.',
    how: 'State of charge, current, power and temperature of a thing that has a link count as coming over it; a voltage is taken as measured on the spot. For each such link the control needs a fallback (`without LINK { … }`) with a rule to switch on and one to switch off, on signals that do not come over the same link.',
    fix: 'Add `without LINK { … }` with rules on what is measured without the link: voltage, the clock.',
    sources: [
      { standard: 'service statistics of battery links', table: '100 calls, unaudited', provenance: 'published' },
      { standard: 'common practice, no source', provenance: 'common practice, no source' },
    ],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { absorb: 56 V }
  battery Bank : Lfp48V280Ah
  link BmsLink: Bank -> Rect { medium: can }
  control Autostart of Genset {
    start when soc(Bank) < 40 %
    stop when soc(Bank) > 80 %
  }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  charger Rect { absorb: 56 V }
  battery Bank : Lfp48V280Ah
  link BmsLink: Bank -> Rect { medium: can }
  control Autostart of Genset {
    start when soc(Bank) < 40 %
    stop when soc(Bank) > 80 %
    without BmsLink {
      start when voltage(Bank) < 50.4 V for 3 min
      stop when voltage(Bank) > 55.2 V for 5 min
    }
  }
}
`,
  },
  judge: function* (context) {
    for (const control of context.system.controls) yield* judgeControl(control, context);
  },
});
