import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { defineCheck, type Verdict, NO_LIMIT } from '../define.js';
import { notChecked, passed, placeOf } from '../verdicts.js';
import { PRACTICE, chemistryOf, namesOf } from './shared.js';
import { sourceOf } from '../../model/roles.js';
import { banksAt } from '../../quantities/supply/joined.js';

/** Whether a bank has protection that can open by itself; undefined when its facts do not say. */
function canOpen(bank: Instance, context: DesignContext): boolean | undefined {
  if ((['protectionHigh', 'protectionLow', 'reset'] as const).some((fact) => context.maybe(bank, fact))) return true;
  const row = chemistryOf(bank, context);
  return row && row.family === 'lithium';
}

/** Whether the bank can tell the regulator to stop before it opens. */
const isWarned = (alternator: Instance, bank: Instance, context: DesignContext): boolean =>
  context.system.links.some(
    ({ from, to }) => (from === bank && to === alternator) || (from === alternator && to === bank),
  );

function* judgeAlternator(alternator: Instance, context: DesignContext): Generator<Verdict> {
  const banks = banksAt(alternator, context);
  if (banks.length === 0) return;
  const opening = banks.map((bank) => ({ bank, opens: canOpen(bank, context) }));
  // One bank that cannot open takes the current of all.
  if (opening.some(({ opens }) => opens === false)) return yield passed(alternator, NO_LIMIT);
  const survives = context.maybe(alternator, 'surgeProtected')?.value;
  if (survives === true || banks.every((bank) => isWarned(alternator, bank, context)))
    return yield passed(alternator, NO_LIMIT);
  const unknown = opening.filter(({ opens }) => opens === undefined).map(({ bank }) => `chemistry of ${bank.name}`);
  const open = [...unknown, ...(survives === undefined ? [`surgeProtected of ${alternator.name}`] : [])];
  if (open.length > 0) return yield notChecked(alternator, { kind: 'missing', missing: open });
  yield {
    verdict: 'failed',
    subject: alternator.path,
    place: placeOf(alternator, 'surgeProtected'),
    headline: `The BMS of ${namesOf(banks)} can disconnect while ${alternator.name} charges`,
    why: 'nothing else on the bus holds the voltage of the alternator then',
    consequence:
      'it rises within milliseconds to several times nominal and destroys diodes, regulator and other gear on the bus',
    advice: `Let ${alternator.name} charge a lead battery with a DC-to-DC charger behind it, link ${namesOf(banks)} to its regulator so that it stops first, or fit surge protection (\`surgeProtected: yes\`).`,
    use: NO_LIMIT,
    related: banks.map((bank) => ({ place: bank.place, text: `the BMS of ${bank.name} can disconnect` })),
  };
}

export const alternatorDisconnect = defineCheck({
  id: 'alternator-disconnect',
  group: 'storage',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'Every bank on the bus of an alternator can disconnect by itself while the alternator charges.',
    guards: 'Diodes, regulators and electronics that the surge of an alternator without load destroys.',
    how: 'A bank can disconnect by itself when the voltages of its BMS are stated (`protectionHigh`, `protectionLow` or `reset`) or its chemistry is lithium. A bank without a BMS on the same bus, an alternator that survives it (`surgeProtected`), or a link from each bank to the alternator ends the finding. Common practice; ISO 16750-2 names the pulse.',
    fix: 'Put a converter between alternator and bank, keep a starter battery on its output, or let the BMS stop the field first.',
    sources: [{ standard: 'ISO 16750-2: load dump', provenance: 'from memory' }, PRACTICE],
    failing: `design Van {
  alternator Engine { currentLimit: 90 A   voltage: 14.2 V   surgeProtected: no }
  battery House : Lfp12V200Ah
  run Feed: House -> Engine { size: 35 mm2   length: 3 m }
}
`,
    passing: `design Van {
  alternator Engine { currentLimit: 90 A   voltage: 14.2 V   surgeProtected: no }
  battery Starter : Agm12V100Ah
  converter Between { input: 11..16 V   output: 14.2 V   currentLimit: 40 A   efficiency: 90 % }
  battery House : Lfp12V200Ah
  run Feed: Starter -> Engine { size: 35 mm2   length: 3 m }
  run In: Starter -> Between.in { size: 16 mm2   length: 1 m }
  run Out: Between.out -> House { size: 16 mm2   length: 1 m }
}
`,
  },
  judge: function* (context) {
    for (const instance of context.system.instances)
      if (sourceOf(instance)?.from === 'engine') yield* judgeAlternator(instance, context);
  },
});
