import { columnOf } from './answers.js';
import type { Comparison } from './contract.js';
import { type Thing, chargingIn, ofKind, stated } from './draft.js';
import { type DraftPlay, busVolts } from './plays.js';

/** Rounding of the numbers of a play, as share of the largest current. */
const ROUNDING = 1e-6;

/**
 * Currents at the bus of a play sum to 0: what regulators give goes into banks, loads and inverters. Only where no cables are stated, so that
 * all of them see one voltage. What an inverter draws is not recorded, but lies between what it gives and that with its loss at full load.
 */
export function balanceOf(of: DraftPlay): Comparison[] {
  const { draft, played } = of;
  if (draft.hasCables) return [];
  // A load behind a converter draws what that loses too.
  const down = ofKind(draft, 'converter').find(({ name }) => name === 'Down');
  const efficiencyTo = (load: string): number => (down && load === 'Small' ? stated(down, 'efficiency')! / 100 : 1);
  const column = (name: string): Float64Array | undefined =>
    played.series.columns.some((each) => each.name === name) ? columnOf(played, name) : undefined;
  const columns = (things: readonly Thing[], signal: string): Float64Array[] =>
    things.flatMap(({ name }) => column(`${signal}(${name})`) ?? []);
  const volts = busVolts(of);
  const into = columns(ofKind(draft, 'battery'), 'current');
  const given = columns(chargingIn(draft), 'current');
  const loads = ofKind(draft, 'load')
    .filter(({ facts }) => facts['supply'] === 'dc')
    .map((load) => columnOf(played, `power(${load.name})`).map((watts) => watts / efficiencyTo(load.name)));
  const inverters = ofKind(draft, 'inverter');
  const carried = columns(inverters, 'power');
  const lost = inverters.reduce((sum, each) => {
    const efficiency = stated(each, 'efficiency')! / 100;
    // Not stated, its idle power is 1 % of the rating or so; the loss at full load holds it.
    return sum + stated(each, 'rated')! * (1 / efficiency - 1) + (stated(each, 'idle') ?? 0);
  }, 0);
  const sum = (of: readonly Float64Array[], at: number): number => of.reduce((so, each) => so + each[at]!, 0);
  let worst: { readonly off: number; readonly at: number } | undefined;
  played.series.time.forEach((_, at) => {
    const bus = volts(at);
    if (!(bus > 0)) return;
    const rest = sum(given, at) - sum(into, at) - sum(loads, at) / bus;
    const most = (sum(carried, at) + lost) / bus;
    const scale = Math.max(1, sum(given, at), ...into.map((each) => Math.abs(each[at]!)));
    // An inverter that passes its supply on gives without drawing.
    const off = Math.max(-rest, rest - most) / scale;
    if (off > ROUNDING && off > (worst?.off ?? 0)) worst = { off, at };
  });
  return [
    {
      of: 'balance',
      seed: draft.seed,
      what: 'currents at the bus',
      ...(worst
        ? { fault: `off by ${worst.off.toPrecision(3)} of the largest after ${played.series.time[worst.at]} s` }
        : {}),
      text: of.text,
    },
  ];
}
