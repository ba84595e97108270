import { POWER_LIMIT } from '../../equipment/charging.js';
import { type Derivation, type Source, derive, displayValue, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { driveOf, windDriveOf } from '../../quantities/plant/drive.js';
import { readCharger } from '../../quantities/plant/chargers.js';
import { formatNumber } from '../../quantity/index.js';
import { defineCheck, type Verdict, atLeast, NO_LIMIT } from '../define.js';
import { propose, setProperties, setProperty } from '../fixes.js';
import { notChecked, pairText, passed, placeOf } from '../verdicts.js';
import { roundUp } from './shared.js';

/** Share of the largest output for which a diversion load is advised. */
const ADVISED = 1.25;
const MEMORY: Source = {
  standard: 'diversion loads of turbines: rated for the largest output, 125 % advised',
  provenance: 'from memory',
};

/** Power for which a diversion load would do: as advised, in whole 100 W. */
const wantedFor = (most: Derivation): Derivation =>
  derive('power of a diversion load that would do', roundUp(numberIn(most, 'W') * ADVISED, 100), 'W', {
    formula: `${ADVISED}·P_max, in whole 100 W`,
    inputs: [most],
  });

function* judgeTurbine(turbine: Instance, context: DesignContext): Generator<Verdict> {
  const { held } = driveOf(turbine)!;
  const power = context.maybe(turbine, held.power);
  const by = context.maybe(turbine, held.by)?.value;
  if (by === undefined && !power)
    return yield notChecked(turbine, { kind: 'missing', missing: [`${held.by} of ${turbine.name}`] });
  if (by !== undefined && by !== held.diverting) return yield passed(turbine, NO_LIMIT);
  const found = readCharger(POWER_LIMIT, turbine, context, {}, 'most');
  if (found.kind !== 'known') return yield notChecked(turbine, found);
  const most = found.derivation;
  const wanted = wantedFor(most);
  const title = `Give ${turbine.name} a diversion load of ${displayValue(wanted)}`;
  const lost =
    'while the bank is full or away the turbine runs away, its voltage rises, and bearings, windings and rectifier suffer';
  const advice = `Fit a diversion load of ${displayValue(wanted)}.`;
  if (!power)
    return yield {
      verdict: 'failed',
      subject: turbine.path,
      place: placeOf(turbine, held.by),
      headline: `The diversion load of ${turbine.name} states no power; the turbine makes up to ${displayValue(most, 3)}`,
      consequence: lost,
      advice,
      use: NO_LIMIT,
      numbers: { most, wanted },
      fixes: [propose(title, [setProperty(turbine, held.power, displayValue(wanted))], true)],
    };
  const share = numberIn(power, 'W') / numberIn(most, 'W');
  const numbers = { power, most, wanted };
  const asked = derive('power advised for the diversion load', numberIn(most, 'W') * ADVISED, 'W', {
    formula: `${ADVISED}·P_max`,
    inputs: [most],
  });
  if (share >= ADVISED * (1 - 1e-9)) return yield passed(turbine, atLeast(power, asked), numbers);
  const [takes, makes] = pairText(power, most);
  const isShort = share < 1 - 1e-9;
  yield {
    verdict: 'failed',
    subject: turbine.path,
    place: placeOf(turbine, held.power),
    ...(isShort ? {} : { severity: 'info' as const }),
    headline: `The diversion load of ${turbine.name} accepts ${takes}; the turbine makes up to ${makes}`,
    why: isShort
      ? windDriveOf(turbine)
        ? 'in a gale and the coldest air'
        : 'in its best month'
      : `enough, but less than the ${formatNumber(ADVISED * 100)} % advised: elements fail one by one and lose power as they heat`,
    ...(isShort ? { consequence: lost } : {}),
    advice,
    use: atLeast(power, isShort ? most : asked),
    numbers,
    fixes: [propose(title, setProperties(turbine, { [held.power]: displayValue(wanted) }), true)],
  };
}

export const diversionLoad = defineCheck({
  id: 'diversion-load',
  group: 'sources',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'The diversion load of a turbine absorbs less than the turbine makes.',
    guards: 'Turbines that overspeed and destroy their windings and rectifiers while the bank is full.',
    how: 'A turbine that a diversion load holds (`heldBy: diversion`, or a `diversionPower` alone) makes most in its best month, one that the wind drives at the top of its power curve in the coldest air, bounded by its rating; the load must take all of that at the highest voltage of the bank. A load that absorbs less is a warning; one that has less than 25 % in hand is a note. Deflectors, and turbines built to run free, need none. What opens between turbine and load (a fuse, a switch, a bank that cuts off) is not judged here: nothing may.',
    fix: 'Fit a diversion load for the full power of the turbine plus a quarter.',
    sources: [
      MEMORY,
      {
        standard: 'NEC',
        edition: '2017',
        table: '690.72(B)(2), for photovoltaic diversion',
        provenance: 'from memory',
      },
    ],
    failing: `design Mill {
  hydro Turbine { head: 40 m   flow: 8 L/s   ecologicalFlow: 2 L/s   designFlow: 6 L/s
    penstockLength: 200 m   penstockDiameter: 90 mm   penstock: plastic   turbineEfficiency: 65 %   generatorEfficiency: 80 %
    rated: 1500 W   voltage: 56 V   currentLimit: 30 A   heldBy: diversion   diversionPower: 800 W }
  battery Bank : Lfp48V280Ah
  run Feed: Turbine -> Bank { size: 25 mm2   length: 20 m }
}
`,
    passing: `design Mill {
  hydro Turbine { head: 40 m   flow: 8 L/s   ecologicalFlow: 2 L/s   designFlow: 6 L/s
    penstockLength: 200 m   penstockDiameter: 90 mm   penstock: plastic   turbineEfficiency: 65 %   generatorEfficiency: 80 %
    rated: 1500 W   voltage: 56 V   currentLimit: 30 A   heldBy: diversion   diversionPower: 1.5 kW }
  battery Bank : Lfp48V280Ah
  run Feed: Turbine -> Bank { size: 25 mm2   length: 20 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances) if (driveOf(instance)) yield* judgeTurbine(instance, context);
  },
});
