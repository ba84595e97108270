import { type Derivation, displayValue, numberIn } from '../../derivation/index.js';
import { sentAt, LEAST_SENT } from '../../equipment/sent-limits.js';
import type { DesignContext } from '../../model/context.js';
import { chargingOf } from '../../model/roles.js';
import { wordIn } from '../../model/stated-facts.js';
import type { Instance, Link } from '../../model/types.js';
import { sentBySoc } from '../../quantities/plant/banks.js';
import { setPointsOf } from '../../quantities/plant/chargers.js';
import { chargersOf } from '../../quantities/supply/joined.js';
import { defineCheck, type Failed, NO_LIMIT, type Verdict, points } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, pairText, placeOf } from '../verdicts.js';
import { PRACTICE, banksOf, chemistryOf, isSwitchedOffBy } from './shared.js';

/** The link over which a bank tells a charger what it may give. */
const linkOf = (charger: Instance, bank: Instance, context: DesignContext): Link | undefined =>
  context.system.links.find(({ from, to }) => (from === bank && to === charger) || (from === charger && to === bank));

/** What ends a charge by what is stated, else by what it is: an array wired to the bank has no set points. */
function endOf(charger: Instance): 'setPoints' | 'limits' | 'disconnect' {
  const stated = wordIn(charger.properties, 'endOfCharge');
  if (stated === 'limits' || stated === 'disconnect' || stated === 'setPoints') return stated;
  return chargingOf(charger)?.isUnregulated ? 'disconnect' : 'setPoints';
}

/** The set point at or above the voltage at which the bank disconnects, where there is one. */
function beyond(charger: Instance, bank: Instance, context: DesignContext): [Derivation, Derivation] | undefined {
  const opens = context.quantity(bank, 'protectionVoltage');
  if (opens.kind !== 'known') return undefined;
  const point = setPointsOf(charger, context).find(
    (each) => numberIn(each.point, 'V') >= numberIn(opens.derivation, 'V'),
  );
  return point && [point.point, opens.derivation];
}

function* judgeLinked(charger: Instance, bank: Instance, context: DesignContext): Generator<Verdict> {
  const link = linkOf(charger, bank, context);
  const fail = (
    why: string,
    rest: Partial<Failed> & Pick<Failed, 'advice'>,
    headline = `Only the disconnect of the BMS of ${bank.name} ends the charge by ${charger.name}`,
  ): Failed => ({
    verdict: 'failed',
    subject: charger.path,
    place: placeOf(charger, 'endOfCharge'),
    headline,
    why,
    use: NO_LIMIT,
    ...rest,
  });
  if (!link)
    return yield fail('it relies on the limits of the bank, and no link carries them to it', {
      severity: 'error',
      advice: `Add a link from ${bank.name} to ${charger.name}, or let its set points end the charge.`,
    });
  const { chargeBySoc } = sentBySoc(bank, context);
  if (!chargeBySoc)
    return yield notChecked(charger, { kind: 'missing', missing: [`chargeBySoc of ${bank.name}`] }, bank.place);
  const last = sentAt(chargeBySoc, 1);
  if (last > LEAST_SENT)
    return yield fail(
      `it relies on the limits of the bank, and these still allow ${Number(last.toPrecision(3))} A at 100 %`,
      { advice: 'State the row of `chargeBySoc` at which its BMS sends 0 A, or let set points end the charge.' },
    );
  const lost = context.fact(charger, 'lostLink');
  if (lost.kind !== 'known') return yield notChecked(charger, lost);
  const { value } = lost.derivation;
  const high = beyond(charger, bank, context);
  if (value === 'stop' || (value === 'defaults' && !high))
    return yield passed(charger, NO_LIMIT, { lostLink: lost.derivation });
  const why =
    value === 'hold'
      ? 'it goes on by the last limits it heard'
      : `its own set point of ${pairText(...high!)[0]} does not end it before ${pairText(...high!)[1]}`;
  yield fail(`without ${link.name} ${why}`, {
    advice: 'Set `lostLink: stop`, or `lostLink: defaults` with set points that suit the bank.',
    numbers: { lostLink: lost.derivation },
    related: [{ place: link.place, text: `${link.name} carries the limits` }],
    fixes: [
      propose(`Let ${charger.name} stop when the link is lost`, [setProperty(charger, 'lostLink', 'stop')], true),
    ],
  });
}

