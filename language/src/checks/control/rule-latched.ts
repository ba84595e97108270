import { chargingOf } from '../../model/roles.js';
import { defineCheck, NO_LIMIT } from '../define.js';
import { acquitted, provenFaults, shownByProof } from './proofs.js';

export const ruleLatched = defineCheck({
  id: 'rule-latched',
  group: 'control',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds:
      'A generator that was started does not stop once other sources are back, or a load that was switched off never comes on again.',
    guards: 'The grid returns and the generator runs on until its tank is empty; a load stays dark with a full bank.',
    how: 'By simulating the rules (see language/CONTROL.md): with every other source there a running generator must stop within three days beside its dwells, and with the bank full the rules must switch on a load that they had switched off within two; what charges the bank with the bank nearly empty. A generator that does not stop even without other sources is reported by `stop-unreachable`.',
    fix: 'Add a stop, or a condition to the present one, that holds once the other source is back.',
    sources: [{ standard: 'common practice, no source', provenance: 'common practice, no source' }],
    failing: `design Hut {
  generator Genset { rated: 5 kW   voltage: 230 V }
  grid Mains { voltage: 230 V   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  battery Bank : Lfp48V280Ah
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  charger Shore { input: 180..264 V   currentLimit: 20 A   absorb: 55 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  run Post: Mains -> Shore.ac { size: 4 mm2   length: 10 m }
  run Aft: Shore.dc -> Bank { size: 25 mm2   length: 2 m }
  load Fan { power: 200 W   supply: dc   profile: always }
  run Line: Bank -> Fan { size: 6 mm2   length: 2 m }
  control Autostart of Genset {
    start when soc(Bank) < 60 % and lost(Mains) for 1 min
    stop when soc(Bank) > 85 % and lost(Mains)
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
  charger Shore { input: 180..264 V   currentLimit: 20 A   absorb: 55 V   efficiency: 93 %   powerFactor: 0.98   remoteSense: yes }
  run Post: Mains -> Shore.ac { size: 4 mm2   length: 10 m }
  run Aft: Shore.dc -> Bank { size: 25 mm2   length: 2 m }
  load Fan { power: 200 W   supply: dc   profile: always }
  run Line: Bank -> Fan { size: 6 mm2   length: 2 m }
  control Autostart of Genset {
    start when soc(Bank) < 60 % and lost(Mains) for 1 min
    stop when soc(Bank) > 85 % or not lost(Mains)
  }
}
`,
  },
  // Only a play shows it.
  judge: () => [],
  judgeProof: function* (context, proof) {
    const faulty = new Set<string>();
    for (const { fault, control, set } of provenFaults(context, proof, ['latched', 'stays-off'])) {
      faulty.add(control.path);
      const isSet = fault.kind === 'latched';
      const isCharging = chargingOf(control.target) !== undefined;
      const rule = set.rules.find(({ verb }) => (isSet ? verb === 'stop' || verb === 'off' : verb === 'on'));
      yield {
        verdict: 'failed',
        subject: control.path,
        place: rule?.place ?? control.place,
        headline: isSet
          ? `${set.title} never stops ${control.target.name} once other sources are back`
          : `${set.title} never switches ${control.target.name} on again`,
        why: isSet
          ? 'it runs on though the reason for its start is gone'
          : `not even with ${fault.bank} ${isCharging ? 'nearly empty' : 'full and every source there'}`,
        advice: isSet
          ? 'Write a stop rule that holds then too.'
          : rule
            ? 'Write an `on` rule that can be met.'
            : 'Write a rule `on when …`.',
        use: NO_LIMIT,
        ...shownByProof(fault),
      };
    }
    yield* acquitted(context, proof, faulty);
  },
});
