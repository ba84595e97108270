import { describe, expect, it } from 'vitest';
import { analyseText, lacking } from '../../helpers/analyse.js';
import { found, hut, mended } from './helpers.js';

describe('no-fallback', () => {
  const LINK = 'link L: Bank -> Rect { medium: can }';
  const RULES = 'start when soc(Bank) < 40 %   stop when soc(Bank) > 80 %';

  it('asks for a fallback where a signal comes over a link', async () => {
    expect(await found(hut(RULES), 'no-fallback')).toEqual([]);
    const text = hut(RULES, LINK);
    expect(await found(text, 'no-fallback')).toHaveLength(1);
    const fixed = await mended(text, 'no-fallback');
    expect(fixed.map(({ left }) => left)).toEqual([[]]);
    expect(fixed[0]!.text).toContain('without L {');
  });

  it('takes a voltage as measured on the spot', async () => {
    expect(
      await found(hut('start when voltage(Bank) < 50 V   stop when voltage(Bank) > 55.5 V', LINK), 'no-fallback'),
    ).toEqual([]);
  });

  it.each([
    ['without L { start when voltage(Bank) < 50 V   stop when voltage(Bank) > 55.5 V }', 0, ''],
    ['without L { start when voltage(Bank) < 50 V }', 1, 'no rule by which Genset is stopped'],
    ['without L { stop when voltage(Bank) > 55.5 V }', 1, 'no rule by which Genset is started'],
    ['without L { }', 1, 'no rule'],
    ['without L { start when soc(Bank) < 30 %   stop when voltage(Bank) > 55.5 V }', 1, 'comes over that link'],
  ])('%s: %i', async (fallback, count, words) => {
    const findings = await found(hut(`${RULES}   ${fallback}`, LINK), 'no-fallback');
    expect(findings.map(({ told }) => told)).toHaveLength(count);
    expect(findings[0]?.told ?? '').toContain(words);
  });

  it('is content with a fallback for one of several links of the bank', async () => {
    const two = `${LINK}   link Display: Bank -> Fan { medium: wireless }`;
    const rules = `${RULES}   without Display { start when voltage(Bank) < 50 V   stop when voltage(Bank) > 55.5 V }`;
    expect(await found(hut(rules, two), 'no-fallback')).toEqual([]);
  });
});

describe('link-protocol', () => {
  const line = (rect: string, bank: string, link: string): string => `design D {
  charger Rect { absorb: 56 V   ${rect} }
  battery Bank { chemistry: lfp   voltage: 51.2 V   ${bank} }
  link L: Bank -> Rect { ${link} }
}`;
  const P = 'protocol: "neutral-1"   rate: 500 kbit/s';

  it.each([
    ['all agree', P, P, P, 0],
    ['protocols differ', P, 'protocol: "neutral-2"   rate: 500 kbit/s', 'medium: can', 1],
    ['rates differ', P, 'protocol: "neutral-1"   rate: 250 kbit/s', 'medium: can', 1],
    ['both differ', P, 'protocol: "neutral-2"   rate: 250 kbit/s', 'medium: can', 2],
    ['the link differs', P, P, 'protocol: "neutral-3"   medium: can', 1],
    ['a rate in another unit', P, 'protocol: "neutral-1"   rate: 0.5 Mbit/s', 'medium: can', 0],
    ['a protocol in other letters', P, 'protocol: "Neutral-1"   rate: 500 kbit/s', 'medium: can', 0],
    ['a dry contact', 'protocol: "a"', 'protocol: "b"', 'medium: contact', 0],
    ['one address told to both ends', `${P}   address: 1`, `${P}   address: 1`, 'medium: can', 0],
  ])('%s', async (_, rect, bank, link, count) => {
    const findings = await found(line(rect, bank, link), 'link-protocol');
    expect(findings.map(({ told }) => told)).toHaveLength(count);
  });

  it('sets a link that says otherwise to what both ends speak', async () => {
    const text = line(P, P, 'protocol: "neutral-3"   medium: can');
    const fixed = await mended(text, 'link-protocol');
    expect(fixed[0]!.text).toContain('link L: Bank -> Rect { protocol: "neutral-1"   medium: can }');
    expect(await found(fixed[0]!.text, 'link-protocol')).toEqual([]);
  });

  it('finds one address twice among things on one line', async () => {
    const text = `design D {
  charger Rect { ${P}   address: 2 }
  inverter Inv { ${P}   address: 2 }
  battery Bank { chemistry: lfp   voltage: 51.2 V   ${P}   address: 1 }
  link L1: Bank -> Rect { medium: rs485 }
  link L2: Bank -> Inv { medium: rs485 }
}`;
    const findings = await found(text, 'link-address');
    expect(findings.map(({ headline }) => headline)).toEqual(['Rect and Inv both have address 2']);
    expect(findings[0]?.why).toContain('Bank (L1, L2)');
  });

  it('asks for what an end does not state', async () => {
    const { questions } = await analyseText(line(P, '', 'medium: can'));
    expect(questions.filter(({ check }) => check === 'link-protocol').flatMap(({ missing }) => missing)).toEqual([
      'protocol of Bank',
      'rate of Bank',
    ]);
  });
});

