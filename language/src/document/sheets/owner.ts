import { flagIn, wordIn } from '../../model/stated-facts.js';
import { isBank, isFuse, isSwitch, isTransferGear, passingOf } from '../../model/roles.js';
import type { Instance } from '../../model/types.js';
import { said } from '../cells.js';
import { gearOf, runsAt } from '../commissioning/wiring-state.js';
import { toStart } from '../commissioning/words.js';
import type { SheetInput } from '../input.js';
import { type Cell, type Sheet, box, table, text } from '../sheet.js';
import { supplySettings } from '../supply-settings.js';
import { list, listed, plantOf, title, when } from './owner-plant.js';
import { restBlock } from './owner-rest.js';
import { troubleBlock } from './owner-trouble.js';
import { fuelAdviceOf, fuelOf } from './owner-words.js';

/** Its place, or the enclosure it is in; a box where neither is stated. A bank states the sort of its place, which says too little. */
function whereOf(each: Instance, cells: SheetInput['cells']): Cell {
  const [place, enclosure] = [isBank(each) ? box() : cells.fact(each, 'location'), cells.fact(each, 'enclosure')];
  return place.kind === 'box' ? enclosure : place;
}

/** For the owner: how to start, stop and keep it, in plain words. */
export function ownerSheet(input: SheetInput): Sheet {
  const { system, cells, context } = input;
  const plant = plantOf(input);
  const { sets, byHand, byControl, banks, inverters, arrays, services, loads, others, turned, plugged, main } = plant;
  const of = (which: (each: Instance) => boolean): Instance[] => system.instances.filter(which);
  const wired = services.filter((each) => !plugged.includes(each));
  // What charges without anybody doing anything to it.
  const byThemselves = [...arrays, ...others].filter((each) => !turned.includes(each) && !plugged.includes(each));
  // An inverter whose capacitors are empty would take the whole current of the bank at once.
  const uncharged = inverters.filter((each) => flagIn(each.properties, 'precharge') !== true);
  const byHandSet = of(isTransferGear).filter((each) => wordIn(each.properties, 'operation') === 'manual');
  return {
    name: 'owner',
    title: 'Owner’s pages',
    reader: 'owner',
    blocks: [
      {
        kind: 'caution',
        lines: [
          'In danger: leave first, then call for help. Do not open covers: parts inside stay live even when everything is switched off.',
        ],
      },
      list('In an emergency', [
        'Get everybody away from smoke, fire or a shock. Never touch a person who is in contact with live parts.',
        ...when(sets, `Stop ${listed(sets)} by its stop button.`),
        ...when(inverters, `Switch off ${listed(inverters)}.`),
        ...when(turned, `Bring ${listed(turned)} to a stop before the bank is switched off: ${STANDSTILL}.`),
        ...when(
          banks,
          main
            ? `Open ${main}, if it can be reached safely. The bank itself stays live.`
            : `Keep away from ${listed(banks)}: nothing there is switched off by hand, and it stays live.`,
        ),
        ...when(
          plugged.filter((each) => !sets.includes(each)),
          `Unplug ${listed(plugged.filter((each) => !sets.includes(each)))} at the supply, if it can be reached safely.`,
        ),
        ...wired.map((each) => `Switch off ${openingText(each, context)}, if it can be reached safely.`),
        ...when(arrays, `${listed(arrays)} gives voltage as long as there is light.`),
        'Call the fire brigade or an ambulance, and say that there is a battery system.',
        'Call your installer before anything is switched on again.',
      ]),
      table<readonly [what: string, where: Cell]>(
        'whom',
        'Whom to call, and where things are',
        [
          { key: 'what', title: 'What', cell: ([what]) => text(what) },
          { key: 'where', title: 'To fill in, or as the design says', cell: ([, where]) => where },
        ],
        [
          ['Emergency number', box()],
          ['Installer, telephone', box()],
          ['Manuals and these pages are kept at', box()],
          ...[...sets, ...banks, ...inverters, ...of(isSwitch)].map((each): readonly [string, Cell] => [
            title(each),
            whereOf(each, cells),
          ]),
          ...when(sets, 'Fuel shut-off and fire extinguisher').map((what): readonly [string, Cell] => [what, box()]),
        ],
        '',
      ),
      list('To start', [
        ...(main
          ? [
              `${
                uncharged.length > 0
                  ? `Charge the input of ${listed(uncharged)} first, as its manual and your installer have shown you: a bank closed on it uncharged may burn the switch. Then close`
                  : 'Close'
              } ${main}.`,
            ]
          : []),
        ...when(inverters, `Switch on ${listed(inverters)} and wait until it shows that it runs.`),
        ...when(loads, 'Switch on the circuits one after the other.'),
        ...byHand.map(
          (set) =>
            `Start ${title(set)} when the bank is low: outdoors, away from windows and doors.${plugged.includes(set) ? ' Plug in its cord first; let it warm up before the loads are switched on.' : ''}`,
        ),
        ...plant.inlets.map(
          ({ inlet, sources }) => `${title(inlet)} accepts one cord at a time, of ${oneOf(sources)}.`,
        ),
        ...limitTexts(context),
        ...plugged
          .filter((each) => !sets.includes(each))
          .filter((each) => !plant.inlets.some(({ sources }) => sources.includes(each)))
          .map((each) => `Plug in ${title(each)} where it is wanted.`),
        ...byHandSet.map((each) => transferText(each)),
        ...when(byControl, `${listed(byControl)} starts and stops by itself. Keep clear of it.`),
        ...turned.map(
          (each) =>
            `${title(each)}: ${toStart(each, runsAt(each, context))}, and only while the bank is switched on. It charges by itself then.`,
        ),
        ...when(byThemselves, `${listed(byThemselves)} charges by itself.`),
      ]),
      list('To shut down', [
        ...when(loads, 'Switch off the loads.'),
        ...when(sets, `Stop ${listed(sets)}; let it cool down first.`),
        ...when(plugged, `Unplug ${listed(plugged)}, at the supply first.`),
        ...wired.map((each) => `Open ${openingText(each, context)}.`),
        ...when(inverters, `Switch off ${listed(inverters)}.`),
        ...when(arrays, `Open the switch or breaker of ${listed(arrays)} before that of the bank.`),
        ...when(turned, `Bring ${listed(turned)} to a stop: ${STANDSTILL}.`),
        ...(main ? [`Open ${main}, last.`] : []),
      ]),
      troubleBlock(input, plant),
      restBlock(plant),
      ...(sets.length > 0
        ? [
            list(
              'Fuel',
              sets.map((set) => `${title(set)}: ${fuelOf(set) ?? 'see its plate'}. ${fuelAdviceOf(set).filling}`),
            ),
          ]
        : []),
      list(
        'Spare parts to keep',
        [
          ...new Set(
            of(isFuse).map((fuse) =>
              ['class', 'rating'].flatMap((name) => fuse.properties.get(name)?.text ?? []).join(' '),
            ),
          ),
        ]
          .filter(Boolean)
          .map((each) => `Fuse: ${each}, the same class and rating`),
      ),
      table<Upkeep>(
        'upkeep',
        'Maintenance: what is done, by whom, and when it was done',
        [
          { key: 'every', title: 'Every', cell: ({ every }) => text(every) },
          { key: 'what', title: 'What', cell: ({ what }) => text(what) },
          { key: 'who', title: 'Who', cell: ({ who }) => text(who) },
          ...['first', 'second', 'third', 'fourth'].map((key) => ({ key, title: 'Done on', cell: () => box() })),
        ],
        [
          ...upkeep('month', 'you', [
            'Press the test button of every residual-current device and of the alarms.',
            ...when(sets, `Run ${listed(sets)} under load for half an hour; check oil and fuel first.`),
            ...when(
              banks,
              'Look at the bank: clean, dry, no swelling, no smell. Look at the state of charge and write it down.',
            ),
            ...banks
              .filter((bank) => wordIn(bank.properties, 'chemistry') === 'flooded')
              .map(
                (bank) =>
                  `${title(bank)}: check the acid, fill up with distilled water after charging. Goggles and gloves.`,
              ),
          ]),
          ...upkeep('year', 'a qualified person', [
            'Tighten or remake joints by the wire schedule, look at them under load with a thermal camera.',
            'Test the protection, the bonds and the thresholds by the commissioning sheet.',
            ...when(sets, 'Service the generator by the hours of its manual.'),
            ...when(arrays, 'Look at the modules, their frames and cables.'),
          ]),
        ],
        '',
      ),
    ],
  };
}

