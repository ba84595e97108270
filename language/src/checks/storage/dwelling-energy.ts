import { type Derivation, displayValue, fromTable, numberIn } from '../../derivation/index.js';
import type { DesignContext } from '../../model/context.js';
import type { Instance } from '../../model/types.js';
import { collect, sumOf } from '../../quantities/worst.js';
import { callFunction, findFunction } from '../../calculate/index.js';
import { type BankLocation, BANK_LOCATIONS, DWELLING_STORAGE, dwellingLimitAt } from '../../reference/energy/index.js';
import { defineCheck, type Verdict, atMost } from '../define.js';
import { notChecked, pairText, passed, placeOf } from '../verdicts.js';
import { banksOf, namesOf } from './shared.js';
import { flagIn, wordIn } from '../../model/stated-facts.js';

const PLACES: Readonly<Record<BankLocation, string>> = {
  living: 'in a room people live or sleep in',
  closet: 'in a closet, basement or utility space',
  garage: 'in a garage or outbuilding',
  wall: 'on an outside wall',
  ground: 'outdoors on the ground',
};

const placeNamed = (bank: Instance): BankLocation | undefined => {
  const word = wordIn(bank.properties, 'location');
  return BANK_LOCATIONS.find((each) => each === word);
};

/** Energy of one unit of a bank. */
function unitEnergy(bank: Instance, context: DesignContext) {
  const all = collect([context.fact(bank, 'capacity'), context.fact(bank, 'voltage')]);
  if (!all.ok) return all.result;
  const [capacity, voltage] = all.derivations;
  return callFunction(findFunction('bankEnergy')!, { capacity, voltage });
}

const limitOf = (name: string, kilowattHours: number, source = DWELLING_STORAGE.source): Derivation =>
  fromTable(name, kilowattHours, 'kWh', source);

function* judgeUnit(bank: Instance, context: DesignContext): Generator<Verdict> {
  const unit = unitEnergy(bank, context);
  if (unit.kind !== 'known') return yield notChecked(bank, unit);
  const most = limitOf('most of one unit', DWELLING_STORAGE.unit);
  if (numberIn(unit.derivation, 'kWh') <= DWELLING_STORAGE.unit * (1 + 1e-9)) return;
  const [is, allowed] = pairText(unit.derivation, most);
  yield {
    verdict: 'failed',
    subject: bank.path,
    place: placeOf(bank, 'capacity'),
    headline: `One unit of ${bank.name} holds ${is}; a unit at a dwelling may hold ${allowed}`,
    advice: 'Use smaller units.',
    use: atMost(unit.derivation, most),
    numbers: { energy: unit.derivation, limit: most },
  };
}

/** All banks that stand in one kind of place together. */
function* judgePlace(location: BankLocation, banks: readonly Instance[], context: DesignContext): Generator<Verdict> {
  const [first] = banks as readonly [Instance, ...Instance[]];
  const all = collect(banks.map((bank) => context.quantity(bank, 'energy')));
  if (!all.ok) return yield notChecked(first, all.result);
  const energy = sumOf('energy stored', 'E', 'kWh', all.derivations);
  const { all: kilowattHours, source } = dwellingLimitAt(location);
  const limit = limitOf('most of all units there', kilowattHours, source);
  const least = limitOf('storage that needs no place of its own', DWELLING_STORAGE.least);
  if (numberIn(energy, 'kWh') <= DWELLING_STORAGE.least)
    return yield passed(first, atMost(energy, kilowattHours > DWELLING_STORAGE.least ? limit : least), { energy });
  if (numberIn(energy, 'kWh') <= kilowattHours * (1 + 1e-9))
    return yield passed(first, atMost(energy, limit), { energy, limit });
  const [is, allowed] = pairText(energy, limit);
  const elsewhere = BANK_LOCATIONS.filter(
    (each) => dwellingLimitAt(each).all >= numberIn(energy, 'kWh') && each !== location,
  ).map((each) => PLACES[each]);
  const mend =
    elsewhere.length > 0
      ? `Set them up ${[elsewhere.slice(0, -1).join(', '), elsewhere.at(-1)].filter(Boolean).join(' or ')}${kilowattHours > 0 ? `, or keep to ${allowed}` : ''}.`
      : `Keep to ${allowed}, or spread them over several places.`;
  yield {
    verdict: 'failed',
    subject: first.path,
    place: placeOf(first, 'location'),
    headline:
      kilowattHours === 0
        ? `${namesOf(banks)} (${displayValue(energy, 3)}) ${banks.length === 1 ? 'is' : 'are'} ${PLACES[location]}; at most ${displayValue(least)} allowed there`
        : `${namesOf(banks)} ${banks.length === 1 ? 'holds' : 'hold'} ${is} ${PLACES[location]}; at most ${allowed} allowed there`,
    why: 'all units in one kind of place of a dwelling together',
    advice: mend,
    use: atMost(energy, kilowattHours === 0 ? least : limit),
    numbers: { energy, limit },
    sources: [source],
  };
}

export const dwellingEnergy = defineCheck({
  id: 'dwelling-energy',
  group: 'storage',
  severity: 'warning',
  since: '0.1.0',
  docs: {
    finds: 'More energy is stored at a dwelling than the fire code allows in a unit or a place.',
    guards:
      'A battery fire that the house and its people are not protected from; a permit refused after the installation.',
    how: 'Where the site says `dwelling` and the basis is `nec`: each unit holds at most 20 kWh, all units together 40 kWh in closets, basements and utility space, 80 kWh in garages, on outside walls or on the ground (each by the `location` of the bank), and none stands where people live or sleep; up to 1 kWh is exempt. Distances of 914 mm (3 ft) between units and from doors and windows are not looked at. Other editions and the local authority may differ: at most a warning. Vehicles and boats are no dwellings.',
    fix: 'Store less there, move the bank to a place with a higher limit, or set units apart as the code says.',
    sources: [
      { ...DWELLING_STORAGE.source },
      { standard: 'outside walls, ground and living space', provenance: 'from memory' },
    ],
    failing: `design House {
  basis: nec 2023
  site { dwelling: yes }
  battery Bank : Lfp48V280Ah { parallel: 3   location: closet }
}
`,
    passing: `design House {
  basis: nec 2023
  site { dwelling: yes }
  battery Bank : Lfp48V280Ah { parallel: 3   location: garage }
}
`,
  },
  judge: function* (context) {
    const { basis, site } = context.system;
    if (basis.practice !== 'nec' || flagIn(site.properties, 'dwelling') !== true) return;
    const banks = banksOf(context);
    for (const bank of banks) yield* judgeUnit(bank, context);
    for (const location of BANK_LOCATIONS) {
      const there = banks.filter((bank) => placeNamed(bank) === location);
      if (there.length > 0) yield* judgePlace(location, there, context);
    }
    for (const bank of banks)
      if (!placeNamed(bank)) yield notChecked(bank, { kind: 'missing', missing: [`location of ${bank.name}`] });
  },
});
