import { type Derivation, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { chargesAt, isBank, isBusCharger, isLoad, takesToConvert } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { lowEnd } from '../../quantities/ends.js';
import { isProtected } from '../../quantities/storage/bank.js';
import { banksAt, runsWithEngine } from '../../quantities/supply/joined.js';
import { NO_LIMIT, type Verdict, atLeast, defineCheck } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, pairText, passed, placeOf } from '../verdicts.js';
import { PRACTICE, isSwitchedOffBy } from './shared.js';

/** Down to which voltage a thing draws: its lowest voltage, or the low end of its input. */
type LowEnd = 'minimumVoltage' | 'input';

/** A window from another low end on. */
function windowFrom(converter: Instance, lowest: Derivation, context: DesignContext): string {
  const window = context.maybe(converter, 'input')?.value;
  const high = typeof window === 'object' ? window.high : 0;
  const volts = numberIn(lowest, 'V');
  return high > volts ? `${volts}..${high} V` : displayValue(lowest);
}

function* judge(load: Instance, property: LowEnd, bank: Instance, context: DesignContext): Generator<Verdict> {
  if (isSwitchedOffBy(load, bank, context)) return yield passed(load, NO_LIMIT);
  const found = context.quantity(bank, 'lowestVoltage');
  const stated = context.maybe(load, property);
  if (found.kind !== 'known' || !stated) {
    const missing = stated ? [] : [`${property} of ${load.name}`];
    return yield notChecked(load, found.kind === 'known' ? { kind: 'missing', missing } : found);
  }
  const lowest: Derivation = found.derivation;
  const least = lowEnd(stated);
  const [use, numbers] = [atLeast(least, lowest), { [property]: least, lowest }];
  if (numberIn(least, 'V') >= numberIn(lowest, 'V') * (1 - 1e-9)) return yield passed(load, use, numbers);
  const [off, needed] = pairText(least, lowest);
  const raised = property === 'minimumVoltage' ? displayValue(lowest) : windowFrom(load, lowest, context);
  yield {
    verdict: 'failed',
    subject: load.path,
    place: placeOf(load, property),
    headline: `${load.name} draws down to ${off}; the cells of ${bank.name} need ${needed}`,
    why: 'lead-acid units have no disconnect of their own',
    consequence: 'the cells are discharged too deeply, and it draws more than its cable was sized for',
    use,
    numbers,
    related: [{ place: bank.place, text: `${bank.name} is not discharged below ${needed}` }],
    fixes: [propose(`Disconnect ${load.name} at ${displayValue(lowest)}`, [setProperty(load, property, raised)], true)],
  };
}

/** The banks that a converter draws from, whatever runs: behind an engine one that charges a bank works while the engine does. */
function banksBefore(converter: Instance, context: DesignContext): readonly Instance[] {
  const { graph } = context;
  const nodes = graph.nodesOf(converter);
  const input = nodes.find(takesToConvert);
  const before = input ? graph.joinedTo(input) : [];
  const output = nodes.find(chargesAt);
  const isCharger = output !== undefined && graph.joinedTo(output).some(isBank);
  return isCharger && before.some(runsWithEngine) ? [] : before.filter(isBank);
}

export const loadCutoff = defineCheck({
  id: 'load-cutoff',
  group: 'storage',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds:
      'A load or converter on the bus of a bank without a BMS keeps drawing below the lowest voltage of its cells.',
    guards:
      'Lead-acid cells that are discharged too deeply, and conductors that overheat: a load of constant power draws more current the lower the voltage.',
    how: '`minimumVoltage` of a load says down to which voltage of the bus it draws: its own cut-off, or that of a disconnect before it. It must not lie below the lowest voltage of the bank (`lowestVoltage`), at which its currents are worked out. A rule that switches the load off by what the bank shows will do instead. A BMS disconnects by itself. Where nothing is stated that is a question.',
    fix: 'Raise the cut-off of the load, fit a low-voltage disconnect before it (and state the voltage at which it opens), or let a rule switch it off by what the bank shows.',
    sources: [PRACTICE],
    failing: `design Boat {
  battery House { chemistry: agm   voltage: 12 V   cells: 6   capacity: 100 Ah }
  load Fridge { power: 60 W   supply: dc   minimumVoltage: 9 V }
  run Feed: House -> Fridge { size: 4 mm2   length: 3 m }
}
`,
    passing: `design Boat {
  battery House { chemistry: agm   voltage: 12 V   cells: 6   capacity: 100 Ah }
  load Fridge { power: 60 W   supply: dc   minimumVoltage: 10.8 V }
  run Feed: House -> Fridge { size: 4 mm2   length: 3 m }
}
`,
  },
  judge: function* (context) {
    for (const load of context.system.instances) {
      const property = isLoad(load) ? 'minimumVoltage' : isBusCharger(load) ? 'input' : undefined;
      if (!property) continue;
      const banks = isLoad(load) ? banksAt(load, context) : banksBefore(load, context);
      for (const bank of banks) if (!isProtected(bank, context)) yield* judge(load, property, bank, context);
    }
  },
});
