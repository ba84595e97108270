import type { DesignContext } from '../../model/context.js';
import { isAcSource } from '../../model/network.js';
import type { Instance } from '../../model/types.js';
import { defineCheck, type Verdict } from '../define.js';
import { basisText, notChecked, passed } from '../verdicts.js';

interface Meeting {
  readonly at: Instance;
  readonly feeders: readonly Instance[];
  readonly title: string;
}

/** Node by node: which two sources drive one conductor at the same time, in the first state in which they do. */
function meetings(context: DesignContext): Meeting[] {
  const found = new Map<string, Meeting>();
  for (const { state, circuit } of context.circuitStates) {
    for (const [key, feeders] of circuit.supply) {
      if (feeders.size < 2) continue;
      const node = context.graph.nodes.get(key);
      if (!node) continue;
      const names = [...feeders].map(({ name }) => name).sort();
      const before = found.get(names.join());
      // A busbar says best where they meet.
      if (before && (before.at.kind === 'bus' || node.instance.kind !== 'bus')) continue;
      found.set(names.join(), { at: node.instance, feeders: [...feeders], title: before?.title ?? state.title });
    }
  }
  return [...found.values()];
}

/** Sources that are off in a state but whose terminals another source makes live. */
function backfeeds(context: DesignContext): { dead: Instance; feeder: Instance; title: string }[] {
  const found = new Map<string, { dead: Instance; feeder: Instance; title: string }>();
  for (const { state, circuit } of context.circuitStates) {
    for (const source of context.system.instances) {
      if (!isAcSource(source) || state.acSources.includes(source)) continue;
      for (const feeder of circuit.supply.get(`${source.name}.ac`) ?? []) {
        const key = `${source.name} ${feeder.name}`;
        if (!found.has(key)) found.set(key, { dead: source, feeder, title: state.title });
      }
    }
  }
  return [...found.values()];
}

function* judge(context: DesignContext): Generator<Verdict> {
  const { system } = context;
  const rule = basisText(system.basis);
  const met = meetings(context);
  const told = new Set<string>();
  for (const { at, feeders, title } of met) {
    const names = feeders.map(({ name }) => name);
    if (feeders.every(({ kind }) => kind === 'inverter')) {
      yield notChecked(at, { kind: 'missing', missing: [`whether ${names.join(' and ')} may run in parallel`] });
      continue;
    }
    // Three sources on one bus are three pairs and one mistake.
    if ([...told].some((before) => names.every((name) => before.split(',').includes(name)))) continue;
    told.add(names.join(','));
    yield {
      verdict: 'failed',
      subject: at.path,
      place: at.place,
      message: `${names.join(' and ')} can feed ${at.name} at the same time (with ${title}): they are out of step and nothing keeps them apart. Put transfer gear or an interlock between them (${rule}: NEC 702.5, IEC 60364-5-55 551.6), or feed one through a charger.`,
      related: feeders.map((feeder) => ({ place: feeder.place, text: `${feeder.name} feeds ${at.name}` })),
    };
  }
  for (const { dead, feeder, title } of backfeeds(context)) {
    if ([...told].some((before) => before.split(',').includes(dead.name) && before.split(',').includes(feeder.name)))
      continue;
    told.add(`${dead.name},${feeder.name}`);
    yield {
      verdict: 'failed',
      subject: dead.path,
      place: dead.place,
      message: `With ${title}, ${feeder.name} feeds back into ${dead.name} while it is off: its plug pins or lines are live, which can kill someone at work on them. Put transfer gear between them (${rule}: NEC 702.5, IEC 60364-5-55 551.6).`,
      related: [{ place: feeder.place, text: `${feeder.name} makes the terminals of ${dead.name} live` }],
    };
  }
  if (
    told.size === 0 &&
    system.instances.filter((instance) => isAcSource(instance) || instance.kind === 'inverter').length > 1
  ) {
    yield passed({ path: system.name });
  }
}

export const twoSourcesOneBus = defineCheck({
  id: 'two-sources-one-bus',
  group: 'conductors',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'Two AC sources can feed the same conductor at once, or one feeds back into another that is off.',
    guards: 'Sources out of step destroy each other; a dead supply made live from behind kills people who work on it.',
    how: 'In every source state it is followed what feeds each AC node, through busbars, transfer gear and pass-through inverters. A node with two feeders, or the terminals of a source that is off and live all the same, is an error. Whether inverters may run in parallel is asked, not guessed.',
    sources: [
      { standard: 'NEC', edition: '2017-2023', table: '702.5, 705.12', provenance: 'from memory' },
      { standard: 'IEC 60364-5-55', table: '551.6', provenance: 'from memory' },
    ],
    failing: `design Cabin {
  generator Genset { rated: 5 kW   voltage: 230 V   neutralBond: bonded }
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 5 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   neutralBond: floating }
  bus Panel { rating: 40 A }
  load Lights { power: 500 W }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
  run FromSet: Genset -> Panel { size: 6 mm2   length: 8 m }
  run FromInv: Inv.ac -> Panel { size: 6 mm2   length: 2 m }
  run Line: Panel -> Lights { size: 1.5 mm2   length: 10 m }
}
`,
    passing: `design Cabin {
  generator Genset { rated: 5 kW   voltage: 230 V   neutralBond: bonded }
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 5 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   neutralBond: bonded }
  transfer Ats { switches: phases-and-neutral   rating: 40 A }
  bus Panel { rating: 40 A }
  load Lights { power: 500 W }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
  run FromSet: Genset -> Ats.normal { size: 6 mm2   length: 8 m }
  run FromInv: Inv.ac -> Ats.standby { size: 6 mm2   length: 2 m }
  run ToPanel: Ats.out -> Panel { size: 6 mm2   length: 2 m }
  run Line: Panel -> Lights { size: 1.5 mm2   length: 10 m }
}
`,
  },
  judge,
});
