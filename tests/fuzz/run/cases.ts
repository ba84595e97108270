import fc from 'fast-check';
import { designText, randomDesign } from '../arbitrary-design.js';
import { edited, edits } from '../edits.js';
import { designTexts, withBeside } from '../texts.js';
import { TABLE_WORDS } from '../vocabulary.js';
import type { Case, Content, Files, Step } from './trial.js';

const DESIGNS = designTexts();
const EXAMPLES = DESIGNS.filter(({ name }) => name.startsWith('examples/'));
const some = fc.constantFrom(...DESIGNS);

/* ---- texts ---- */

const editCase: fc.Arbitrary<Case> = fc
  .tuple(some, edits)
  .map(([design, changes]) => ({ kind: 'edit', files: withBeside(design, edited(design.text, changes)) }));

const soup = fc
  .array(
    fc.oneof(
      { weight: 12, arbitrary: fc.constantFrom(...TABLE_WORDS, '"\ud83d"', '\udc00') },
      { weight: 2, arbitrary: fc.constantFrom('Bank', 'Lamp', 'Feed', 'Hut', ' ', '\n') },
      { weight: 1, arbitrary: fc.string({ unit: 'binary', maxLength: 6 }) },
    ),
    { maxLength: 120 },
  )
  .chain((words) => fc.constantFrom(' ', '\n', '').map((between) => words.join(between)));

const smallDesign = fc
  .tuple(randomDesign, fc.option(edits, { nil: [] }))
  .map(([{ members }, changes]) => edited(designText(members), changes));

const anyText = fc.oneof(soup, smallDesign, fc.string({ unit: 'binary', maxLength: 300 }));

const textCase: fc.Arbitrary<Case> = anyText.map((text) => ({ kind: 'text', files: { 'design.watt': text } }));

/* ---- scenarios ---- */

const HOURS = ['0 h', '6 h', '12 h', '-3 h', '30 h', '1e300 h', '1e999 h', '90 min', '1 V', '5'];
const SHARES = ['0 %', '50 %', '90 %', '100 %', '150 %', '-5 %', '40', '20..90 %', '1e308', '90..20 %'];
const TEMPERATURES = [
  '25 degC',
  '-20 degC',
  '-300 degC',
  '5000 degC',
  '10..20 degC',
  '30..-5 degC',
  '300 K',
  '50 degF',
];
const THINGS = ['Bank', 'Mains', 'Genset', 'Lamp', 'Pump', 'BmsLink', 'Nobody', 'Cord'];
const WINDOWS = [
  'always',
  '{ 07:00..08:00: 100 % }',
  '{ 22:00..06:00: 50 % }',
  '{ 07:00..28:00: 5 V }',
  '{ }',
  'Evening',
];
/** No long plays: how long they take is another question. */
const HEADS = ['1 d', '12 h', '36 h', '1 min', '1 s', '0 d', '-5 d', '1..2 d', '40000 d', '1e308 d', '5 V', '0.0001 s'];
const DATES = [
  '2027-01-10',
  '2027-02-30',
  '0001-01-01',
  '9999-12-31',
  '2028-02-29',
  '1900-01-01',
  '2199-12-31',
  'today',
];
const pick = (values: readonly string[]): fc.Arbitrary<string> => fc.constantFrom(...values);

const statement = fc.oneof(
  pick(SHARES).map((value) => `soc(Bank): ${value}`),
  fc.tuple(pick(THINGS), pick(SHARES)).map(([of, value]) => `soc(${of}): ${value}`),
  fc.tuple(pick(THINGS), pick(TEMPERATURES)).map(([of, value]) => `temperature(${of}): ${value}`),
  fc.tuple(pick(THINGS), pick(HOURS), pick(HOURS)).map(([of, from, to]) => `lost(${of}): ${from} .. ${to}`),
  pick(THINGS).map((of) => `lost(${of}): always`),
  fc.tuple(pick(THINGS), pick(WINDOWS)).map(([of, window]) => `profile(${of}): ${window}`),
  pick(['1', '2', '3', '0', '-3', '1e9', '2.5', '1e308', '1..3', '1 V']).map((value) => `runs: ${value}`),
  pick(['1', '7', '-1', '1e10', '0.5', '4294967295']).map((value) => `seed: ${value}`),
  pick(['0 h', '18:00', '25:00', '-1 h', '24 h', '1 h .. 2 h']).map((value) => `at: ${value}`),
  pick(['none', 'clear', 'months', 'bright']).map((value) => `sun: ${value}`),
  pick(['sun.csv', '', '/etc/passwd', '../x.csv', 'C:\\\\x', '\ud83d']).map((value) => `weather: "${value}"`),
  fc.tuple(pick(THINGS), pick(SHARES)).map(([of, value]) => `require min(soc(${of})) >= ${value}`),
  pick(['unserved == 0 kWh', 'runTime(Genset) <= 3 h', 'starts(Genset) < 2', 'max(voltage(Bank)) < 60 V', '1 > 0']).map(
    (condition) => `require ${condition}`,
  ),
  fc.constantFrom(...TABLE_WORDS),
);

