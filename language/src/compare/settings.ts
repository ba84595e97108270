import { findCheck } from '../checks/index.js';
import { NO_SETTINGS, type PartFolder, type ProjectSettings } from '../project/index.js';
import type { SettingChange } from './types.js';

/** What a project file says on one side, by the address of the file. */
export type SettingsByFile = ReadonlyMap<string, ProjectSettings>;

const RANK = { error: 0, warning: 1, info: 2 } as const;

/** What project files say otherwise than before. What lets more pass rests on trust: it is the cheapest way to a green build. */
export function settingChanges(before: SettingsByFile, after: SettingsByFile): SettingChange[] {
  return [...new Set([...before.keys(), ...after.keys()])]
    .sort()
    .flatMap((uri) => changesOf(uri, before.get(uri) ?? NO_SETTINGS, after.get(uri) ?? NO_SETTINGS));
}

function changesOf(uri: string, was: ProjectSettings, is: ProjectSettings): SettingChange[] {
  const changes: SettingChange[] = [];
  const tell = (setting: string, from: string | undefined, to: string | undefined, isTrust: boolean): void => {
    if (from === to) return;
    changes.push({
      class: isTrust ? 'trust' : 'edits',
      uri,
      setting,
      ...(from === undefined ? {} : { before: from }),
      ...(to === undefined ? {} : { after: to }),
    });
  };
  for (const id of [...new Set([...was.severities.keys(), ...is.severities.keys()])].sort()) {
    const usual = findCheck(id)?.severity ?? 'error';
    const [from, to] = [was.severities.get(id) ?? usual, is.severities.get(id) ?? usual];
    tell(`severity of ${id}`, from, to, RANK[to] > RANK[from]);
  }
  const [failed, fails] = [was.failOn ?? 'error', is.failOn ?? 'error'];
  tell('failOn', failed, fails, RANK[fails] < RANK[failed]);
  for (const pattern of is.exclude) if (!was.exclude.includes(pattern)) tell('left out', undefined, pattern, true);
  // A pattern that stood against another one may let that one leave out more.
  for (const pattern of was.exclude)
    if (!is.exclude.includes(pattern)) tell('left out', pattern, undefined, pattern.startsWith('!'));
  for (const file of [...new Set([...was.tables, ...is.tables])].sort())
    if (was.tables.includes(file) !== is.tables.includes(file))
      tell(
        'own tables',
        was.tables.includes(file) ? file : undefined,
        is.tables.includes(file) ? file : undefined,
        is.tables.includes(file),
      );
  tell('basis', was.basis, is.basis, false);
  for (const name of [...new Set([...was.parts.keys(), ...is.parts.keys()])].sort())
    tell(`parts ${name}`, folderText(was.parts.get(name)), folderText(is.parts.get(name)), false);
  tell('scenarioYears', numberText(was.scenarioYears), numberText(is.scenarioYears), false);
  tell('proposals', numberText(was.proposals), numberText(is.proposals), false);
  return changes;
}

const numberText = (number: number | undefined): string | undefined =>
  number === undefined ? undefined : String(number);

const folderText = (parts: PartFolder | undefined): string | undefined =>
  parts && ('package' in parts ? [parts.package, parts.folder ?? ''].filter(Boolean).join('/') : parts.folder);
