import { type Derivation, deriveQuantity, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Control, Property } from '../../model/types.js';
import { defineCheck, type Fix, type Verdict, atMost, NO_LIMIT } from '../define.js';
import { propose } from '../fixes.js';
import { notChecked, pairText, passed } from '../verdicts.js';

/** A time that a control states, or one of its fallbacks. */
const timeOf = (property: Property | undefined, name: string): Derivation | undefined =>
  property?.value.type === 'quantity'
    ? deriveQuantity(name, property.value.quantity, {
        origin: 'stated',
        ...(property.place ? { place: property.place } : {}),
      })
    : undefined;

interface Times {
  readonly title: string;
  readonly least: Property | undefined;
  readonly most: Property | undefined;
}

/** The times that hold together: those of a control, and of each fallback that states its own. */
function timesOf({ name, properties: own, fallbacks }: Control): Times[] {
  return [
    { title: name, least: own.get('minimumRun'), most: own.get('maximumRun') },
    ...fallbacks
      .filter(({ properties }) => properties.has('minimumRun') || properties.has('maximumRun'))
      .map(({ link, properties }) => ({
        title: `${name} without ${link.name}`,
        least: properties.get('minimumRun') ?? own.get('minimumRun'),
        most: properties.get('maximumRun') ?? own.get('maximumRun'),
      })),
  ];
}

/** The least run written with the value of the longest, where the text can be changed. */
function asLongAs(least: Property, most: Property): Fix[] {
  if (!least.place || least.inheritedFrom !== undefined) return [];
  return [propose(`Let it run for ${most.text} at least, too`, [{ place: least.place, text: most.text }], true)];
}

function* judgeTimes({ title, least, most }: Times, control: Control, context: DesignContext): Generator<Verdict> {
  const run = timeOf(least, 'least run');
  if (!least || !run) return;
  const place = least.place ?? control.place;
  const base = { verdict: 'failed', subject: control.path, place } as const;
  const { name } = control.target;
  const end = timeOf(most, 'longest run');
  if (end && numberIn(end, 's') > 0 && numberIn(run, 's') > numberIn(end, 's') * (1 + 1e-9)) {
    const [atLeastText, atMostText] = pairText(run, end);
    return yield {
      ...base,
      headline: `${title} lets ${name} run for ${atLeastText} at least but ${atMostText} at most`,
      why: 'the longest run ends every run, so that no stop rule counts',
      advice: 'Make `minimumRun` the shorter of the two.',
      use: atMost(run, end),
      numbers: { least: run, most: end },
      fixes: asLongAs(least, most!),
    };
  }
  const tank = context.maybe(control.target, 'tank');
  if (!tank) return yield passed(control, end && numberIn(end, 's') > 0 ? atMost(run, end) : NO_LIMIT, { least: run });
  const lasts = context.quantity(control.target, 'tankTime');
  if (lasts.kind !== 'known') return yield notChecked(control, lasts);
  const numbers = { least: run, tank: lasts.derivation };
  const use = atMost(run, lasts.derivation);
  if (numberIn(run, 's') <= numberIn(lasts.derivation, 's') * (1 + 1e-9)) return yield passed(control, use, numbers);
  const [atLeastText, time] = pairText(run, lasts.derivation);
  yield {
    ...base,
    headline: `${title} lets ${name} run for ${atLeastText} at least; its tank lasts ${time}`,
    why: `tank of ${displayValue(tank)}`,
    consequence: 'it stops without fuel',
    advice: 'Shorten `minimumRun`.',
    use,
    numbers,
  };
}

export const controlTimes = defineCheck({
  id: 'control-times',
  group: 'control',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'The times of a control contradict each other or the tank: it must run for longer than it may, or than its fuel lasts.',
    guards: 'Stop rules that are never heard, and a generator that runs dry by rule.',
    how: '`minimumRun` is held against `maximumRun`, with those of a fallback where it states its own, and against the time that one tank lasts at the mean power of the generator (`tankTime`). That a least run keeps a generator running after the bank is charged is reported by `stop-unreachable`.',
    fix: 'Shorten the least run, lengthen the most, or fit a larger tank.',
    sources: [{ standard: 'common practice, no source', provenance: 'common practice, no source' }],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  battery Bank : Lfp48V280Ah
  control Autostart of Genset {
    start when soc(Bank) < 40 %
    stop when soc(Bank) > 85 %
    minimumRun: 12 h   maximumRun: 6 h
  }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  battery Bank : Lfp48V280Ah
  control Autostart of Genset {
    start when soc(Bank) < 40 %
    stop when soc(Bank) > 85 %
    minimumRun: 2 h   maximumRun: 6 h
  }
}
`,
  },
  judge: function* (context) {
    for (const control of context.system.controls)
      for (const times of timesOf(control)) yield* judgeTimes(times, control, context);
  },
});
