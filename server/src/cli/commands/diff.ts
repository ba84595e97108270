import {
  type DiffClass,
  type ProjectSettings,
  type RevisionDiff,
  ScenarioCache,
  compareRevisions,
  rankOf,
} from '@wattwright/language';
import { URI } from 'langium';
import { existsSync, statSync } from 'node:fs';
import path from 'node:path';
import { isInside } from '../../files/inside.js';
import { Repository, type Revision } from '../../git/repository.js';
import { CallError, EXIT } from '../call-error.js';
import { VERSION } from '../../version.js';
import { designToDraw, diffDrawing } from '../output/diff-drawing.js';
import { diffJson } from '../output/diff-json.js';
import { diffMarkdown } from '../output/diff-markdown.js';
import { type DiffFrame, diffText } from '../output/diff-text.js';
import { jsonText } from '../output/json.js';
import { terminalOf } from '../output/terminal.js';
import { type State, changedFiles, openState, sideOf } from '../revisions.js';
import { requireName } from '../selection.js';
import { fileName, pathOf } from '../session.js';
import { today } from '../today.js';
import { writeWhole } from '../write-whole.js';

export interface DiffOptions {
  readonly format: 'pretty' | 'json' | 'md';
  readonly failOn?: 'fails' | 'less' | 'trust';
  readonly all?: boolean;
  readonly design?: string;
  readonly rename?: readonly string[];
  /** File to draw the change of one design into. */
  readonly svg?: string;
  readonly linkBase?: string;
  readonly marker?: string;
  readonly today?: string;
  readonly color?: boolean;
}

/** `wattwright diff [REV [REV]] [-- PATH…]`: what a change does to designs. */
export async function diff(
  revisions: readonly string[],
  paths: readonly string[],
  options: DiffOptions,
): Promise<number> {
  if (options.svg !== undefined && path.extname(options.svg) !== '.svg')
    throw new CallError(`${options.svg} does not end with .svg; drawings are written as SVG`);
  const repository = Repository.at(process.cwd());
  const [from, to] = sidesAsked(revisions, repository);
  const cache = new ScenarioCache();
  const before = await openState(repository, from, cache);
  const after = await openState(repository, to, cache, before);
  if (
    before.session.documents.length === 0 &&
    after.session.documents.length === 0 &&
    unreadOf(before, after).length === 0
  )
    throw new CallError('there is no .watt file on either side; name other revisions');
  const day = options.today ?? today();
  const [was, is] = changedFiles(before, after);
  const renames = renamesOf(options.rename ?? []);
  const sides = { before: sideOf(before, was, day), after: sideOf(after, is, day) };
  const whole = compareRevisions(sides.before, sides.after, {
    renames,
    settings: { before: settingsOf(before), after: settingsOf(after) },
  });
  const compared = selected(whole, wantedPaths(paths, [before, after]), options.design);
  const frame: DiffFrame = { before: titleOf(from), after: titleOf(to), unread: unreadOf(before, after) };
  if (options.svg !== undefined) {
    const { layoutEngine } = await import('../../drawing/layout-engine.js');
    const tool = `wattwright ${VERSION}`;
    const text = await diffDrawing(designToDraw(compared), sides, frame, layoutEngine(), { tool });
    await writeWhole(path.resolve(options.svg), text);
  }
  process.stdout.write(
    options.format === 'json'
      ? jsonText(diffJson(compared, frame, { before: from, ...(to ? { after: to } : {}), today: day }))
      : options.format === 'md'
        ? diffMarkdown(compared, frame, options)
        : diffText(compared, frame, { terminal: terminalOf(options.color), all: options.all ?? false }),
  );
  return options.failOn !== undefined && reaches(compared, options.failOn) ? EXIT.findings : EXIT.clean;
}

/** What the project files of a state say, by their addresses. */
const settingsOf = ({ source }: State): ReadonlyMap<string, ProjectSettings> =>
  new Map(source.projects.known.map(({ file, settings }) => [URI.file(file).toString(), settings]));

/** The revisions that are compared; without a second one the files as they lie in the working folder. */
function sidesAsked(asked: readonly string[], repository: Repository): [Revision, Revision | undefined] {
  if (asked.length > 2) throw new CallError('two revisions at most; write `--` before the paths');
  for (const each of asked)
    if (each === '') throw new CallError('a revision is empty; name a commit, a branch or a tag');
  const [first = 'HEAD', second] = asked;
  const bare = (): never => {
    throw new CallError('a bare repository has no working folder to compare with; name two revisions');
  };
  if (second !== undefined) return [revisionAt(first, repository), revisionAt(second, repository)];
  const [, left, dots, right] = /^(.*?)(\.{2,3})(.*)$/.exec(first) ?? [];
  if (dots !== undefined) {
    const [one, other] = [left || 'HEAD', right || 'HEAD'];
    return [dots === '...' ? repository.mergeBase(one, other) : repository.revision(one), repository.revision(other)];
  }
  const revision = revisionAt(first, repository);
  return repository.isBare ? bare() : [revision, undefined];
}

