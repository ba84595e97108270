import { type Derivation, type Result, derive, displayValue, known, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { formatNumber } from '../../quantity/index.js';
import { lowEnd } from '../../quantities/ends.js';
import { carriedBy } from '../../quantities/supply/starting.js';
import { collect, sumOf } from '../../quantities/worst.js';
import { defineCheck, type Fix, type Verdict, atMost } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf, pairText, whyOf } from '../verdicts.js';
import { PRACTICE } from './shared.js';
import { chargesAt, isInverter, isLoad, takesToConvert, takesToInvert } from '../../model/roles.js';
import { banksAt } from '../../quantities/supply/joined.js';
import { meanShare } from '../../quantities/demand/steady-share.js';

const HOURS = 24;

/** The loads a bank carries: those on its bus, and those of its inverters while they work from it. */
function loadsOf(bank: Instance, context: DesignContext): Instance[] {
  const joined = context.graph.nodesOf(bank).flatMap((node) => [...context.graph.reach(node).values()]);
  const behind = joined.flatMap((node) => {
    const { instance } = node;
    if (isLoad(instance)) return [instance];
    if (takesToInvert(node)) return carriedBy(instance, context).flatMap(({ loads }) => loads);
    const out = takesToConvert(node) ? context.graph.nodesOf(instance).find(chargesAt) : undefined;
    return out ? context.graph.joinedTo(out).filter(isLoad) : [];
  });
  const found = new Set(behind);
  return context.system.instances.filter((each) => found.has(each));
}

/** Least energy of a load in a day by profile and duty, as if always on where neither is stated: the low end of its power counts. */
function energyOf(load: Instance, context: DesignContext): Result {
  const all = collect([context.fact(load, 'power'), context.fact(load, 'count')]);
  if (!all.ok) return all.result;
  const [power, count] = all.derivations as [Derivation, Derivation];
  const least = lowEnd(power);
  const share = meanShare(load, context);
  return known(
    derive(
      `energy of ${load.name} in a day`,
      numberIn(least, 'W') * numberIn(count, '') * numberIn(share, '') * HOURS,
      'Wh',
      { symbol: `E_${load.name}`, formula: 'P·n·s·24 h', inputs: [least, count, share] },
    ),
  );
}

const isStated = (load: Instance, context: DesignContext): boolean =>
  load.properties.has('profile') || context.maybe(load, 'duty') !== undefined;

/** A shorter time on, where the loads of the inverter need no longer. */
function fixesFor(inverter: Instance, idle: Derivation, most: number, context: DesignContext): Fix[] {
  const hours = Math.floor((most / numberIn(idle, 'W')) * 10 + 1e-9) / 10;
  const loads = new Set(carriedBy(inverter, context).flatMap((state) => state.loads));
  const needed = [...loads].reduce((sum, load) => sum + numberIn(meanShare(load, context), '') * HOURS, 0);
  return hours > 0 && needed <= hours
    ? [
        propose(
          `Switch ${inverter.name} on for ${formatNumber(hours)} h a day at most`,
          [setProperty(inverter, 'onTime', `${formatNumber(hours)} h`)],
          true,
        ),
      ]
    : [];
}

function* judgeInverter(inverter: Instance, bank: Instance, context: DesignContext): Generator<Verdict> {
  const loads = loadsOf(bank, context);
  const idle = context.maybe(inverter, 'idle');
  const most = context.setting('idleShare');
  const onTime = context.maybe(inverter, 'onTime');
  if (!idle) return yield notChecked(inverter, { kind: 'missing', missing: [`idle of ${inverter.name}`] });
  if (!most || !onTime || loads.length === 0) return;
  const all = collect(loads.map((load) => energyOf(load, context)));
  if (!all.ok) return yield notChecked(inverter, all.result);
  const used = sumOf('energy of the loads in a day', 'E', 'Wh', all.derivations);
  const spent = derive('energy used idle in a day', numberIn(idle, 'W') * numberIn(onTime, 'h'), 'Wh', {
    symbol: 'E_0',
    formula: 'P_0·t_on',
    inputs: [idle, onTime],
  });
  const limit = derive('idle energy allowed', numberIn(used, 'Wh') * numberIn(most, ''), 'Wh', {
    formula: 'E·share',
    inputs: [used, most],
  });
  const numbers = { idle: spent, loads: used, limit };
  const use = atMost(spent, limit);
  if (numberIn(spent, 'Wh') <= numberIn(limit, 'Wh') * (1 + 1e-9)) {
    // Loads without profile or duty count as always on: less use would leave less room.
    const open = loads.filter((load) => !isStated(load, context));
    if (open.length === 0) return yield passed(inverter, use, numbers);
    return yield notChecked(inverter, {
      kind: 'missing',
      missing: open.map(({ name }) => `profile or duty of ${name}`),
    });
  }
  const [idles, uses] = pairText(spent, used);
  const share = numberIn(used, 'Wh') > 0 ? numberIn(spent, 'Wh') / numberIn(used, 'Wh') : Infinity;
  const fixes = fixesFor(inverter, idle, numberIn(limit, 'Wh'), context);
  const day = numberIn(onTime, 'h') < HOURS ? `in ${displayValue(onTime)} a day` : 'a day';
  yield {
    verdict: 'failed',
    subject: inverter.path,
    place: placeOf(inverter, 'idle'),
    headline: `${inverter.name} draws ${idles} idle ${day}; all loads of ${bank.name} use ${uses}`,
    ...whyOf(
      `${displayValue(idle)} without load`,
      Number.isFinite(share) &&
        `${formatNumber(share * 100, 2)} % of what the loads use; at most ${displayValue(most)}`,
    ),
    rule: 'a rule of thumb, set by `idleShare`',
    advice: 'Choose a smaller inverter, or one that searches for loads and state the draw of that as `idle`.',
    use,
    numbers,
    fixes,
  };
}

export const inverterIdle = defineCheck({
  id: 'inverter-idle',
  group: 'sources',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds:
      'An inverter uses a large part of the daily energy without any load, or its idle draw is not stated and left out.',
    guards: 'A bank that is empty after a few days on which nothing ran.',
    how: '`idle` times the hours it is on (`onTime`, all day unless said) is held against the daily energy of all loads of its bank by profile and duty. More than `idleShare` of the design (10 % unless said; common practice, no source) is a finding. Loads without profile or duty count as always on: then only an excess beyond doubt is a finding. An `idle` that is not stated is a question, since every mean current leaves it out.',
    fix: 'State the idle draw; use a smaller inverter or a sleep mode, or feed small loads from direct current.',
    sources: [PRACTICE],
    failing: `design Hut {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 6 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   idle: 70 W }
  load Lights { power: 100 W   profile: { 18:00..22:00: 100 % } }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
  run Line: Inv.ac -> Lights { size: 2.5 mm2   length: 10 m }
}
`,
    passing: `design Hut {
  battery Bank : Lfp48V280Ah
  inverter Inv { rated: 1 kW   voltage: 230 V   efficiency: 92 %   dcVoltage: 44..60 V   idle: 9 W   onTime: 4 h }
  load Lights { power: 100 W   profile: { 18:00..22:00: 100 % } }
  run Feed: Bank -> Inv.dc { size: 70 mm2   length: 1 m }
  run Line: Inv.ac -> Lights { size: 2.5 mm2   length: 10 m }
}
`,
  },
  judge: function* (context) {
    for (const inverter of context.system.instances) {
      const [bank] = isInverter(inverter) ? banksAt(inverter, context) : [];
      if (bank) yield* judgeInverter(inverter, bank, context);
    }
  },
});
