import { sourceOf } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { inUnit } from '../../quantity/index.js';
import { chemistry } from '../../reference/energy/chemistries.js';
import { wordIn } from '../../model/stated-facts.js';
import type { Block } from '../sheet.js';
import { fuelAdviceOf } from './owner-words.js';
import { type Plant, list, listed, title, when } from './owner-plant.js';

/** How it is left for weeks or for the winter, and taken up again (common practice, no source; the manuals of the makers come first). */
export function restBlock(plant: Plant): Block {
  const { banks, leadBanks, lithiumBanks, sets, plugged, others } = plant;
  const from = (origin: string): Instance[] => others.filter((each) => sourceOf(each)?.from === origin);
  return list('When it is left unused, as over the winter', [
    ...when(
      lithiumBanks,
      `Charge ${listed(lithiumBanks)} to about half before you leave: full and warm it ages, and empty it may be lost. Look at it every three months.`,
    ),
    ...when(
      leadBanks,
      `Charge ${listed(leadBanks)} fully before you leave, and again every month or two: discharged it is lost, and freezes.`,
    ),
    'Shut it down as above, so that nothing draws on the bank unseen.',
    ...sets.map(
      (set) => `${title(set)}: ${fuelAdviceOf(set).resting} Disconnect its starting battery, or keep it charged.`,
    ),
    ...when(from('water'), `Drain ${listed(from('water'))} and the pipe before the frost.`),
    ...when(from('wind'), `Leave ${listed(from('wind'))} braked.`),
    ...when(plugged, 'Take the cords in, dry, and close the covers of their inlets.'),
    ...lithiumBanks.map(
      (bank) =>
        `Before you charge ${title(bank)} again: its cells must not be colder than ${lowestCharge(bank)}. Charging it colder damages it for good.`,
    ),
    `Before it is used again: do what is done every month (below)${banks.length > 0 ? ', see that the bank is dry and whole' : ''}, then start it as above.`,
  ]);
}

/** The lowest temperature at which a bank may be charged: its own, else the usual one of its chemistry. */
function lowestCharge(bank: Instance): string {
  const own = bank.properties.get('chargeTemperature')?.value;
  const celsius =
    own?.type === 'quantity'
      ? inUnit({ ...own.quantity, value: own.quantity.low }, 'degC')
      : chemistry(wordIn(bank.properties, 'chemistry') ?? '')!.chargeTemperature.from;
  return `${Math.round(celsius)} °C`;
}
