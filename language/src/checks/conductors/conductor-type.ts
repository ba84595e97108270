import { type Derivation, derive, deriveQuantity, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { nominalVolts } from '../../model/network.js';
import type { Part, Run } from '../../model/types.js';
import { systemOf } from '../../quantities/supply/supply.js';
import { defineCheck, type Verdict, atMost, NO_LIMIT } from '../define.js';
import { basisText, notChecked, pairText, passed, placeOf, whyOf } from '../verdicts.js';
import { highestVoltageAt, isMissing } from './device-ratings.js';
import { MEMORY } from './shared.js';
import { flagIn } from '../../model/stated-facts.js';

/** Wiring up to this voltage follows rules of its own in vehicles and craft, V: NEC 551.10, 552.10 (from memory). */
const LOW_VOLTAGE = 30;

const typeOf = (run: Run): Part | undefined => {
  const value = run.properties.get('type')?.value;
  return value?.type === 'part' ? value.part : undefined;
};

/** The highest voltage on a run in any source state; what lacks to know it. */
interface OnRun {
  readonly voltage?: Derivation;
  readonly lacking: readonly string[];
}

function voltageOn(run: Run, context: DesignContext): OnRun {
  const node = context.graph.nodeOf(run.from);
  if (run.carries !== 'ac') {
    const highest = highestVoltageAt(node, run.name, context);
    return isMissing(highest) ? { lacking: highest.missing } : highest;
  }
  const systems = context.circuitStates.flatMap(({ circuit }) =>
    [...(circuit.supply.get(node.key) ?? [])].flatMap((source) => systemOf(source) ?? []),
  );
  if (systems.length === 0) return { lacking: [`voltage of what feeds ${run.name}`] };
  const [system] = systems;
  return {
    voltage: derive('highest supply voltage', Math.max(...systems.map(nominalVolts)), 'V', {
      symbol: 'U',
      notes: [system!.text],
    }),
    lacking: [],
  };
}

/** Whether the data of a type say that they are from memory: what rests on them is at most a warning. */
const isFromMemory = (type: Part): boolean => {
  const sheet = type.properties.get('dataSheet')?.value;
  return sheet?.type === 'text' && sheet.text.includes('from memory');
};

function* judgeVoltage(run: Run, type: Part, { voltage, lacking }: OnRun): Generator<Verdict> {
  const rated = type.properties.get('voltage')?.value;
  if (rated?.type !== 'quantity') return;
  const limit = deriveQuantity(`rated voltage of ${type.name}`, rated.quantity);
  if (voltage && numberIn(voltage, 'V') > numberIn(limit, 'V') * (1 + 1e-9)) {
    const [seen, allowed] = pairText(voltage, limit);
    yield {
      verdict: 'failed',
      subject: run.path,
      place: placeOf(run, 'type'),
      ...(isFromMemory(type) ? { severity: 'warning' as const } : {}),
      headline: `${run.name} works at up to ${seen}; the insulation of ${type.name} is rated ${allowed}`,
      ...whyOf(isFromMemory(type) && 'from memory: read its marking'),
      advice: 'Use a type for that voltage.',
      use: atMost(voltage, limit),
      numbers: { voltage, limit },
    };
    return;
  }
  if (lacking.length > 0) return yield notChecked(run, { kind: 'missing', missing: lacking });
  yield passed(run, voltage ? atMost(voltage, limit) : NO_LIMIT, { limit });
}

/** Types that the practice knows only inside equipment, vehicles and craft. */
function* judgeUse(run: Run, type: Part, { voltage }: OnRun, context: DesignContext): Generator<Verdict> {
  if (context.system.basis.practice !== 'nec' || flagIn(type.properties, 'buildingWire') !== false) return;
  if (run.carries !== 'ac' && (!voltage || numberIn(voltage, 'V') <= LOW_VOLTAGE)) return;
  yield {
    verdict: 'failed',
    subject: run.path,
    place: placeOf(run, 'type'),
    severity: 'warning',
    headline: `${type.name} is no wiring type of the NEC; ${run.name} is fixed wiring`,
    ...whyOf(voltage && `at ${displayValue(voltage)}`),
    rule: `${basisText(context.system.basis)} 310.10, 110.3(B); welding cable only by Article 630`,
    consequence: 'an inspector will not pass it',
    advice: 'Use a cable that is marked as building wire too, such as fine-stranded RHW-2 (FineStranded90).',
    use: NO_LIMIT,
    ...(voltage ? { numbers: { voltage } } : {}),
  };
}

export const conductorTypeCheck = defineCheck({
  id: 'conductor-type',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A conductor is used at a higher voltage than its insulation is rated for, or is of a type that is not made for fixed wiring.',
    guards: 'Insulation that breaks down, and an installation that no inspector approves.',
    how: 'The rated voltage of the type is held against the highest voltage of the run: the highest charge voltage, the open-circuit voltage of the array at the lowest temperature, the line voltage of the supply; a rating from memory makes a warning. Under nec, types that state `buildingWire: no`, such as welding cable, are a warning on alternating current and above 30 V; below that vehicles and craft have rules of their own (from memory).',
    fix: 'Use a type rated for the voltage and made for fixed wiring under the practice.',
    sources: [MEMORY('NEC', '310.10, 110.3(B), 630')],
    failing: `design Barn {
  battery Bank : Lfp48V280Ah
  fuse F1 { class: T   rating: 60 A }
  load Heater { power: 1 kW   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 6 AWG   type: WeldingCable   length: 2 m }
}
`,
    passing: `design Barn {
  battery Bank : Lfp48V280Ah
  fuse F1 { class: T   rating: 60 A }
  load Heater { power: 1 kW   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 6 AWG   type: FineStranded90   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const run of context.system.runs) {
      const type = typeOf(run);
      if (!type) continue;
      const onRun = voltageOn(run, context);
      yield* judgeVoltage(run, type, onRun);
      yield* judgeUse(run, type, onRun, context);
    }
  },
});
