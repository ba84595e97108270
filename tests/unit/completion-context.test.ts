import { EmptyFileSystem } from 'langium';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { createLanguageServices } from '../../language/src/syntax/module.js';
import { openCall } from '../../server/src/requests/calls.js';
import { completionContext } from '../../server/src/requests/completion-context.js';
import { isInTextOrComment, wordStart } from '../../server/src/requests/tokens-before.js';

const { wattwright: services } = createLanguageServices(EmptyFileSystem);

const tokens = (text: string) =>
  services.parser.Lexer.tokenize(text).tokens.map((token) => ({ type: token.tokenType.name, text: token.image }));

/** The context at `$0`; the word before it is being typed. */
function at(marked: string) {
  const [before = '', after] = marked.split('$0');
  expect(after).toBeDefined();
  return completionContext(tokens(before.slice(0, wordStart(before, before.length))));
}

describe('what may be written', () => {
  test.each([
    ['$0', { at: 'declaration' }],
    ['des$0', { at: 'declaration' }],
    ['let a = 5 V\n$0', { at: 'declaration' }],
    ['let a = $0', { at: 'expression' }],
    ['part $0', { at: 'part-kind' }],
    ['part charger $0', { at: 'nothing' }],
    ['part charger Small $0', { at: 'words', words: ['extends'] }],
    ['part charger Small extends $0', { at: 'part-of-kind', kind: 'charger' }],
    ['part charger Small { $0', { at: 'property-name', kind: 'charger' }],
    ['part charger Small { currentLimit: 5 A $0', { at: 'property-name', kind: 'charger', stated: ['currentLimit'] }],
    ['part charger Small { currentLimit: $0', { at: 'value', kind: 'charger', property: 'currentLimit', first: true }],
    ['part charger Small { currentLimit: 5 A + $0', { at: 'value', property: 'currentLimit', first: false }],
    ['part charger Small { currentLimit: assumed $0', { at: 'value', property: 'currentLimit', first: false }],
    ['design D { $0', { at: 'member', design: 'D' }],
    ['design D { basis: nec  $0', { at: 'member' }],
    ['design D { basis: nec 2023 bat$0', { at: 'member' }],
    ['design D { basis: $0', { at: 'value', kind: 'design', property: 'basis' }],
    ['design D { site { amb$0', { at: 'property-name', kind: 'site' }],
    ['design D { site { altitude: 5 m } $0', { at: 'member' }],
    ['design D { battery $0', { at: 'nothing' }],
    ['design D { battery Bank : $0', { at: 'part-of-kind', kind: 'battery' }],
    ['design D { battery Bank "the bank" : $0', { at: 'part-of-kind', kind: 'battery' }],
    ['design D { battery Bank : Lfp { $0', { at: 'property-name', kind: 'battery' }],
    ['design D { battery Bank : Lfp { chemistry: $0', { at: 'value', kind: 'battery', property: 'chemistry' }],
    ['design D { battery Bank { } loa$0', { at: 'member' }],
    ['variant V of D { $0', { at: 'change' }],
    ['variant V of D { Bank.parallel = 2 $0', { at: 'subject' }],
    ['variant V of D { add $0', { at: 'member' }],
    ['variant V of D { add battery $0', { at: 'nothing' }],
    ['variant V of D { add battery Spare : $0', { at: 'part-of-kind', kind: 'battery' }],
    ['variant V of D { add battery Spare { $0', { at: 'property-name', kind: 'battery' }],
    ['variant V of D { replace run Feed: Bank -> $0', { at: 'stop', started: true }],
    ['variant V of D { add control C of $0', { at: 'name-of', what: 'Instance' }],
    ['variant V of D { remove Feed, $0', { at: 'subject' }],
    ['design D { run Feed: $0', { at: 'stop', started: false }],
    ['design D { run Feed: Bank -> $0', { at: 'stop', started: true }],
    ['design D { run Feed: Bank -> A, $0', { at: 'stop' }],
    ['design D { run Feed: Bank.$0', { at: 'step', path: ['Bank'], terminalsOnly: true }],
    ['design D { run Feed: A -> Fuse @ 150 mm -> $0', { at: 'stop', started: true }],
    ['design D { run Feed: A -> B { si$0', { at: 'property-name', kind: 'run' }],
    ['design D { link L: A -> B { medium: $0', { at: 'value', kind: 'link', property: 'medium' }],
    ['design D { control C of $0', { at: 'name-of', what: 'Instance' }],
    ['design D { control C of G { $0', { at: 'property-name', kind: 'control', inControl: 'control' }],
    ['design D { control C of G { start when $0', { at: 'condition', verb: 'start' }],
    ['design D { control C of G { start when soc(Bank) < 40 % sto$0', { at: 'property-name', inControl: 'control' }],
    ['design D { control C of G { off when soc(Bank) < 25 % on when $0', { at: 'condition', verb: 'on' }],
    ['design D { control C of G { without $0', { at: 'name-of', what: 'Link' }],
    ['design D { control C of G { without L { $0', { at: 'property-name', inControl: 'fallback' }],
    ['design D { scenario S { dur$0', { at: 'property-name', kind: 'scenario' }],
    ['design D { scenario S { require $0', { at: 'expression' }],
    ['design D { accept $0', { at: 'check' }],
    ['design D { accept voltage-$0', { at: 'check' }],
    ['design D { accept voltage-drop on $0', { at: 'subject' }],
    ['design D { accept voltage-drop on Feed $0', { at: 'member', mayContinue: true }],
    ['design D { reading $0', { at: 'subject' }],
    ['design D { require Bank.$0', { at: 'step', path: ['Bank'], terminalsOnly: false }],
    ['design D { require voltageDrop($0', { at: 'argument', call: 'voltageDrop', given: [] }],
    ['design D { require voltageDrop(current: 5 A, $0', { at: 'argument', given: ['current'] }],
    ['design D { require voltageDrop(current: $0', { at: 'argument', named: 'current' }],
    ['variant V of $0', { at: 'name-of', what: 'Design' }],
    ['variant V of D { Bank.$0', { at: 'step', path: ['Bank'] }],
    ['variant V of D { Bank.parallel = $0', { at: 'expression' }],
  ])('%s', (text, expected) => {
    expect(at(text)).toMatchObject(expected);
  });

  test('any sequence of tokens has a context', () => {
    const some = tokens(
      'design D { run part : -> , . ( ) { } = on of when accept 5 m "x" ? assumed control without let soc + -',
    );
    fc.assert(
      fc.property(fc.array(fc.constantFrom(...some), { maxLength: 30 }), (list) => {
        expect(completionContext(list).at).toBeTypeOf('string');
      }),
      { numRuns: 1000 },
    );
  });
});

describe('around the cursor', () => {
  test.each([
    ['a // b$0', true],
    ['a // b\n$0', false],
    ['a "b$0', true],
    ['a "b"$0', false],
    ['a /* b$0', true],
    ['a /* b */$0', false],
    ['a /* " */ $0', false],
    ['a "// $0"', true],
  ])('%s', (marked, inside) => {
    const [before = '', after = ''] = marked.split('$0');
    expect(isInTextOrComment(before + after, before.length)).toBe(inside);
  });

  test('the innermost open call is found', () => {
    expect(openCall(tokens('require f(1, g(2), x: h(3'))).toEqual({ name: 'h', index: 0, named: undefined });
    expect(openCall(tokens('require f(1, g(2), x: 3'))).toEqual({ name: 'f', index: 2, named: 'x' });
    expect(openCall(tokens('require f(1)'))).toBeUndefined();
    expect(openCall(tokens('require f(1 } design D {'))).toBeUndefined();
  });
});
