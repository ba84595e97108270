import { firstFew } from '../text/wording.js';
import { carrierOf, watchedBy } from '../../control/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance, Link } from '../../model/types.js';
import { defineCheck, type Verdict, NO_LIMIT } from '../define.js';
import { propose, setProperty } from '../fixes.js';
import { notChecked, passed, placeOf } from '../verdicts.js';
import { speaks } from './lines.js';
import { chargingOf, isAcCharger, isArrayCharger, isBank, isInverter } from '../../model/roles.js';
import { banksAt } from '../../quantities/supply/joined.js';

/** The charger and the bank at the ends of a link, where it joins these two. */
function ends(link: Link, context: DesignContext): { charger: Instance; bank: Instance } | undefined {
  const bank = [link.from, link.to].find(isBank);
  const charger = [link.from, link.to].find((each) => isAcCharger(each) || isArrayCharger(each) || isInverter(each));
  if (!bank || !charger) return undefined;
  const isCharging = chargingOf(charger) !== undefined;
  const banks = banksAt(charger, context);
  return isCharging && (banks.length === 0 || banks.includes(bank)) ? { charger, bank } : undefined;
}

/** What else is lost with a link: the rules that watch signals over it. */
function rulesOver(link: Link, context: DesignContext): string[] {
  return context.system.controls
    .filter((control) =>
      control.rules.some((rule) =>
        watchedBy(rule).some(({ terms }) =>
          terms.some(
            ({ signal }) =>
              signal.kind === 'of' && carrierOf(signal.signal, signal.of, control, context.system.links) === link,
          ),
        ),
      ),
    )
    .map(({ name }) => name);
}

function* judgeLink(link: Link, context: DesignContext): Generator<Verdict> {
  const joined = ends(link, context);
  if (!joined) return;
  const { charger, bank } = joined;
  const does = context.fact(charger, 'lostLink');
  if (does.kind !== 'known') return yield notChecked(link, does);
  if (does.derivation.value !== 'hold') return yield passed(link, NO_LIMIT, { lostLink: does.derivation });
  const rules = rulesOver(link, context);
  yield {
    verdict: 'failed',
    subject: link.path,
    place: placeOf(charger, 'lostLink'),
    headline: `Without ${link.name}, ${charger.name} charges on by the last limits of ${bank.name}`,
    why: `limits of an empty, warm bank are wrong for a full or cold one${rules.length > 0 ? `; ${firstFew(rules, 2)} ${rules.length === 1 ? 'loses its' : 'lose their'} signal too` : ''}`,
    advice: 'Set `lostLink: stop`, or `lostLink: defaults` where its own set points suit the bank.',
    use: NO_LIMIT,
    numbers: { lostLink: does.derivation },
    related: [{ place: link.place, text: `${link.name} carries the limits` }],
    fixes: [
      propose(`Let ${charger.name} stop when the link is lost`, [setProperty(charger, 'lostLink', 'stop')], true),
    ],
  };
}

export const linkLoss = defineCheck({
  id: 'link-loss',
  group: 'control',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'A charger goes on by the last limits it heard when the link to its bank is lost.',
    guards: 'A full or cold bank that is charged as an empty, warm one.',
    how: 'A link between a bank and what charges it: `lostLink` of the charger says what it does when the link is silent. To hold the last limits is a finding; its own set points are judged by `charge-voltage` and `charge-current`. The message names the rules that go blind with the link; whether they have a fallback is judged by `no-fallback`.',
    fix: 'Set what the charger does without the link to `stop` or to safe set points of its own.',
    sources: [
      {
        standard: 'article on inverter and battery communication',
        table: '(open, hold or defaults)',
        provenance: 'published',
      },
      { standard: 'common practice, no source', provenance: 'common practice, no source' },
    ],
    failing: `design Hut {
  charger Rect { absorb: 56 V   lostLink: hold }
  battery Bank : Lfp48V280Ah
  link BmsLink: Bank -> Rect { medium: can }
}
`,
    passing: `design Hut {
  charger Rect { absorb: 56 V   lostLink: stop }
  battery Bank : Lfp48V280Ah
  link BmsLink: Bank -> Rect { medium: can }
}
`,
  },
  judge: function* (context) {
    for (const link of context.system.links) if (speaks(link, context)) yield* judgeLink(link, context);
  },
});
