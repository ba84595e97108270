import { isTransferGear, residualOf } from '../../model/roles.js';
import { flagIn } from '../../model/stated-facts.js';
import type { Instance } from '../../model/types.js';
import { isProtected } from '../../quantities/storage/bank.js';
import type { SheetInput } from '../input.js';
import { type Block, table, text } from '../sheet.js';
import { type Plant, listed, title, when } from './owner-plant.js';
import { fuelOf } from './owner-words.js';

/** Something that an owner finds out of order, and what they may do about it themselves, in this order. */
interface Trouble {
  readonly seen: string;
  readonly doing: readonly string[];
}

/** What an owner looks at before they call: what is usual in the trade (common practice, no source), and nothing that needs a cover to be opened. */
export function troubleBlock(input: SheetInput, plant: Plant): Block {
  return table<Trouble>(
    'trouble',
    'When something does not work',
    [
      { key: 'seen', title: 'What you see', cell: ({ seen }) => text(seen) },
      {
        key: 'doing',
        title: 'What to do, in this order; where it does not help, call your installer',
        cell: ({ doing }) => text(numbered(doing)),
      },
    ],
    [...outages(input, plant), ...generators(plant), ...renewables(plant), ...alarms(input, plant)],
    'There is nothing that an owner could put in order.',
  );
}

const numbered = (doing: readonly string[]): string =>
  doing.length === 1 ? doing[0]! : doing.map((each, index) => `${index + 1}. ${each}`).join(' ');

function outages({ system }: SheetInput, plant: Plant): Trouble[] {
  const { inverters, banks, breakers, devices, loads, plugged, services } = plant;
  const transfers = system.instances.filter((each) => isTransferGear(each));
  const wired = services.filter((each) => !plugged.includes(each));
  const residuals = system.instances.filter((each) => {
    const says = residualOf(each)?.says;
    return says !== undefined && flagIn(each.properties, says) === true;
  });
  const rows: Trouble[] = [];
  if (loads.length > 0)
    rows.push({
      seen: 'Everything is dark',
      doing: [
        ...when(
          inverters,
          `Look at ${listed(inverters)}: an alarm there is explained below. Where nothing shows, see whether its own switch is on.`,
        ),
        ...when(
          plant.main ? banks : [],
          `See whether the bank is switched on: ${plant.main ?? ''}. If it is off and nobody knows why, leave it off and call.`,
        ),
        ...when(
          banks,
          `Look at the charge of ${listed(banks)}: where it is low, switch off the loads and charge first.`,
        ),
        ...when(breakers, 'Look for a breaker that is off or half-way; see the next line.'),
      ],
    });
  if (devices.length > 0 && loads.length > 0)
    rows.push({
      seen: 'One circuit is dead, the others work',
      doing: [
        'Unplug or switch off what is on it.',
        ...when(residuals, `Press reset at ${listed(residuals)}, where that has tripped.`),
        ...when(
          breakers,
          'Switch its breaker fully off, then on, once. The circuit directory at the panel says which one it is.',
        ),
        'Where it stays on, switch things on one by one: the one at which it trips again is at fault; leave that off.',
      ],
    });
  if (wired.length > 0)
    rows.push({
      seen: `${listed(wired)} has failed`,
      doing: [
        ...(inverters.length > 0
          ? [
              'What the bank carries goes on by itself or after a moment. Use little: what it has left is what you see as its charge.',
            ]
          : ['Wait for it, or call its supplier.']),
        ...transfers.map(
          (each) => `${title(each)} goes to the supply that is live, or is set to it as under “To start”.`,
        ),
        ...when(plant.byHand, `Start ${listed(plant.byHand)} before the bank is low.`),
      ],
    });
  const cords = plugged.filter((each) => !plant.sets.includes(each));
  if (cords.length > 0)
    rows.push({
      seen: `Nothing comes from ${listed(cords)}`,
      doing: [
        'See whether its plug sits fast at both ends and is dry; a plug that is hot or brown is not used again.',
        'Look at the breaker of the outlet. Where it trips again, draw less or use another outlet.',
        'Never cut, change or bypass the earth contact of a plug.',
      ],
    });
  return rows;
}

function generators({ sets, byControl, banks }: Plant): Trouble[] {
  if (sets.length === 0) return [];
  const fuels = [...new Set(sets.flatMap((set) => fuelOf(set) ?? []))];
  return [
    {
      seen: `${listed(sets)} does not start`,
      doing: [
        `See whether there is fuel (${fuels.join(', ') || 'see its plate'}) and its valve is open.`,
        'Look at the oil: most stop themselves when it is low. Look for a pressed stop button.',
        'Check its starting battery and the cable on it.',
        ...when(
          byControl,
          `See whether ${listed(byControl)} is set to automatic; to try, start it by hand at its own panel.`,
        ),
        'Try three times, with a pause between; then let it be.',
        ...when(banks, 'Until it runs: switch off what you can spare, since the bank is not charged by it.'),
      ],
    },
    {
      seen: `${listed(sets)} runs, and nothing comes from it`,
      doing: [
        'Stop it. Look at its own breaker and at its cord or its switch.',
        'Switch the larger loads off, start it again, and let it warm up before it is loaded.',
      ],
    },
  ];
}

function renewables({ arrays, arrayGear, turned }: Plant): Trouble[] {
  return [
    ...when(arrays, 'one').map(() => ({
      seen: `${listed(arrays)} brings little or nothing by day`,
      doing: [
        'A full bank accepts little: that is as it should be.',
        'Look for snow, leaves or shade on the modules; do not climb, and do not touch a broken one.',
        ...when(arrayGear, `See whether ${listed(arrayGear)} is on.`),
      ],
    })),
    ...when(turned, 'one').map(() => ({
      seen: `${listed(turned)} turns without charging, or races, hums or shakes`,
      doing: ['Bring it to a stop at once, and leave it stopped until somebody has found out why.'],
    })),
  ];
}

function alarms({ context }: SheetInput, { banks, inverters, devices, sets }: Plant): Trouble[] {
  const guarded = banks.filter((bank: Instance) => isProtected(bank, context));
  const row = (things: readonly unknown[], seen: string, ...doing: readonly string[]): Trouble[] =>
    things.length > 0 ? [{ seen, doing }] : [];
  return [
    ...row(banks, 'Alarm: low battery', 'Switch off what you can spare.', 'Charge.'),
    ...row(
      guarded,
      'The bank has switched itself off',
      'Switch off all loads.',
      'Charge, where a source still can.',
      'Where it stays off, leave it.',
    ),
    ...row(
      inverters,
      'Alarm: overload',
      'Too much is on at once: switch something off.',
      'Switch the inverter on again.',
    ),
    ...row(inverters, 'Alarm: over-temperature', 'Let it cool, keep its openings free.'),
    ...row(
      devices,
      'A breaker trips again, or a fuse blows again',
      'Leave it off. Never fit a larger one, and never bridge it.',
    ),
    ...row(sets, 'Low oil or high temperature of the generator', 'Let it stop, check the oil when it is cold.'),
    ...row(sets, 'The alarm for carbon monoxide sounds', 'Get everybody out at once, then call for help from outside.'),
  ];
}
