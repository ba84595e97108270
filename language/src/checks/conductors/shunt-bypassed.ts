import type { DesignContext } from '../../model/context.js';
import type { Node } from '../../model/graph.js';
import type { Instance, Run, Stop } from '../../model/types.js';
import { defineCheck, type Fix, type Verdict, NO_LIMIT } from '../define.js';
import { propose, replace } from '../fixes.js';
import { passed } from '../verdicts.js';
import {
  chargesAt,
  chargingOf,
  isBank,
  isBusCharger,
  isLoad,
  isShunt,
  takesToInvert,
  isVehicle,
} from '../../model/roles.js';

/** Things that draw from a bank or charge it, at the terminal where they do. */
const usesBank = (node: Node): boolean =>
  isLoad(node.instance) ||
  takesToInvert(node) ||
  chargesAt(node) ||
  // Whatever its outlet is said to give, it is led to the bank.
  isVehicle(node.instance) ||
  // A converter moves charge from one bus to another: either end counts.
  isBusCharger(node.instance);

/** What is reached from a bank without passing a shunt, each with the first run on the way. */
function around(bank: Node, context: DesignContext): { readonly node: Node; readonly by: Run }[] {
  const seen = new Set([bank.key]);
  const queue: { node: Node; by?: Run }[] = [{ node: bank }];
  const found: { node: Node; by: Run }[] = [];
  for (let at = queue.shift(); at; at = queue.shift()) {
    for (const { run, from, to } of context.graph.segmentsAt(at.node)) {
      const other = from === at.node ? to : from;
      if (seen.has(other.key) || isShunt(other.instance)) continue;
      seen.add(other.key);
      const by = at.by ?? run;
      queue.push({ node: other, by });
      if (usesBank(other)) found.push({ node: other, by });
    }
  }
  return found;
}

/** The shunts in runs that end at a bank: those that are meant to count all of its current. */
function bankShunts(bank: Instance, context: DesignContext): Instance[] {
  const runs = context.system.runs.filter((run) => [run.from, ...run.to].some(({ instance }) => instance === bank));
  const stops = runs.flatMap((run) => [run.from, ...run.through, ...run.to]);
  return [...new Set(stops.map(({ instance }) => instance).filter(isShunt))];
}

const stopAt = (run: Run, instance: Instance): Stop | undefined =>
  [run.from, ...run.to].find((stop) => stop.instance === instance);

function* judgeBank(bank: Instance, context: DesignContext): Generator<Verdict> {
  const [shunt] = bankShunts(bank, context);
  const start = context.graph.nodesOf(bank)[0];
  if (!shunt || !start) return;
  const strays = around(start, context);
  if (strays.length === 0) return yield passed(shunt, NO_LIMIT);
  for (const { node, by } of strays) {
    const stop = stopAt(by, bank);
    const fixes: Fix[] = stop
      ? [propose(`Lead ${by.name} to ${shunt.name} instead of ${bank.name}`, [replace(stop.place, shunt.name)], true)]
      : [];
    const isSupply =
      isVehicle(node.instance) ||
      (chargingOf(node.instance) !== undefined && !takesToInvert(node) && !isBusCharger(node.instance));
    yield {
      verdict: 'failed',
      subject: by.path,
      place: stop?.place ?? by.place,
      headline: `${node.instance.name} ${isSupply ? 'charges' : 'draws from'} ${bank.name} over ${by.name}, past ${shunt.name}`,
      why: 'the shunt does not count this current',
      consequence: `the state of charge drifts ${isSupply ? 'low' : 'high'}`,
      advice: `Join it on the other side of ${shunt.name}, so that only the shunt is on the negative of ${bank.name}.`,
      use: NO_LIMIT,
      related: [{ place: shunt.place, text: `${shunt.name} measures ${bank.name}` }],
      fixes,
    };
  }
}

export const shuntBypassed = defineCheck({
  id: 'shunt-bypassed',
  group: 'conductors',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'Something draws from a bank or charges it without passing the shunt of that bank.',
    guards:
      'A state of charge that drifts away from the truth, and with it every rule that starts or stops a generator by state of charge.',
    how: 'A shunt in a run that ends at a bank is taken to count all current of that bank. Everything that is reached from the bank without passing a shunt is a finding; things that each pass a shunt of their own are not. Design runs stand for both poles: put the shunt where the negative conductor has it.',
    fix: 'Move the cable to the load side of the shunt.',
    sources: [{ standard: 'common practice, no source', provenance: 'common practice, no source' }],
    failing: `design Cabin {
  battery Bank : Lfp24V200Ah
  fuse F1 { class: T   rating: 100 A }
  fuse F2 { class: T   rating: 60 A }
  shunt Meter { rating: 300 A   drop: 50 mV }
  bus Bar {}
  load Lamps { power: 200 W   supply: dc }
  load Pump { power: 400 W   supply: dc }
  run Main: Bank -> F1 @ 150 mm -> Meter -> Bar { size: 2 AWG   type: WeldingCable   length: 1 m }
  run ToLamps: Bar -> Lamps { size: 10 AWG   length: 5 m }
  run ToPump: Bank -> F2 @ 150 mm -> Pump { size: 6 AWG   length: 5 m }
}
`,
    passing: `design Cabin {
  battery Bank : Lfp24V200Ah
  fuse F1 { class: T   rating: 100 A }
  fuse F2 { class: T   rating: 60 A }
  shunt Meter { rating: 300 A   drop: 50 mV }
  bus Bar {}
  load Lamps { power: 200 W   supply: dc }
  load Pump { power: 400 W   supply: dc }
  run Main: Bank -> F1 @ 150 mm -> Meter -> Bar { size: 2 AWG   type: WeldingCable   length: 1 m }
  run ToLamps: Bar -> Lamps { size: 10 AWG   length: 5 m }
  run ToPump: Meter -> F2 @ 150 mm -> Pump { size: 6 AWG   length: 5 m }
}
`,
  },
  judge: function* (context) {
    for (const bank of context.system.instances) if (isBank(bank)) yield* judgeBank(bank, context);
  },
});
