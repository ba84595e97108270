import type { Finding, ProjectRules, ReadFile, RevisionSide, ScenarioCache } from '@wattwright/language';
import type { LangiumDocument } from 'langium';
import { createHash } from 'node:crypto';
import path from 'node:path';
import { drawnIn } from '../files/used-by.js';
import { type FileSource, filesOfMachine } from '../files/file-source.js';
import { CommitFiles } from '../git/commit-source.js';
import type { Repository, Revision } from '../git/repository.js';
import { projectsOfMachine } from '../project/of-machine.js';
import type { Project } from '../project/project.js';
import { Projects } from '../project/projects.js';
import { DESIGN_FILE, type SourceFile, filesIn, readText } from './files.js';
import { faultText } from './projects.js';
import { Session, countSyntaxErrors, fileName, hasSyntaxErrors } from './session.js';

/** One state of a repository: a commit, or the files as they lie in the working folder. */
export interface State {
  /** Absent for the working folder. */
  readonly revision?: Revision;
  readonly session: Session;
  readonly source: FileSource;
  /** Files that cannot be read at all, with why. */
  readonly unread: readonly { readonly file: string; readonly why: string }[];
}

/**
 * Reads every design file of a commit, or of the working folder. Findings are as grave as the project of the state `base` has it, where one is
 * given: a change must not make itself look harmless.
 */
export async function openState(
  repository: Repository,
  revision: Revision | undefined,
  cache: ScenarioCache,
  base?: State,
): Promise<State> {
  const files: SourceFile[] = [];
  const unread: { file: string; why: string }[] = [];
  const hearing = (project: Project): void => {
    const why = faultText(project);
    if (why !== undefined) unread.push({ file: project.file, why });
  };
  let source: FileSource;
  if (revision) {
    const commit = new CommitFiles(repository, revision, hearing);
    const paths = commit.pathsEnding(DESIGN_FILE).filter((file) => !commit.projects.of(file)?.leavesOut(file));
    commit.readAll(paths);
    for (const file of paths) {
      const text = commit.textBeside(file);
      if (typeof text === 'string') files.push(sourceFile(file, text, repository.top));
      else if (text) unread.push({ file, why: text.unread });
    }
    source = commit;
  } else {
    const projects = new Projects(
      projectsOfMachine(() => [repository.top]),
      hearing,
    );
    source = filesOfMachine([repository.top], projects);
    for (const file of filesIn(repository.top, projects).sort())
      files.push(sourceFile(file, readText(file), repository.top));
  }
  const rulesFor = (file: string): ProjectRules | undefined => {
    const own = source.projects.rulesFor(file);
    if (!base) return own;
    const { severities } = base.source.projects.rulesFor(file) ?? {};
    return { ...own, severities: severities ?? new Map() };
  };
  const session = await Session.open(files, source, cache, rulesFor);
  return { ...(revision ? { revision } : {}), session, source, unread };
}

const sourceFile = (file: string, text: string, within: string): SourceFile => ({
  path: file,
  text,
  isStandardInput: false,
  within,
});

const WEATHER = /\bweather\s*:\s*"([^"\n]+)"/g;

/**
 * What a file means rests on: its text, that of its project file, of everything it draws in, and of the weather it names. The same wherever the file lies.
 */
export function contentsOf({ session, source }: State): ReadonlyMap<LangiumDocument, string> {
  const files = [...session.documents, ...session.used];
  const own = new Map(
    files.map((document) => {
      const text = document.textDocument.getText();
      const hash = createHash('sha256').update(text);
      hash.update(`\nproject ${source.projects.of(document.uri.fsPath)?.text ?? ''}`);
      for (const [, name] of text.matchAll(WEATHER)) {
        const beside = source.textBeside(path.resolve(path.dirname(document.uri.fsPath), name!));
        hash.update(`\nweather ${typeof beside === 'string' ? beside : ''}`);
      }
      return [document, hash.digest('hex')];
    }),
  );
  return new Map(
    session.documents.map((document) => {
      const [first, ...others] = [...drawnIn(document, files, session.shared)].map((each) => own.get(each)!);
      return [document, [first, ...others.sort()].join(' ')];
    }),
  );
}

/** The files of each side that are not the same, with all they draw in, on the other. */
export function changedFiles(before: State, after: State): [LangiumDocument[], LangiumDocument[]] {
  const [was, is] = [contentsOf(before), contentsOf(after)];
  const counts = (contents: ReadonlyMap<LangiumDocument, string>): Map<string, number> => {
    const found = new Map<string, number>();
    for (const content of contents.values()) found.set(content, (found.get(content) ?? 0) + 1);
    return found;
  };
  const [old, now] = [counts(was), counts(is)];
  // Two files of one content, of which one is gone, are looked at: each holds a design.
  const changed = (contents: ReadonlyMap<LangiumDocument, string>): LangiumDocument[] =>
    [...contents].filter(([, content]) => old.get(content) !== now.get(content)).map(([document]) => document);
  return [changed(was), changed(is)];
}

/** Analyses files of a state with their scenarios played. */
export const sideOf = ({ session }: State, documents: readonly LangiumDocument[], today: string): RevisionSide => ({
  files: documents.map((document): ReadFile => {
    const analysis = session.analyse(document, today, 'play');
    const unreadable = syntaxErrorsOf(document, session, analysis.findings);
    return { uri: analysis.uri, analysis, ...(unreadable === undefined ? {} : { unreadable }) };
  }),
});

/** Why a file cannot be compared: it, or one that it draws in, holds syntax errors. */
function syntaxErrorsOf(document: LangiumDocument, session: Session, findings: readonly Finding[]): string | undefined {
  const reached = drawnIn(document, [...session.documents, ...session.used], session.shared);
  const faulty = [...reached].find(hasSyntaxErrors);
  if (!faulty) return undefined;
  const count = countSyntaxErrors(faulty);
  const first = findings.find(({ check, place }) => check === 'syntax-error' && place.uri === faulty.uri.toString());
  const at = first ? `, the first in line ${first.place.line + 1}` : '';
  return `${fileName(faulty.uri.toString())} has ${count} syntax error${count === 1 ? '' : 's'}${at}`;
}