/** Why a turbine or an alternator is stopped before its bank goes. */
const STANDSTILL = 'brake, valve or engine; without its bank it races or destroys itself';

/** How a transfer switch is thrown by hand. */
function transferText(gear: Instance): string {
  const [first, second] = passingOf(gear)!.from;
  return `${title(gear)} chooses the supply: ${first} as a rule; set it to ${second ?? 'the other'} when that runs, with the loads off, and back to ${first} before that is stopped.`;
}

/** `MainsBreaker, which brings in Mains`. */
function openingText(service: Instance, context: SheetInput['context']): string {
  const [gear] = runsAt(service, context).flatMap(gearOf);
  return gear ? `${title(gear)}, which brings in ${title(service)}` : `the switch that brings in ${title(service)}`;
}

/** `A, B or C`. */
function oneOf(things: readonly Instance[]): string {
  const all = things.map(title);
  return all.length > 1 ? `${all.slice(0, -1).join(', ')} or ${all.at(-1)!}` : all.join('');
}

/** Which input limit is set for which supply, for each thing that has several: `set the input limit of Inv first: 24 A for Post`. */
function limitTexts(context: SheetInput['context']): readonly string[] {
  const all = supplySettings(context);
  return [...new Set(all.map(({ thing }) => thing))].map((thing) => {
    const own = all.filter((each) => each.thing === thing);
    const values = own.map(({ supply, setting }) => `${said(setting)} for ${title(supply)}`).join(', ');
    return `Before you plug in, set the input limit of ${title(thing)}: ${values}. Too high, and the outlet trips or the cord overheats.`;
  });
}

interface Upkeep {
  readonly every: string;
  readonly who: string;
  readonly what: string;
}

const upkeep = (every: string, who: string, what: readonly string[]): readonly Upkeep[] =>
  what.map((each) => ({ every, who, what: each }));
