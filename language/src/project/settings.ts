import { CHECKS, type Check, type Severity } from '../checks/index.js';
import type { Practice } from '../model/types.js';

/** The name of the file that says what holds for all designs of a project. */
export const PROJECT_FILE = 'wattwright.json';

/** The address that the schema of project files goes by. */
export const PROJECT_SCHEMA = 'urn:wattwright:schema:project:1';

/** What a setting may hold. The reader, the published schema and the completion of editors all come from here. */
export type SettingType =
  | { readonly type: 'text'; readonly pattern?: { readonly test: RegExp; readonly wanted: string } }
  | { readonly type: 'word'; readonly words: readonly string[]; readonly because?: string }
  | { readonly type: 'number'; readonly minimum: number; readonly maximum: number; readonly whole?: boolean }
  | { readonly type: 'list'; readonly of: SettingType; readonly most: number }
  /** Names of the project's own, each with a value. */
  | { readonly type: 'names'; readonly name: RegExp; readonly of: SettingType; readonly most: number }
  /** Keys of a fixed set. */
  | { readonly type: 'keys'; readonly keys: readonly Setting[]; readonly required?: readonly string[] }
  | { readonly type: 'either'; readonly of: readonly SettingType[]; readonly wanted: string };

export interface Setting {
  readonly name: string;
  readonly doc: string;
  readonly value: SettingType;
  /** The name it has today, where this is an older one. */
  readonly now?: string;
}

const PRACTICES = ['nec', 'iec', 'craft'] as const satisfies readonly Practice[];
const SEVERITIES = ['error', 'warning', 'info'] as const satisfies readonly Severity[];

/** A path within the project: with `/`, from the folder of the project file. */
const PATH: SettingType = {
  type: 'text',
  // Control characters, back slashes and whole addresses are no paths of a project, on whatever system.
  pattern: {
    test: /^(?![/~])(?![A-Za-z][A-Za-z0-9+.-]*:)[^\\\p{Cc}\p{Cs}]{1,400}$/u,
    wanted: 'a relative path with `/`',
  },
};

const PACKAGE: SettingType = {
  type: 'text',
  pattern: {
    test: /^(?=.{1,214}$)(?:@[a-z0-9~-][a-z0-9._~-]*\/)?[a-z0-9~-][a-z0-9._~-]*$/,
    wanted: 'the name of a package, as in `@example/hut-parts`',
  },
};

/** An error of reading a text leaves nothing sound to judge, so that it is made no milder. */
const severityOf = ({ group, severity }: Check): SettingType =>
  group === 'text' && severity === 'error'
    ? {
        type: 'word',
        words: ['error'],
        because: 'nothing that is worked out from a text with this fault can be relied on',
      }
    : { type: 'word', words: SEVERITIES };

const severities: readonly Setting[] = CHECKS.flatMap((check): Setting[] => {
  const { id, formerly, docs } = check;
  const value = severityOf(check);
  const older = formerly === undefined ? [] : [{ name: formerly, doc: `Now called ${id}.`, value, now: id }];
  return [{ name: id, doc: docs.finds, value }, ...older];
});

/** Every key of a project file. */
export const SETTINGS: readonly Setting[] = [
  { name: '$schema', doc: 'The schema of this file, for editors that read it.', value: { type: 'text' } },
  {
    name: 'basis',
    doc: 'The wiring practice of designs that state none.',
    value: { type: 'word', words: PRACTICES },
  },
  {
    name: 'severity',
    doc: 'How grave the findings of a check are. None can be switched off: `accept` in a design sets one aside on one thing, with its reason.',
    value: { type: 'keys', keys: severities },
  },
  {
    name: 'failOn',
    doc: 'The lowest severity with which `check` ends with exit code 1, unless `--fail-on` says otherwise.',
    value: { type: 'word', words: SEVERITIES },
  },
  {
    name: 'exclude',
    doc: 'Files and folders that are left out where a folder is checked, as patterns of a .gitignore file. What is named itself is checked.',
    value: {
      type: 'list',
      of: { type: 'text', pattern: { test: /^[^\p{Cc}\p{Cs}]{1,400}$/u, wanted: 'a pattern' } },
      most: 200,
    },
  },
  {
    name: 'parts',
    doc: 'Names for folders of parts: with `"stock": "parts/stock"`, `use "stock/cells.watt"` means the same in every design.',
    value: {
      type: 'names',
      name: /^[A-Za-z][A-Za-z0-9_-]{0,63}$/,
      most: 100,
      of: {
        type: 'either',
        wanted: 'a folder, or a package as in { "package": "@example/hut-parts" }',
        of: [
          PATH,
          {
            type: 'keys',
            required: ['package'],
            keys: [
              { name: 'package', doc: 'A package of npm that is installed in the project.', value: PACKAGE },
              { name: 'folder', doc: 'A folder within the package; its top unless said.', value: PATH },
            ],
          },
        ],
      },
    },
  },
  {
    name: 'tables',
    doc: 'Files whose conductor and cord types, device classes and values hold in every design without `use`, before those of the standard library: own tables of ampacity, resistance and interrupting rating.',
    value: { type: 'list', of: PATH, most: 50 },
  },
  {
    name: 'budgets',
    doc: 'How much is worked out before it is left off, where that is more or less than usual.',
    value: {
      type: 'keys',
      keys: [
        {
          name: 'scenarioYears',
          doc: 'Years that all runs of one scenario may cover; 250 unless said.',
          value: { type: 'number', minimum: 1, maximum: 100_000 },
        },
        {
          name: 'proposals',
          doc: 'Findings of a file for which `check` works out proposals, the worst first; 20 unless said.',
          value: { type: 'number', minimum: 0, maximum: 10_000, whole: true },
        },
      ],
    },
  },
];

/** Where the parts of a name lie. */
export type PartFolder =
  /** A folder, from that of the project file. */
  { readonly folder: string } | { readonly package: string; readonly folder?: string };

/** What a project file says. */
export interface ProjectSettings {
  readonly basis?: Practice;
  /** By the ids that checks have today. */
  readonly severities: ReadonlyMap<string, Severity>;
  readonly failOn?: Severity;
  readonly exclude: readonly string[];
  readonly parts: ReadonlyMap<string, PartFolder>;
  /** Files of own wiring tables, from the folder of the project file. */
  readonly tables: readonly string[];
  readonly scenarioYears?: number;
  readonly proposals?: number;
}
