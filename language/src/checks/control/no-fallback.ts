import type { DesignContext } from '../../model/context.js';
import type { Control, Instance, Link } from '../../model/types.js';
import { defineCheck, type Fix, type Verdict } from '../define.js';
import { insertText, propose } from '../fixes.js';
import { passed } from '../verdicts.js';
import { numberIn } from '../../derivation/index.js';
import { chemistry } from '../../reference/energy/chemistries.js';
import { ruleSets, switchesOn } from './rules.js';

/** The link a signal of a thing comes over: any link that ends at it. State of charge is known only to the bank’s own electronics; a voltage can be measured at once. */
function linkOf(signal: string, thing: Instance, context: DesignContext): Link | undefined {
  if (signal === 'voltage') return undefined;
  return context.system.links.find(({ from, to }) => from === thing || to === thing);
}

/** A fallback on voltage with the usual figures of the chemistry: start, and stop below the absorption set point. */
function voltageFallback(control: Control, link: Link, bank: Instance, context: DesignContext): Fix[] {
  const name = context.maybe(bank, 'chemistry')?.value;
  const row = typeof name === 'string' ? chemistry(name) : undefined;
  const count = context.quantity(bank, 'cellCount');
  const highest = context.quantity(bank, 'highestVoltage');
  if (!row || count.kind !== 'known' || highest.kind !== 'known' || control.target.kind !== 'generator') return [];
  const cells = numberIn(count.derivation, '');
  const start = Number((row.generatorStart * cells).toFixed(1));
  const stop = Number((numberIn(highest.derivation, 'V') - 0.03 * cells).toFixed(1));
  if (stop <= start) return [];
  const text = `without ${link.name} { start when voltage(${bank.name}) < ${start} V for 3 min   stop when voltage(${bank.name}) > ${stop} V for 20 min }`;
  return [
    propose(
      `Fall back on voltage: start below ${start} V, stop above ${stop} V`,
      [insertText(control.insert, text)],
      true,
    ),
  ];
}

function* judgeControl(control: Control, context: DesignContext): Generator<Verdict> {
  const [own] = ruleSets(control);
  const told = new Set<Link>();
  for (const rule of own!.rules) {
    for (const threshold of rule.thresholds) {
      const link = linkOf(threshold.signal, threshold.of, context);
      if (!link || told.has(link)) continue;
      told.add(link);
      const fallback = control.fallbacks.find((each) => each.link === link);
      const isWhole =
        fallback !== undefined && fallback.rules.some(switchesOn) && fallback.rules.some((each) => !switchesOn(each));
      if (isWhole) {
        yield passed(control);
        continue;
      }
      const what = fallback
        ? `its fallback has no rule that ${fallback.rules.some(switchesOn) ? 'stops' : 'starts'} it`
        : 'nothing is said for its loss';
      yield {
        verdict: 'failed',
        subject: control.path,
        place: fallback?.place ?? threshold.place,
        message: `${control.name} watches ${threshold.signal}(${threshold.of.name}), which comes over ${link.name}, and ${what}: when the link drops, ${control.target.name} is not started, or never stopped. Write \`without ${link.name} { … }\` with rules on a voltage that is measured on the spot.`,
        related: [{ place: link.place, text: `${link.name} carries it` }],
        fixes: fallback ? [] : voltageFallback(control, link, threshold.of, context),
      };
    }
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
    how: 'State of charge, current, power and temperature of a thing that has a link count as coming over it; a voltage is taken as measured on the spot. For each such link the control needs a fallback (`without LINK { … }`) with a rule to switch on and one to switch off.',
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
      stop when voltage(Bank) > 55.2 V for 20 min
    }
  }
}
`,
  },
  judge: function* (context) {
    for (const control of context.system.controls) yield* judgeControl(control, context);
  },
});