const hut = (scenario: string): string => `profile Evening { 17:00..23:00: 80 % }
design Hut {
  site { altitude: 0 m   ambient: 10..20 degC   latitude: 46 deg   longitude: 9 deg }
  generator Genset { rated: 5 kW   voltage: 230 V   fuel: diesel   tank: 60 L
    burn: { 25 %: 0.8 L/h, 50 %: 1.1 L/h, 75 %: 1.5 L/h, 100 %: 2 L/h } }
  grid Mains { voltage: 230 V   frequency: 50 Hz   rating: 16 A }
  charger Rect { input: 180..264 V   currentLimit: 60 A   absorb: 56 V   float: 54 V   efficiency: 93 %   powerFactor: 0.98 }
  battery Bank { chemistry: lfp   voltage: 51.2 V   cells: 16   capacity: 280 Ah   resistance: 16 mohm }
  load Lamp { power: 512 W   supply: dc   profile: always }
  load Pump { power: 300 W   supply: dc   profile: Evening }
  run Cord: Genset -> Rect.ac { size: 4 mm2   length: 10 m }
  run Feed: Rect.dc -> Bank { size: 25 mm2   length: 2 m }
  run Line: Bank -> Lamp { size: 6 mm2   length: 2 m }
  run PumpLine: Bank -> Pump { size: 6 mm2   length: 2 m }
  link BmsLink: Bank -> Rect { medium: can }
  control Autostart of Genset { start when soc(Bank) < 40 % for 1 min   stop when soc(Bank) > 85 % }
  ${scenario}
}
`;

const scenarioCase: fc.Arbitrary<Case> = fc
  .tuple(pick(DATES), pick(HEADS), fc.array(statement, { minLength: 1, maxLength: 6 }), fc.boolean())
  .map(([date, duration, statements, isSound]) => {
    const head = isSound
      ? 'from: 2027-01-10   duration: 1 d   soc(Bank): 90 %'
      : `from: ${date}   duration: ${duration}`;
    const scenario = `scenario S { ${head}\n    ${statements.join('\n    ')}\n  }`;
    return { kind: 'scenario', files: { 'hut.watt': hut(scenario) } };
  });

/* ---- command lines ---- */

const bytes = fc.uint8Array({ maxLength: 60 }).map((array) => ({ base64: Buffer.from(array).toString('base64') }));
/** What cannot stand in a file of UTF-8 cannot be the text of one. */
const wellFormed = (text: string): string => Buffer.from(text).toString();
const content: fc.Arbitrary<Content> = fc.oneof(
  { weight: 3, arbitrary: fc.constantFrom(...EXAMPLES).map(({ text }) => text) },
  { weight: 4, arbitrary: smallDesign.map(wellFormed) },
  { weight: 2, arbitrary: anyText.map(wellFormed) },
  { weight: 1, arbitrary: smallDesign.map((text) => `\uFEFF${wellFormed(text).replaceAll('\n', '\r\n')}`) },
  { weight: 1, arbitrary: bytes },
);
const NAMES = ['a.watt', 'b.watt', 'sub/c.watt', 'ü \u202e.watt', '-x.watt', 'sun.csv', '.gitignore'];
const files: fc.Arbitrary<Files> = fc
  .array(fc.tuple(fc.constantFrom(...NAMES), content), { minLength: 1, maxLength: 3 })
  .map((pairs) => Object.fromEntries(pairs));

