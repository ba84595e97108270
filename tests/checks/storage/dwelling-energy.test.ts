import { describe, expect, it } from 'vitest';
import { analyseText, askedBy, findingsOf, lacking } from '../../helpers/analyse.js';

const ID = 'dwelling-energy';

/** Units of 10 kWh, so many in parallel. */
const house = (facts: string, site = 'dwelling: yes', basis = 'nec 2023', rest = ''): string => `design D {
  basis: ${basis}
  site { ${site} }
  battery Bank { chemistry: lfp   voltage: 50 V   capacity: 200 Ah   ${facts} }
  ${rest}
}
`;
const findings = async (text: string) => findingsOf(await analyseText(text), ID);

describe(ID, () => {
  it.each([
    ['closet', 4, 5],
    ['garage', 8, 9],
    ['wall', 8, 9],
    ['ground', 8, 9],
  ])('NFPA 855 chapter 15: %s takes %i units of 10 kWh, not %i', async (location, most, over) => {
    expect(await findings(house(`location: ${location}   parallel: ${most}`))).toEqual([]);
    const [finding, ...others] = await findings(house(`location: ${location}   parallel: ${over}`));
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('warning');
    expect(lacking(finding?.told, `holds ${over}0 kWh`)).toEqual([]);
    expect(lacking(finding?.told, `may hold ${most}0 kWh`)).toEqual([]);
  });

  it('finds a place that would do', async () => {
    const [finding] = await findings(house('location: closet   parallel: 5'));
    expect(
      lacking(
        finding?.told,
        'Set them up in a garage or outbuilding, on an outside wall or outdoors on the ground, or keep to 40 kWh',
      ),
    ).toEqual([]);
    const [none] = await findings(house('location: garage   parallel: 9'));
    expect(lacking(none?.told, 'spread them over several places')).toEqual([]);
  });

  it('adds what stands in one place, and not what stands elsewhere', async () => {
    const second = (location: string): string =>
      `battery Other { chemistry: lfp   voltage: 50 V   capacity: 200 Ah   location: ${location} }`;
    const text = (location: string): string =>
      house('location: closet   parallel: 4', undefined, undefined, second(location));
    expect(await findings(text('garage'))).toEqual([]);
    expect(lacking((await findings(text('closet')))[0]?.told, 'Bank and Other hold 50 kWh')).toEqual([]);
  });

  it('limits one unit to 20 kWh', async () => {
    const unit = (ampereHours: number): string => house(`location: garage`).replace('200 Ah', `${ampereHours} Ah`);
    expect(await findings(unit(400))).toEqual([]);
    expect(
      lacking(
        (await findings(unit(401)))[0]?.told,
        'One unit of Bank holds 20.1 kWh, and a unit at a dwelling may hold 20 kWh',
      ),
    ).toEqual([]);
  });

  it('keeps more than 1 kWh out of living space', async () => {
    const living = (ampereHours: number): string => house('location: living').replace('200 Ah', `${ampereHours} Ah`);
    expect(await findings(living(20))).toEqual([]);
    expect(lacking((await findings(living(21)))[0]?.told, 'in a room people live or sleep in')).toEqual([]);
  });

  it('holds for dwellings under the NEC, and asks where a bank stands', async () => {
    expect(await findings(house('location: closet   parallel: 9', 'dwelling: no'))).toEqual([]);
    expect(await findings(house('location: closet   parallel: 9', 'altitude: 1 m'))).toEqual([]);
    expect(await findings(house('location: closet   parallel: 9', undefined, 'iec'))).toEqual([]);
    expect(askedBy(await analyseText(house('parallel: 2')), ID)).toEqual(['location of Bank']);
  });
});
