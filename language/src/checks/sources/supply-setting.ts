import { type Derivation, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import { isAcConsumer, passingOf } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { inputSettingOn } from '../../quantities/plant/input-setting.js';
import { limitsToSet, supplyTerminal } from '../../quantities/supply/input-limit.js';
import { defineCheck, type Verdict, atMost, points } from '../define.js';
import { hasSupplies, limitInput } from '../input-limit.js';
import { notChecked, pairText, passed, placeOf } from '../verdicts.js';
import { PRACTICE, roundDown } from './shared.js';

/** The input limit as set for a supply, no higher than what its transfer relay passes. */
function settingOn(thing: Instance, source: Instance, context: DesignContext): Derivation | undefined {
  const setting = inputSettingOn(thing, source, context);
  const relay = context.maybe(thing, 'transferRating');
  return setting && relay && numberIn(relay, 'A') < numberIn(setting, 'A') ? relay : setting;
}

function* judgeThing(thing: Instance, context: DesignContext): Generator<Verdict> {
  for (const { source, result, title } of limitsToSet(thing, context)) {
    const setting = settingOn(thing, source, context);
    if (!setting) continue;
    if (result.kind !== 'known') {
      yield notChecked(thing, result);
      continue;
    }
    const limit = result.derivation;
    const numbers = { setting, limit };
    if (numberIn(setting, 'A') <= numberIn(limit, 'A') * (1 + 1e-9)) {
      yield passed(thing, atMost(setting, limit), numbers);
      continue;
    }
    const [set, most] = pairText(setting, limit);
    const amperes = roundDown(numberIn(limit, 'A'), 0.1);
    const fixes = amperes >= 1 ? [limitInput(thing, source, amperes, true, context)] : [];
    yield {
      verdict: 'failed',
      subject: thing.path,
      place: placeOf(thing, thing.properties.has('inputLimitFrom') ? 'inputLimitFrom' : 'inputLimit'),
      headline: `${thing.name} may draw ${set} from ${source.name}; ${title} leaves ${most}`,
      consequence: 'what it passes on and charges with overloads that supply',
      advice: 'Nothing is left for it there: run less beside it, or feed it from another supply.',
      use: atMost(setting, limit),
      numbers,
      fixes,
    };
  }
}

export const supplySetting = defineCheck({
  id: 'supply-setting',
  group: 'sources',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'An input limit that fits one of the supplies that exclude each other and is too high for another.',
    guards:
      'The limit set for the 30 A post stays in when the coach is connected to a 15 A socket: the breaker trips, or worn contacts burn.',
    how: points(
      'For an inverter that passes its supply on and is fed through an inlet that accepts one cord at a time (`oneCord`): the limit that is set for each supply against what that supply can give for hours.',
      'The limit is `inputLimitFrom`, else `inputLimit`, or the transfer relay where that is smaller. It covers what is passed on as well as what charges, so that it counts whatever runs today.',
      'It is held against `inputLimitToSet` of the supply: the least of what plugs, devices and conductors on the way carry for hours and what the source gives, less what else they carry.',
      'What a charger without such a relay draws is judged supply by supply by `plug-continuous`, `charger-input`, `shore-limit`, `vehicle-outlet` and `generator-overload`.',
    ),
    fix: 'Set an input limit for each supply, as the settings sheet lists them.',
    sources: [
      { standard: 'NEC', edition: '2017-2023', table: '210.20(A), 210.21(B)', provenance: 'published' },
      PRACTICE,
    ],
    failing: `design Van {
  grid Post { voltage: 120 V   rating: 30 A   outlet: TT-30 }
  grid Garage { voltage: 120 V   rating: 15 A   outlet: NEMA-5-15 }
  receptacle Adapter { plug: NEMA-5-15   outlet: TT-30 }
  receptacle Inlet { plug: TT-30   oneCord: yes }
  inverter Inv { rated: 2 kW   voltage: 120 V   passThrough: yes   transferRating: 30 A   input: 95..135 V   inputLimit: 24 A }
  load Kettle { power: 1 kW   voltage: 120 V   continuous: no }
  run PostCord: Post -> Inlet { size: 10 AWG   type: SOOW   length: 8 m   conductors: 2 }
  run GarageCord: Garage -> Adapter -> Inlet { size: 10 AWG   type: SOOW   length: 8 m   conductors: 2 }
  run In: Inlet -> Inv.input { size: 10 AWG   type: THWN-2   length: 2 m   conductors: 2 }
  run Out: Inv.ac -> Kettle { size: 12 AWG   type: THWN-2   length: 2 m   conductors: 2 }
}
`,
    passing: `design Van {
  grid Post { voltage: 120 V   rating: 30 A   outlet: TT-30 }
  grid Garage { voltage: 120 V   rating: 15 A   outlet: NEMA-5-15 }
  receptacle Adapter { plug: NEMA-5-15   outlet: TT-30 }
  receptacle Inlet { plug: TT-30   oneCord: yes }
  inverter Inv { rated: 2 kW   voltage: 120 V   passThrough: yes   transferRating: 30 A   input: 95..135 V   inputLimit: 24 A   inputLimitFrom: { Garage: 12 A } }
  load Kettle { power: 1 kW   voltage: 120 V   continuous: no }
  run PostCord: Post -> Inlet { size: 10 AWG   type: SOOW   length: 8 m   conductors: 2 }
  run GarageCord: Garage -> Adapter -> Inlet { size: 10 AWG   type: SOOW   length: 8 m   conductors: 2 }
  run In: Inlet -> Inv.input { size: 10 AWG   type: THWN-2   length: 2 m   conductors: 2 }
  run Out: Inv.ac -> Kettle { size: 12 AWG   type: THWN-2   length: 2 m   conductors: 2 }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances) {
      if (!isAcConsumer(instance) || passingOf(instance)?.how !== 'relay' || supplyTerminal(instance) === undefined)
        continue;
      if (hasSupplies(instance, context)) yield* judgeThing(instance, context);
    }
  },
});
