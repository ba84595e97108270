import { FUELS } from './owner-words.js';
import {
  isArray,
  isBank,
  isBreaker,
  isDevice,
  isFuse,
  isInverter,
  isLoad,
  isService,
  isSet,
  isSwitch,
  isTransferGear,
  isTurned,
  passingOf,
  sourceOf,
} from '../../model/roles.js';
import { flagIn, wordIn } from '../../model/stated-facts.js';
import { isProtected } from '../../quantities/storage/bank.js';
import type { Instance } from '../../model/types.js';
import { gearOf, runsAt } from '../commissioning/wiring-state.js';
import { isPlugged } from '../commissioning/words.js';
import type { SheetInput } from '../input.js';
import { type Block, type Cell, type Sheet, box, table, text } from '../sheet.js';

/** Its place, or the enclosure it is in; a box where neither is stated. A bank states the sort of its place, which says too little. */
function whereOf(each: Instance, cells: SheetInput['cells']): Cell {
  const [place, enclosure] = [isBank(each) ? box() : cells.fact(each, 'location'), cells.fact(each, 'enclosure')];
  return place.kind === 'box' ? enclosure : place;
}

const title = ({ name, label }: Instance): string => (label ? `${label} (${name})` : name);
const listed = (things: readonly Instance[]): string => things.map(title).join(', ');

/** For the owner: how to start, stop and keep it, in plain words. */
export function ownerSheet({ system, cells, context }: SheetInput): Sheet {
  const of = (which: (each: Instance) => boolean): Instance[] => system.instances.filter(which);
  const [sets, banks, inverters, arrays, services, loads] = [isSet, isBank, isInverter, isArray, isService, isLoad].map(
    of,
  ) as [Instance[], Instance[], Instance[], Instance[], Instance[], Instance[]];
  const others = of((each) => sourceOf(each) !== undefined && !isSet(each) && !isArray(each) && !isService(each));
  const when = (things: readonly Instance[], ...lines: readonly string[]): readonly string[] =>
    things.length > 0 ? lines : [];
  const turned = others.filter(isTurned);
  const plugged = services.filter((each) => runsAt(each, context).some(isPlugged));
  const wired = services.filter((each) => !plugged.includes(each));
  const mains = [...new Set(banks.flatMap((bank) => runsAt(bank, context).flatMap(gearOf)))].filter(
    (each) => isSwitch(each) || isBreaker(each),
  );
  const main =
    mains.length > 0 ? `${listed(mains)}, the main switch of ${listed(banks)}` : `the main switch of ${listed(banks)}`;
  // An inverter whose capacitors are empty would take the whole current of the bank at once.
  const uncharged = inverters.filter((each) => flagIn(each.properties, 'precharge') !== true);
  const byHandSet = of(isTransferGear).filter((each) => wordIn(each.properties, 'operation') === 'manual');
  const [byHand, byControl] = [true, false].map((hand) =>
    sets.filter((set) => !system.controls.some(({ target }) => target === set) === hand),
  ) as [Instance[], Instance[]];
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
        ...when(banks, `Open ${main}, if it can be reached safely. The bank itself stays live.`),
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
        ...when(
          banks,
          `${
            uncharged.length > 0
              ? `Charge the input of ${listed(uncharged)} first, as its manual and your installer have shown you: a bank closed on it uncharged may burn the switch. Then close`
              : 'Close'
          } ${main}.`,
        ),
        ...when(inverters, `Switch on ${listed(inverters)} and wait until it shows that it runs.`),
        ...when(loads, 'Switch on the circuits one after the other.'),
        ...when(byHand, `Start ${listed(byHand)} when the bank is low: outdoors, away from windows and doors.`),
        ...byHandSet.map((each) => transferText(each)),
        ...when(byControl, `${listed(byControl)} starts and stops by itself. Keep clear of it.`),
        ...when(turned, `Let ${listed(turned)} turn only while the bank is switched on.`),
        ...when([...arrays, ...others], `${listed([...arrays, ...others])} charges by itself.`),
      ]),
      list('To shut down', [
        ...when(loads, 'Switch off the loads.'),
        ...when(sets, `Stop ${listed(sets)}; let it cool down first.`),
        ...when(plugged, `Unplug ${listed(plugged)}.`),
        ...wired.map((each) => {
          const [gear] = runsAt(each, context).flatMap(gearOf);
          return gear ? `Open ${title(gear)}, which brings in ${title(each)}.` : `Switch off ${title(each)}.`;
        }),
        ...when(inverters, `Switch off ${listed(inverters)}.`),
        ...when(arrays, `Open the switch or breaker of ${listed(arrays)} before that of the bank.`),
        ...when(turned, `Bring ${listed(turned)} to a stop: ${STANDSTILL}.`),
        ...when(banks, `Open ${main}, last.`),
      ]),
      list('Alarms and what they mean', [
        ...when(banks, 'Low battery: switch off what you can spare, and charge.'),
        ...when(
          banks.filter((bank) => isProtected(bank, context)),
          'The bank has switched itself off: switch off all loads, then charge; where it stays off, call your installer.',
        ),
        ...when(
          inverters,
          'Overload: too much is on at once. Switch something off, then switch the inverter on again.',
          'Over-temperature: let it cool, keep its openings free.',
        ),
        ...when(
          of(isDevice),
          'A breaker that trips again, or a fuse that blows again: leave it off and call your installer. Never fit a larger one.',
        ),
        ...when(
          sets,
          'Low oil or high temperature of the generator: let it stop, check the oil when it is cold.',
          'The alarm for carbon monoxide: get everybody out at once.',
        ),
      ]),
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
      ...(sets.length > 0
        ? [
            list(
              'Fuel',
              sets.map(
                (set) =>
                  `${title(set)}: ${FUELS[wordIn(set.properties, 'fuel') ?? ''] ?? 'see its plate'}. Let it cool before you fill it. Keep fuel away from the bank and from rooms where people sleep.`,
              ),
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

interface Upkeep {
  readonly every: string;
  readonly who: string;
  readonly what: string;
}

const upkeep = (every: string, who: string, what: readonly string[]): readonly Upkeep[] =>
  what.map((each) => ({ every, who, what: each }));

const list = (heading: string, items: readonly string[]): Block => ({
  kind: 'list',
  title: heading,
  isOrdered: true,
  items: items.length > 0 ? items : ['Nothing.'],
});