function* judgeCharger(charger: Instance, bank: Instance, context: DesignContext): Generator<Verdict> {
  const opens = context.quantity(bank, 'protectionVoltage');
  const end = endOf(charger);
  if (end === 'limits') return yield* judgeLinked(charger, bank, context);
  // A set point too high for the bank is told by `charge-voltage`.
  if (end === 'setPoints' || isSwitchedOffBy(charger, bank, context)) return yield passed(charger, NO_LIMIT);
  const at = opens.kind === 'known' ? ` at ${displayValue(opens.derivation)}` : '';
  yield {
    verdict: 'failed',
    subject: charger.path,
    place: placeOf(charger, 'endOfCharge'),
    headline: `Only the disconnect of the BMS of ${bank.name}${at} ends the charge by ${charger.name}`,
    consequence: 'it is the last protection of the cells, and what charges then feeds the loads alone',
    advice: `Let set points end the charge, limits over a link (\`endOfCharge: limits\`, \`lostLink: stop\`), or a rule.`,
    use: NO_LIMIT,
    ...(opens.kind === 'known' ? { numbers: { opens: opens.derivation } } : {}),
    related: [{ place: bank.place, text: `${bank.name} disconnects` }],
    fixes:
      wordIn(charger.properties, 'endOfCharge') === 'disconnect' && setPointsOf(charger, context).length > 0
        ? [
            propose(
              `Let the set points of ${charger.name} end the charge`,
              [setProperty(charger, 'endOfCharge', 'setPoints')],
              true,
            ),
          ]
        : [],
  };
}

export const chargeEnd = defineCheck({
  id: 'charge-end',
  group: 'storage',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A charger has no end of charge of its own: only the disconnect of the BMS stops it.',
    guards: 'Cells whose last protection is worn by daily use, and loads that meet a charger without a bank.',
    how: points(
      '`endOfCharge` of a charger says what ends its charge: its `setPoints` (as when nothing is said), the `limits` that the BMS sends over a link, or the `disconnect` of the BMS.',
      'A disconnect is a finding, unless a rule switches the charger off by what the bank shows; so is an array wired to a bank that can disconnect.',
      'Limits over a link need the link; a bank that sends 0 A when full (last row of `chargeBySoc`); and an end without the link: `lostLink: stop`, or `lostLink: defaults` with set points below the voltage at which the BMS disconnects.',
    ),
    fix: 'Set an absorption and float voltage, or let the link to the BMS end the charge before it disconnects.',
    sources: [
      {
        standard: 'article on inverter and battery communication',
        table: '(open, hold or defaults)',
        provenance: 'published',
      },
      PRACTICE,
    ],
    failing: `design Hut {
  charger Rect { absorb: 56 V   endOfCharge: disconnect }
  battery Bank : Lfp48V280Ah
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
}
`,
    passing: `design Hut {
  charger Rect { absorb: 56 V   endOfCharge: limits   lostLink: stop }
  battery Bank : Lfp48V280Ah { chargeBySoc: { 90 %: 140 A, 98 %: 20 A, 100 %: 0 A } }
  link BmsLink: Bank -> Rect { medium: can }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
}
`,
  },
  judge: function* (context) {
    for (const bank of banksOf(context)) {
      if (!canDisconnect(bank, context)) continue;
      for (const charger of chargersOf(bank, context)) yield* judgeCharger(charger, bank, context);
    }
  },
});

/** Whether a bank has a BMS that can disconnect it: it says so, or it is lithium. */
const canDisconnect = (bank: Instance, context: DesignContext): boolean =>
  context.quantity(bank, 'protectionVoltage').kind === 'known' ||
  sentBySoc(bank, context).chargeBySoc !== undefined ||
  chemistryOf(bank, context)?.family === 'lithium';
