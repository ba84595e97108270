import type { Severity } from '../checks/index.js';
import { nearest } from '../model/nearest.js';
import type { Practice } from '../model/types.js';
import { type PartFolder, type ProjectSettings, SETTINGS, type Setting, type SettingType } from './settings.js';

/** A value of a JSON text with its place, as a parser of such texts gives it. A property has two children: its key and its value. */
export interface JsonNode {
  readonly type: 'object' | 'array' | 'property' | 'string' | 'number' | 'boolean' | 'null';
  readonly value?: unknown;
  readonly offset: number;
  readonly length: number;
  readonly children?: readonly JsonNode[];
}

/** Something to say of a project file. What is only `deprecated` works all the same. */
export interface SettingProblem {
  readonly text: string;
  readonly offset: number;
  readonly length: number;
  readonly deprecated?: boolean;
}

export interface ReadSettings {
  /** What could be read; faulty values are left out. */
  readonly settings: ProjectSettings;
  readonly problems: readonly SettingProblem[];
  /** Where values stand that a reader of files may have to complain of, by their path: `parts.stock`. */
  readonly places: ReadonlyMap<string, Pick<JsonNode, 'offset' | 'length'>>;
}

/** Nothing is said. */
export const NO_SETTINGS: ProjectSettings = { severities: new Map(), exclude: [], parts: new Map(), tables: [] };

/** Reads what a project file says from its JSON tree. Total: whatever the tree holds, it gives settings and problems. */
export function readSettings(root: JsonNode): ReadSettings {
  const reader = new SettingReader();
  const value = reader.value(root, { type: 'keys', keys: SETTINGS }, '');
  return { settings: settingsOf((value ?? new Map()) as Values), problems: reader.problems, places: reader.places };
}

type Values = ReadonlyMap<string, unknown>;

function settingsOf(values: Values): ProjectSettings {
  const budgets = (values.get('budgets') ?? new Map()) as Values;
  const some = (name: string, value: unknown): object => (value === undefined ? {} : { [name]: value });
  return {
    severities: (values.get('severity') ?? new Map()) as ReadonlyMap<string, Severity>,
    exclude: (values.get('exclude') ?? []) as readonly string[],
    tables: (values.get('tables') ?? []) as readonly string[],
    parts: new Map([...((values.get('parts') ?? new Map()) as Values)].map(([name, each]) => [name, folderOf(each)])),
    ...some('basis', values.get('basis') as Practice | undefined),
    ...some('failOn', values.get('failOn') as Severity | undefined),
    ...some('scenarioYears', budgets.get('scenarioYears')),
    ...some('proposals', budgets.get('proposals')),
  };
}

function folderOf(value: unknown): PartFolder {
  if (typeof value === 'string') return { folder: value };
  const keys = value as ReadonlyMap<string, string>;
  const folder = keys.get('folder');
  return { package: keys.get('package')!, ...(folder === undefined ? {} : { folder }) };
}

/** The longest piece of a file that a message repeats. */
const MOST_QUOTED = 40;

const quoted = (text: string): string => `\`${text.length > MOST_QUOTED ? `${text.slice(0, MOST_QUOTED)}…` : text}\``;

const oneOf = (words: readonly string[]): string =>
  words.length === 1 ? words[0]! : `${words.slice(0, -1).join(', ')} or ${words.at(-1)!}`;

class SettingReader {
  readonly problems: SettingProblem[] = [];
  readonly places = new Map<string, JsonNode>();

  /** The value of a node, maps for objects; undefined where it is faulty, which is told. */
  value(node: JsonNode, wanted: SettingType, path: string): unknown {
    this.places.set(path, node);
    switch (wanted.type) {
      case 'text':
        if (node.type !== 'string') return this.isNot(node, wanted.pattern?.wanted ?? 'a text');
        return wanted.pattern && !wanted.pattern.test.test(node.value as string)
          ? this.isNot(node, wanted.pattern.wanted)
          : node.value;
      case 'word':
        return wanted.words.includes(node.value as string) && node.type === 'string'
          ? node.value
          : this.isNot(
              node,
              `${oneOf(wanted.words)}${wanted.because === undefined ? '' : `: ${wanted.because}`}`,
              this.nearestOf(node.value, wanted.words),
            );
      case 'number': {
        const { minimum, maximum, whole } = wanted;
        const number = node.type === 'number' ? (node.value as number) : NaN;
        const fits = number >= minimum && number <= maximum && (!whole || Number.isInteger(number));
        return fits ? number : this.isNot(node, `${whole ? 'a whole' : 'a'} number from ${minimum} to ${maximum}`);
      }
      case 'list':
        return this.list(node, wanted, path);
      case 'names':
        return this.names(node, wanted, path);
      case 'keys':
        return this.keys(node, wanted, path);
      case 'either': {
        const fitting = wanted.of.find(({ type }) =>
          type === 'keys' ? node.type === 'object' : node.type === 'string',
        );
        return fitting ? this.value(node, fitting, path) : this.isNot(node, wanted.wanted);
      }
    }
  }

