import { type FileSystemProvider, EmptyFileSystemProvider, type URI } from 'langium';
import path from 'node:path';
import type { FileSource } from '../files/file-source.js';
import { isInside, isReallyInside } from '../files/inside.js';
import { textBeside } from '../files/text-beside.js';
import { projectsOfMachine } from '../project/of-machine.js';
import type { Project } from '../project/project.js';
import { Projects } from '../project/projects.js';
import type { Blob, Repository, Revision } from './repository.js';

/** The files of a commit, at the paths that they have or would have when it is checked out. */
export class CommitFiles implements FileSource {
  private readonly byPath: ReadonlyMap<string, Blob>;
  readonly projects: Projects;

  constructor(
    private readonly repository: Repository,
    revision: Revision,
    readProject: (project: Project) => void = () => undefined,
  ) {
    this.byPath = new Map(
      repository.files(revision).map((blob) => [path.join(repository.top, ...blob.path.split('/')), blob]),
    );
    const folders = new Set<string>();
    for (const file of this.byPath.keys())
      for (let at = path.dirname(file); !folders.has(at) && isInside(repository.top, at); at = path.dirname(at))
        folders.add(at);
    const { isFolder } = projectsOfMachine(() => []);
    this.projects = new Projects(
      {
        topOf: () => repository.top,
        textOf: this.textBeside,
        isFolder: (folder) => folders.has(folder) || (isOfPackage(folder) && isFolder(folder)),
      },
      readProject,
    );
  }

  /** Absolute paths with an ending, in their order. */
  pathsEnding(ending: string): readonly string[] {
    return [...this.byPath.keys()].filter((file) => file.endsWith(ending)).sort();
  }

  readAll(files: readonly string[]): void {
    this.repository.readAll(files.flatMap((file) => this.byPath.get(file) ?? []));
  }

  readonly textBeside = (file: string): ReturnType<FileSource['textBeside']> => {
    const blob = this.byPath.get(file);
    if (blob) return this.repository.read(blob);
    // Packages are in no commit; those that are installed stand for those that were.
    return isOfPackage(file) && isReallyInside(this.repository.top, file) ? textBeside(file) : undefined;
  };

  readonly provider = (): FileSystemProvider => new CommitFileSystem(this.textBeside);

  readonly allows = (_from: string, to: string): boolean => isInside(this.repository.top, to);

  readonly folderToName = (to: string): string => path.dirname(to);
}

const isOfPackage = (file: string): boolean => file.split(path.sep).includes('node_modules');

class CommitFileSystem extends EmptyFileSystemProvider {
  constructor(private readonly textOf: FileSource['textBeside']) {
    super();
  }

  private read(uri: URI): string {
    const text = this.textOf(uri.fsPath);
    if (typeof text === 'string') return text;
    throw new Error(text ? `${uri.fsPath} ${text.unread}` : `${uri.fsPath} is not in the commit`);
  }

  // The base class takes no argument here, so that these have to be properties of a wider type.
  override readFile = (uri?: URI): Promise<string> => Promise.resolve().then(() => this.read(uri!));
  override readFileSync = (uri?: URI): string => this.read(uri!);
}