const COMMANDS = ['check', 'check', 'check', 'calc', 'eval', 'explain', 'fmt', 'fmt', 'new', 'help', '', 'chekc'];
const FLAGS = [
  ...['--format=json', '--format=sarif', '--format=pretty', '--format=md', '--format', '-f', 'json', '--quiet', '-q'],
  ...['--fix', '--fail-on=info', '--fail-on=warning', '--questions', '--timing', '--check', '--worked', '--color'],
  ...['--no-color', '--today=2027-01-15', '--today=2027-02-30', '--design=Any', '--design', '--variant=x', '--help'],
  ...['--in', '--in=a.watt', '--version', '--stdin-name=x.watt', '--', '--every=0', '--scenario=S', '--nonsense'],
];
const EXPRESSIONS = [
  '1 V + 1 V',
  'ampacity(size: 10 AWG, type: THWN-2, ambient: 40 degC)',
  'Bank.energy',
  '1 / 0',
  '(',
  '',
];
const argument = fc.oneof(
  { weight: 5, arbitrary: fc.constantFrom(...FLAGS) },
  { weight: 4, arbitrary: fc.constantFrom(...NAMES, '.', 'sub', 'nowhere.watt', '*.watt', '**/[', '/dev/null') },
  { weight: 2, arbitrary: fc.constantFrom(...EXPRESSIONS, 'run-ampacity', 'voltageDrop') },
  { weight: 1, arbitrary: fc.string({ maxLength: 8 }).map((text) => text.replaceAll('\0', '')) },
);
const args = fc
  .tuple(fc.constantFrom(...COMMANDS), fc.array(argument, { maxLength: 5 }))
  .map(([command, rest]) => (command === '' ? rest : [command, ...rest]))
  // The server and `-` take the standard input of this process; `simulate` may take long.
  .map((all) => all.filter((arg) => arg !== 'lsp' && arg !== '-' && arg !== 'simulate'));

const callCase: fc.Arbitrary<Case> = fc
  .tuple(files, args)
  .map(([own, all]) => ({ kind: 'call', files: own, args: all }));
const processCase: fc.Arbitrary<Case> = fc
  .tuple(files, args, fc.option(content, { nil: undefined }))
  .map(([own, all, input]) => ({
    kind: 'process',
    files: own,
    args: typeof input === 'string' && all.length > 0 ? [all[0]!, '-', ...all.slice(1)] : all,
    ...(typeof input === 'string' ? { input } : {}),
  }));

/* ---- protocol ---- */

const METHODS = [
  ...['hover', 'completion', 'definition', 'references', 'documentHighlight', 'rename', 'codeAction', 'formatting'],
  ...['rangeFormatting', 'foldingRange', 'documentSymbol', 'semanticTokens/full', 'inlayHint', 'signatureHelp'],
  ...['documentLink', 'codeLens', 'prepareRename'],
].map((name) => `textDocument/${name}`);
const file = fc.nat(2);
const place = fc.tuple(
  fc.oneof(fc.nat(40), fc.constantFrom(0, 1e6, 2 ** 31 - 1)),
  fc.oneof(fc.nat(60), fc.constantFrom(0, 1e6, 2 ** 31 - 1)),
);
const documentText = fc.oneof(
  { weight: 3, arbitrary: smallDesign },
  { weight: 1, arbitrary: fc.constantFrom(...EXAMPLES).map(({ text }) => text) },
  { weight: 1, arbitrary: anyText },
  {
    weight: 1,
    arbitrary: fc.constantFrom('use "f1.watt"\nuse "f2.watt"\n', 'use "f0.watt"\n', 'use "\ud83d.watt"\n', ''),
  },
);
const step: fc.Arbitrary<Step> = fc.oneof(
  {
    weight: 3,
    arbitrary: fc.record({ step: fc.constantFrom('open' as const, 'change' as const), file, text: documentText }),
  },
  {
    weight: 4,
    arbitrary: fc.record({
      step: fc.constant('edit' as const),
      file,
      from: place,
      to: place,
      text: fc.constantFrom(...TABLE_WORDS),
    }),
  },
  { weight: 1, arbitrary: fc.record({ step: fc.constantFrom('close' as const, 'touch' as const), file }) },
  {
    weight: 8,
    arbitrary: fc.record({
      step: fc.constant('ask' as const),
      method: fc.constantFrom(...METHODS, 'workspace/symbol'),
      file,
      at: place,
      word: fc.oneof(fc.constantFrom('Other', 'Bank', '1x', '', 'a b'), fc.string({ maxLength: 6 })),
    }),
  },
  {
    weight: 1,
    arbitrary: fc.record({
      step: fc.constant('nonsense' as const),
      method: fc.constantFrom(
        ...METHODS,
        'wattwright/explain',
        'workspace/executeCommand',
        '$/nothing',
        'textDocument/none',
      ),
      params: fc.jsonValue({ maxDepth: 3 }).filter((value) => typeof value === 'object'),
    }),
  },
);
const protocolCase: fc.Arbitrary<Case> = fc
  .tuple(documentText, fc.array(step, { minLength: 5, maxLength: 40 }))
  .map(([text, steps]) => ({ kind: 'protocol', steps: [{ step: 'open', file: 0, text }, ...steps] }));

/** What each kind is made of. */
export const CASES: Readonly<Record<Case['kind'], fc.Arbitrary<Case>>> = {
  edit: editCase,
  text: textCase,
  scenario: scenarioCase,
  call: callCase,
  process: processCase,
  protocol: protocolCase,
};
