import { FUELS } from './owner-words.js';
import {
  isArray,
  isBank,
  isDevice,
  isFuse,
  isInverter,
  isLoad,
  isService,
  isSet,
  isSwitch,
  sourceOf,
} from '../../model/roles.js';
import { wordIn } from '../../model/stated-facts.js';
import { isProtected } from '../../quantities/storage/bank.js';
import type { Instance } from '../../model/types.js';
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
export function ownerSheet({ system, context, cells }: SheetInput): Sheet {
  const of = (which: (each: Instance) => boolean): Instance[] => system.instances.filter(which);
  const [sets, banks, inverters, arrays, services, loads] = [isSet, isBank, isInverter, isArray, isService, isLoad].map(
    of,
  ) as [Instance[], Instance[], Instance[], Instance[], Instance[], Instance[]];
  const others = of((each) => sourceOf(each) !== undefined && !isSet(each) && !isArray(each) && !isService(each));
  const when = (things: readonly Instance[], ...lines: readonly string[]): readonly string[] =>
    things.length > 0 ? lines : [];
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
        ...when(
          banks,
          `Open the main switch or fuse of ${listed(banks)}, if it can be reached safely. The bank itself stays live.`,
        ),
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
        ...when(banks, `Close the main switch of ${listed(banks)}.`),
        ...when(inverters, `Switch on ${listed(inverters)} and wait until it shows that it runs.`),
        ...when(loads, 'Switch on the circuits one after the other.'),
        ...when(byHand, `Start ${listed(byHand)} when the bank is low: outdoors, away from windows and doors.`),
        ...when(byControl, `${listed(byControl)} starts and stops by itself. Keep clear of it.`),
        ...when([...arrays, ...others], `${listed([...arrays, ...others])} charges by itself.`),
      ]),
      list('To shut down', [
        ...when(loads, 'Switch off the loads.'),
        ...when(sets, `Stop ${listed(sets)}; let it cool down first.`),
        ...when(services, `Unplug or switch off ${listed(services)}.`),
        ...when(inverters, `Switch off ${listed(inverters)}.`),
        ...when(arrays, `Open the switch or breaker of ${listed(arrays)} before that of the bank.`),
        ...when(banks, `Open the main switch of ${listed(banks)} last.`),
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