const P = 'protocol: "neutral-1"   rate: 9.6 kbit/s';
const pair = (link: string, rect = '', bank = ''): string => `design D {
  charger Rect { absorb: 56 V   ${P}   ${rect} }
  battery Bank { chemistry: lfp   voltage: 51.2 V   ${P}   ${bank} }
  link L: Bank -> Rect { ${link} }
}`;
const count = async (text: string, check: string): Promise<number> => (await found(text, check)).length;

describe('link-address', () => {
  it.each([
    ['the far end', 'address: 2', 'address: 2', 'address: 1', 0],
    ['the near end, told to the far one', 'address: 1', 'address: 2', 'address: 1', 0],
    ['neither end', 'address: 3', 'address: 2', 'address: 1', 1],
    ['ends that say nothing', 'address: 3', '', '', 0],
  ])('a link that speaks to %s', async (_, link, rect, bank, findings) => {
    expect(await count(pair(`medium: rs485   ${link}`, rect, bank), 'link-address')).toBe(findings);
  });

  // Modbus over serial line: 1 to 247, from memory.
  it.each([
    [0, 1],
    [1, 0],
    [247, 0],
    [248, 1],
  ])('Modbus address %i: %i', async (address, findings) => {
    const text = pair('medium: rs485', `address: ${address}`).replaceAll('neutral-1', 'Modbus RTU');
    const told = await found(text, 'link-address');
    expect(told.map(({ severity }) => severity)).toEqual(findings === 1 ? ['warning'] : []);
  });

  it('holds all things of one named line against each other, and gives a free address', async () => {
    const chain = (third: string): string => `design D {
  battery A { ${P}   address: 1 }   battery B { ${P}   address: 2 }   battery C { ${P}   address: 3 }   charger Rect { ${P}   ${third} }
  link L1: A -> B { medium: can   line: "bus" }   link L2: B -> C { medium: can   line: "bus" }   link L3: C -> Rect { medium: can   line: "bus" }
}`;
    expect(await count(chain('address: 4'), 'link-address')).toBe(0);
    const [finding] = await found(chain('address: 1'), 'link-address');
    expect(lacking(finding?.told, 'A and Rect both have address 1 on the line of L1, L2, L3')).toEqual([]);
    expect(finding?.fixes.map(({ title }) => title)).toEqual(['Give Rect address 4']);
    const { questions } = await analyseText(chain(''));
    expect(questions.filter(({ check }) => check === 'link-address').flatMap(({ missing }) => missing)).toEqual([
      'address of Rect',
    ]);
  });
});

describe('link-termination', () => {
  it.each([
    ['can', 1, ['error']],
    ['can', 2, []],
    ['can', 3, ['error']],
    ['rs485', 0, ['warning']],
    ['rs485', 2, []],
    ['rs485', 4, ['error']],
    ['ethernet', 0, []],
  ])('%s with %i', async (medium, terminators, severities) => {
    const told = await found(pair(`medium: ${medium}   terminators: ${terminators}`), 'link-termination');
    expect(told.map(({ severity }) => severity)).toEqual(severities);
  });

  it('says what a meter shows: 40 Ω with three, by the article on battery communication', async () => {
    const [told] = await found(pair('medium: can   terminators: 3'), 'link-termination');
    expect(lacking(told?.told, 'shows 40 Ω with the power off; it should show 60 Ω')).toEqual([]);
  });

  it('counts the terminators of a whole line', async () => {
    const chain = (first: number, second: number): string => `design D {
  battery A { ${P} }   battery B { ${P} }   charger Rect { ${P} }
  link L1: A -> B { medium: can   line: "bus"   terminators: ${first} }   link L2: B -> Rect { medium: can   line: "bus"   terminators: ${second} }
}`;
    expect(await count(chain(1, 1), 'link-termination')).toBe(0);
    expect(await count(chain(2, 2), 'link-termination')).toBe(1);
  });

  it('asks for what is not stated', async () => {
    const { questions } = await analyseText(pair('medium: can'));
    expect(questions.filter(({ check }) => check === 'link-termination').flatMap(({ missing }) => missing)).toEqual([
      'terminators of L',
    ]);
  });
});

