import { type Shortfall, clauseText } from '../../derivation/index.js';
import { formatPair, quantity } from '../../quantity/index.js';

const WORDS: Readonly<Record<Shortfall['what'], readonly [has: string, wants: string]>> = {
  ampacity: ['ampacity', 'the load of'],
  ampacityBeforeCorrection: ['ampacity before correction of', '125 % of the load,'],
  device: ['largest device', 'the one the load needs,'],
};

/** Why a conductor is too small, as refusals and reasons say it: `ampacity 20 A is below the load of 25 A`. */
export function shortfallText({ what, has, wants, rule }: Shortfall): string {
  const [allowed, asked] = formatPair(quantity(has, 'A'), quantity(wants, 'A'));
  const [ofConductor, ofLoad] = WORDS[what];
  return `${ofConductor} ${allowed} is below ${ofLoad} ${asked}${rule ? ` (${clauseText(rule)})` : ''}`;
}