  private list(node: JsonNode, { of, most }: Extract<SettingType, { type: 'list' }>, path: string): unknown {
    if (node.type !== 'array') return this.isNot(node, 'a list, as in ["one", "two"]');
    const children = node.children ?? [];
    if (children.length > most) return this.isNot(node, `a list of up to ${most}`);
    return children.flatMap((child, index) => {
      const value = this.value(child, of, `${path}.${index}`);
      return value === undefined ? [] : [value];
    });
  }

  private names(node: JsonNode, wanted: Extract<SettingType, { type: 'names' }>, path: string): unknown {
    const entries = this.entries(node, path);
    if (!entries) return undefined;
    if (entries.length > wanted.most) return this.isNot(node, `an object of up to ${wanted.most} names`);
    const values = new Map<string, unknown>();
    for (const { key, name, value: child } of entries) {
      if (!wanted.name.test(name)) {
        this.tell(key, `${quoted(name)} is no name: it begins with a letter, then letters, digits, - and _`);
        continue;
      }
      const value = this.value(child, wanted.of, `${path}.${name}`);
      if (value !== undefined) values.set(name, value);
    }
    return values;
  }

  private keys(node: JsonNode, wanted: Extract<SettingType, { type: 'keys' }>, path: string): unknown {
    const entries = this.entries(node, path);
    if (!entries) return undefined;
    const values = new Map<string, unknown>();
    for (const { key, name, value: child } of entries) {
      const setting = wanted.keys.find((each) => each.name === name);
      if (!setting) {
        this.unknownKey(key, name, path, wanted.keys);
        continue;
      }
      const at = path === '' ? name : `${path}.${name}`;
      const value = this.value(child, setting.value, at);
      const now = setting.now ?? name;
      if (setting.now !== undefined) {
        if (entries.some((each) => each.name === setting.now)) {
          this.tell(key, `${quoted(name)} is now called ${quoted(now)}, which is here as well; keep one of them`);
          continue;
        }
        this.tell(key, `${quoted(name)} is now called ${quoted(now)}`, true);
      }
      if (value !== undefined) values.set(now, value);
    }
    const missing = wanted.required?.find((name) => !entries.some((each) => each.name === name));
    if (missing === undefined) return values;
    this.tell(node, `${nameOf(path)} has no key ${quoted(missing)}`);
    return undefined;
  }

  private unknownKey(key: JsonNode, name: string, path: string, keys: readonly Setting[]): void {
    const today = keys.filter(({ now }) => now === undefined).map((each) => each.name);
    const [near] = this.nearestOf(name, today);
    const what =
      path === 'severity' ? 'no check is called' : path === '' ? 'there is no key' : `${nameOf(path)} has no key`;
    const help =
      near === undefined ? (today.length > 12 ? '' : `; it has ${oneOf(today)}`) : `; did you mean ${quoted(near)}?`;
    this.tell(key, `${what} ${quoted(name)}${help}`);
  }

  /** The properties of an object, each name once: what a second one of the same name means is anybody's guess. */
  private entries(
    node: JsonNode,
    path: string,
  ): readonly { readonly key: JsonNode; readonly name: string; readonly value: JsonNode }[] | undefined {
    if (node.type !== 'object') {
      this.isNot(node, path === '' ? 'an object, as in { "basis": "iec" }' : 'an object');
      return undefined;
    }
    const seen = new Set<string>();
    return (node.children ?? []).flatMap(({ children = [] }) => {
      const [key, value] = children;
      if (!key || !value) return [];
      const name = key.value as string;
      if (seen.has(name)) {
        this.tell(key, `${quoted(name)} is here twice; keep one of them`);
        return [];
      }
      seen.add(name);
      return [{ key, name, value }];
    });
  }

  private nearestOf(given: unknown, names: readonly string[]): readonly string[] {
    return typeof given === 'string' && given.length <= 100 ? nearest(given, names) : [];
  }

  private isNot(node: JsonNode, wanted: string, near: readonly string[] = []): undefined {
    const is =
      node.type === 'string'
        ? quoted(node.value as string)
        : node.type === 'object' || node.type === 'array'
          ? `an ${node.type}`
          : `\`${String(node.value)}\``;
    this.tell(node, `${is} is not ${wanted}${near[0] === undefined ? '' : `; did you mean ${quoted(near[0])}?`}`);
    return undefined;
  }

  private tell({ offset, length }: JsonNode, text: string, deprecated = false): void {
    this.problems.push({ text, offset, length, ...(deprecated ? { deprecated } : {}) });
  }
}

const nameOf = (path: string): string => quoted(path);