describe('link-cable', () => {
  it.each([
    // TIA-485: 1200 m at 100 kbit/s.
    ['medium: rs485   rate: 100 kbit/s   length: 1200 m', []],
    ['medium: rs485   rate: 100 kbit/s   length: 1201 m', ['error']],
    ['medium: rs485   rate: 9.6 kbit/s   length: 1201 m', ['error']],
    // Straight in both logarithms to 12 m at 10 Mbit/s: 120 m at 1 Mbit/s.
    ['medium: rs485   rate: 1 Mbit/s   length: 120 m', []],
    ['medium: rs485   rate: 1 Mbit/s   length: 121 m', ['warning']],
    ['medium: rs485   rate: 11 Mbit/s   length: 1 m', ['warning']],
    // ISO 11898-2 practice, from memory: 100 m at 500 kbit/s.
    ['medium: can   rate: 500 kbit/s   length: 100 m', []],
    ['medium: can   rate: 500 kbit/s   length: 101 m', ['warning']],
    ['medium: ethernet   rate: 100 Mbit/s   length: 101 m', ['warning']],
    ['medium: wireless   length: 2 km', []],
  ])('%s', async (link, severities) => {
    const told = await found(pair(`${link}   cable: twisted`), 'link-cable');
    expect(told.map(({ severity }) => severity)).toEqual(severities);
  });

  it.each([
    ['cable: twisted   common: yes   branch: 0.3 m', 0],
    ['cable: screened', 0],
    ['cable: plain', 1],
    ['cable: twisted   common: no', 1],
    ['cable: twisted   branch: 0.31 m', 1],
  ])('%s: %i', async (link, findings) => {
    const text = pair(`medium: rs485   length: 3 m   ${link}`);
    expect(await count(text, 'link-cable')).toBe(findings);
    for (const { left } of await mended(text, 'link-cable')) expect(left).toEqual([]);
  });

  it('needs no rate for a line that would do at any', async () => {
    const text = (length: string): string =>
      pair(`medium: can   length: ${length}   cable: twisted`).replaceAll('rate: 9.6 kbit/s', '');
    const asked = async (length: string): Promise<string[]> =>
      (await analyseText(text(length))).questions
        .filter(({ check }) => check === 'link-cable')
        .flatMap(({ missing }) => missing);
    expect(await asked('40 m')).toEqual([]);
    expect(await asked('41 m')).toEqual(['rate of L']);
  });

  it('adds up the stretches of a line', async () => {
    const text = `design D {
  battery A { ${P} }   battery B { ${P} }   charger Rect { ${P} }
  link L1: A -> B { medium: rs485   line: "bus"   length: 700 m   cable: twisted }   link L2: B -> Rect { medium: rs485   line: "bus"   length: 501 m   cable: twisted }
}`;
    expect(await count(text, 'link-cable')).toBe(1);
    expect(await count(text.replace('501 m', '500 m'), 'link-cable')).toBe(0);
  });
});

describe('link-loss', () => {
  it.each([
    ['lostLink: hold', 1],
    ['lostLink: stop', 0],
    ['lostLink: defaults', 0],
  ])('%s: %i', async (rect, findings) => {
    expect(await count(pair('medium: can', rect), 'link-loss')).toBe(findings);
  });

  it('names the rules that go blind', async () => {
    const text = hut(
      'start when soc(Bank) < 40 %   stop when soc(Bank) > 80 %',
      'link L: Bank -> Rect { medium: can }',
    ).replace('remoteSense: yes', 'remoteSense: yes   lostLink: hold');
    expect(lacking((await found(text, 'link-loss'))[0]?.told, 'and Autostart hears nothing of it')).toEqual([]);
  });

  it('asks for what is not stated', async () => {
    const { questions } = await analyseText(pair('medium: can'));
    expect(questions.filter(({ check }) => check === 'link-loss').flatMap(({ missing }) => missing)).toEqual([
      'lostLink of Rect',
    ]);
  });
});
