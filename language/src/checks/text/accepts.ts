import { type Check, defineCheck } from '../define.js';
import { LANGUAGE } from './sources.js';

const waived = (line: string): string => `design Hut {
  load Lamp { power: assumed 40 W }
  ${line}
}
`;

/** Made by the analysis when waivers are applied; this file holds their documentation. */
export const unusedAccept: Check = defineCheck({
  id: 'unused-accept',
  group: 'text',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A waiver silences nothing, names no check, or gives no reason.',
    guards: 'A waiver left behind would silence the next finding unseen.',
    how: 'Every `accept` must name a check, give a reason, and meet a finding of that check on that thing.',
    fix: 'Remove the waiver, or correct the check or thing that it names.',
    sources: [LANGUAGE],
    failing: waived('accept wrong-dimension on Lamp because "none left"'),
    passing: waived('accept assumed-fact on Lamp because "asked the customer"'),
  },
  judge: () => [],
});

export const expiredAccept: Check = defineCheck({
  id: 'expired-accept',
  group: 'text',
  severity: 'error',
  since: '0.1.0',
  docs: {
    finds: 'A waiver is past its date; the finding counts again.',
    guards: 'What was accepted for a while stays for ever.',
    how: 'After the day named with `until` an `accept` no longer silences anything.',
    fix: 'Fix the finding, or decide again and give a new date.',
    sources: [LANGUAGE],
    failing: waived('accept assumed-fact on Lamp because "asked the customer" until 2026-06-30'),
    passing: waived('accept assumed-fact on Lamp because "asked the customer" until 2099-06-30'),
  },
  judge: () => [],
});

export const renamedCheck: Check = defineCheck({
  id: 'renamed-check',
  group: 'text',
  severity: 'info',
  since: '0.1.0',
  docs: {
    finds: 'A waiver names a check by the id it had before.',
    guards: 'Readers look the check up under its present name.',
    how: 'The old id works as the new one does. The fix writes the new one, and is safe.',
    fix: 'Write the present id.',
    sources: [LANGUAGE],
    failing: `design Hut {
  basis: nec
  accept one-bond on Genset because "bonded at the service"
  generator Genset { rated: 3 kW   voltage: 120 V   neutralBond: floating }
  load Lamp { power: 40 W   voltage: 120 V }
  run Cord: Genset -> Lamp { size: 12 AWG   length: 5 m }
}
`,
    passing: `design Hut {
  basis: nec
  accept neutral-bond on Genset because "bonded at the service"
  generator Genset { rated: 3 kW   voltage: 120 V   neutralBond: floating }
  load Lamp { power: 40 W   voltage: 120 V }
  run Cord: Genset -> Lamp { size: 12 AWG   length: 5 m }
}
`,
  },
  judge: () => [],
});
