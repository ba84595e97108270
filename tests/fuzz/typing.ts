import fc from 'fast-check';

/** What people type, letter by letter, or paste. */
const typed = fc.oneof(
  {
    weight: 8,
    arbitrary: fc.constantFrom(
      ...['5', ' ', '\n', 'x', 'W', ',', ':', '\r\n', '\u2028', 'é', '😀', '×', '#', '?', '-', '.', '2023', ', 4 V'],
      ...['length: 3 m', '  load Lamp { power: 5 W }\n', '// note\n', '/* note */', 'run Feed: A -> B', 'basis: iec'],
      ...['require soc(Bank) > 3 %\n', 'let x = { 1 A: 2 V }', 'part P of Q {}', 'use "a"', ' } load Other {'],
    ),
  },
  { weight: 1, arbitrary: fc.constantFrom('"', '}', '{', '/*', '*/', '//', 'design Other {', '}\n}\n') },
  { weight: 1, arbitrary: fc.string({ unit: 'grapheme', maxLength: 3 }) },
);

/** Something typed or removed at one place, from which the next change is not far. */
const change = fc.record({
  jump: fc.oneof({ weight: 1, arbitrary: fc.nat(9999) }, { weight: 3, arbitrary: fc.constant(undefined) }),
  by: fc.integer({ min: -30, max: 30 }),
  removed: fc.oneof({ weight: 3, arbitrary: fc.constant(0) }, fc.nat(3), fc.nat(60)),
  text: fc.oneof({ weight: 3, arbitrary: typed }, fc.constant('')),
});

/** Changes one after the other, as somebody makes them who types in one place, then in another. */
export interface Typing {
  /** Where it begins, as a share of the text. */
  readonly start: number;
  readonly changes: readonly {
    readonly jump: number | undefined;
    readonly by: number;
    readonly removed: number;
    readonly text: string;
  }[];
}

export const typings: fc.Arbitrary<Typing> = fc.record({
  start: fc.nat(9999),
  changes: fc.array(change, { minLength: 1, maxLength: 12 }),
});

/** The texts that come of a text by changes, one by one; now and then a change is taken back. */
export function* textsOf(text: string, { start, changes }: Typing): Generator<string, void> {
  const before: string[] = [];
  let now = text;
  let place = Math.floor((start / 10_000) * now.length);
  for (const { jump, by, removed, text: added } of changes) {
    if (jump !== undefined) place = Math.floor((jump / 10_000) * now.length);
    place = Math.min(now.length, Math.max(0, place + by));
    before.push(now);
    now =
      before.length > 3 && removed === 2 ? before.at(-2)! : now.slice(0, place) + added + now.slice(place + removed);
    place = Math.min(now.length, place + added.length);
    yield now;
  }
}
