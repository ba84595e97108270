import { describe, expect, it } from 'vitest';
import { analyseText } from '../../helpers/analyse.js';
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
    ['without L { start when soc(Bank) < 30 %   stop when voltage(Bank) > 55.5 V }', 1, 'over that very link'],
  ])('%s: %i', async (fallback, count, words) => {
    const findings = await found(hut(`${RULES}   ${fallback}`, LINK), 'no-fallback');
    expect(findings.map(({ message }) => message)).toHaveLength(count);
    expect(findings[0]?.message ?? '').toContain(words);
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
    expect(findings.map(({ message }) => message)).toHaveLength(count);
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
    const findings = await found(text, 'link-protocol');
    expect(findings.map(({ message }) => message)).toEqual([
      'Rect and Inv both have address 2 on the line of Bank (L1, L2): their messages cannot be told apart. Give one of them another address.',
    ]);
  });

  it('asks for what an end does not state', async () => {
    const { questions } = await analyseText(line(P, '', 'medium: can'));
    expect(questions.filter(({ check }) => check === 'link-protocol').flatMap(({ missing }) => missing)).toEqual([
      'protocol of Bank',
      'rate of Bank',
    ]);
  });
});
