import { defineCheck } from '../define.js';
import { passed } from '../verdicts.js';
import { faultsOf, settledControls, shownBy, shownText, unsettled } from './faults.js';
import { isStarted } from '../../model/roles.js';

export const ruleLatched = defineCheck({
  id: 'rule-latched',
  group: 'control',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A set that was started does not stop once other sources are back, or a load that was switched off never comes on again.',
    guards: 'The grid returns and the generator runs on until its tank is empty; a load stays dark with a full bank.',
    how: 'Without running time (see language/CONTROL.md): with every other source there and the bank full, the rules must stop a running set within two days and all of their timers, and must switch on a load that they had switched off; what charges the bank they must switch on again with the bank empty at the latest. A set that does not stop even without other sources is told by `stop-unreachable`.',
    sources: [{ standard: 'common practice, no source', provenance: 'common practice, no source' }],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  grid Mains { voltage: 230 V   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  control Autostart of Genset {
    start when soc(Bank) < 40 % and power(Mains) == 0 W for 1 min
    stop when soc(Bank) > 85 % and power(Mains) == 0 W
  }
}
`,
    passing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  grid Mains { voltage: 230 V   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  control Autostart of Genset {
    start when soc(Bank) < 40 % and power(Mains) == 0 W for 1 min
    stop when soc(Bank) > 85 % or power(Mains) > 0 W
  }
}
`,
  },
  judge: function* (context) {
    const faulty = new Set<string>();
    for (const found of faultsOf(context, ['latched'])) {
      const { fault, control, set } = found;
      faulty.add(control.path);
      const isSet = isStarted(control.target);
      const rule = set.rules.find(({ verb }) => (isSet ? verb === 'stop' || verb === 'off' : verb === 'on'));
      yield {
        verdict: 'failed',
        subject: control.path,
        place: rule?.place ?? control.place,
        message: isSet
          ? `${set.title} never stops ${control.target.name} once other sources are back: it runs on though what it was started for is gone. ${shownText(fault)} Write a stop that holds then too.`
          : `${set.title} never switches ${control.target.name} on again, not even with ${fault.bank} ${fault.isCharging ? 'empty' : 'full and every source there'}. ${shownText(fault)} ${rule ? 'Write an `on` rule that can be met.' : 'Write a rule `on when …`.'}`,
        ...shownBy(found),
      };
    }
    for (const control of settledControls(context)) if (!faulty.has(control.path)) yield passed(control);
    yield* unsettled(context, ['latched']);
  },
});