function revisionAt(asked: string, repository: Repository): Revision {
  try {
    return repository.revision(asked);
  } catch (error) {
    if (error instanceof CallError && existsSync(asked))
      throw new CallError(
        `${asked} is a path, no revision; write \`--\` before paths: \`wattwright diff -- ${asked}\``,
      );
    throw error;
  }
}

const titleOf = (revision: Revision | undefined): string => (revision ? revision.commit.slice(0, 7) : 'working folder');

function unreadOf(before: State, after: State): DiffFrame['unread'] {
  const of = ({ unread }: State, side: string): DiffFrame['unread'] =>
    unread.map(({ file, why }) => ({ side, file: fileName(`file://${file}`), why }));
  return [...of(before, 'before'), ...of(after, 'after')];
}

const NAME = /^[\p{L}_][\p{L}\p{N}_-]*$/u;

function renamesOf(given: readonly string[]): ReadonlyMap<string, string> {
  return new Map(
    given.map((each) => {
      const [from, to, ...rest] = each.split('=');
      if (!from || !to || rest.length > 0 || !NAME.test(from) || !NAME.test(to))
        throw new CallError(`--rename needs OLD=NEW, two names of things; ${each} is none`);
      return [from, to] as const;
    }),
  );
}

/** The paths that are asked for, absolute; each must be there on a side. */
function wantedPaths(asked: readonly string[], states: readonly State[]): readonly string[] {
  return asked.map((each) => {
    if (each === '') throw new CallError('a path is empty; name a file or a folder of this repository');
    const wanted = path.resolve(each);
    const all = states.flatMap(({ session }) => session.documents.map(({ uri }) => uri.fsPath));
    if (all.some((file) => file === wanted || isInside(wanted, file))) return wanted;
    const isThere = existsSync(wanted) && (statSync(wanted).isDirectory() || !wanted.endsWith('.watt'));
    throw new CallError(
      isThere
        ? `there is no .watt file of this repository in ${each} on either side`
        : `there is no ${each} on either side; paths are taken from this folder`,
    );
  });
}

/** Designs of the files that are asked for, on either side, by their name where one is. */
function selected(whole: RevisionDiff, wanted: readonly string[], design: string | undefined): RevisionDiff {
  if (wanted.length === 0 && design === undefined) return whole;
  const isWanted = (uri: string | undefined): boolean => {
    const file = uri === undefined ? undefined : pathOf(uri);
    return file !== undefined && wanted.some((each) => file === each || isInside(each, file));
  };
  if (design !== undefined) {
    const names = whole.designs.map(({ name }) => name);
    // A design that has not changed is in no list of changes, and may still be asked for.
    if (names.length > 0 && !names.includes(design)) requireName('changed design', design, names);
  }
  const designs = whole.designs.filter(
    ({ name, uri, formerUri }) =>
      (wanted.length === 0 || isWanted(uri) || isWanted(formerUri)) && (design === undefined || name === design),
  );
  const texts =
    design === undefined ? whole.texts.filter(({ place }) => wanted.length === 0 || isWanted(place?.uri)) : [];
  // A project file is of all designs that it governs; where one of them is asked for, so is it.
  const { settings } = whole;
  const lines = [...designs.flatMap((each) => each.lines), ...texts, ...settings];
  const count = (of: DiffClass): number =>
    of === 'edits'
      ? designs.reduce((sum, { edits }) => sum + edits.length, settings.length)
      : lines.filter((line) => line.class === of).length;
  const summary = {
    fails: count('fails'),
    less: count('less'),
    runs: count('runs'),
    trust: count('trust'),
    better: count('better'),
    edits: count('edits'),
  };
  const worst = (Object.keys(summary) as DiffClass[]).find((each) => summary[each] > 0);
  return { designs, texts, settings, summary, worst };
}

/** Whether a change holds something at or above a class; what cannot be read counts like what fails. */
const reaches = ({ worst }: RevisionDiff, least: DiffClass): boolean =>
  worst !== undefined && rankOf(worst) <= rankOf(least);
