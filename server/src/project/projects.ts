import { type NamedFolders, PROJECT_FILE, type PartFolder, type ProjectRules } from '@wattwright/language';
import { URI } from 'langium';
import path from 'node:path';
import { isInside } from '../files/inside-by-name.js';
import { type Project, projectFrom } from './project.js';

/** Paths and addresses of files that projects are looked for of. */
export interface Addresses {
  /** Undefined for what no project can hold. */
  readonly pathOf: (uri: URI) => string | undefined;
  readonly uriOf: (file: string) => URI;
}

export const FILES_OF_MACHINE: Addresses = {
  pathOf: (uri) => (uri.scheme === 'file' ? uri.fsPath : undefined),
  uriOf: (file) => URI.file(file),
};

/** Where project files and packages are looked for. */
export interface ProjectSource {
  /** Files of this machine where it does not say. */
  readonly addresses?: Addresses;
  /** The folder at which the search upwards ends; undefined where a folder of a file is looked at alone. */
  readonly topOf: (folder: string) => string | undefined;
  /** Text of a file; why it cannot be read where it is there; undefined where there is none. */
  readonly textOf: (file: string) => string | { readonly unread: string } | undefined;
  readonly isFolder: (folder: string) => boolean;
}

/** Folders between a file and the top beyond which nobody looks. */
const MOST_STEPS = 100;

/**
 * The projects of files: of each file the one whose project file is nearest, in its own folder or above it, up to the top of its
 * repository. Read once; `forget` lets them be read again.
 */
export class Projects implements NamedFolders {
  private readonly byFolder = new Map<string, Project | undefined>();
  private readonly byFile = new Map<string, Project>();
  private readonly packages = new Map<string, string>();

  constructor(
    private readonly source: ProjectSource,
    /** Hears of each project file when it is read. */
    private readonly read: (project: Project) => void = () => undefined,
  ) {}

  /** Project files that have been read. */
  get known(): readonly Project[] {
    return [...this.byFile.values()];
  }

  forget(): void {
    this.byFolder.clear();
    this.byFile.clear();
    this.packages.clear();
  }

  /** The project that a file belongs to. */
  of(file: string): Project | undefined {
    const folder = path.dirname(file);
    if (!this.byFolder.has(folder)) this.byFolder.set(folder, this.find(folder));
    return this.byFolder.get(folder);
  }

  private find(folder: string): Project | undefined {
    const top = this.source.topOf(folder);
    for (let at = folder, step = 0; step < MOST_STEPS; at = path.dirname(at), step += 1) {
      const file = path.join(at, PROJECT_FILE);
      const known = this.byFile.get(file);
      if (known) return known;
      const text = this.source.textOf(file);
      if (text !== undefined) {
        const project = projectFrom(file, text, top ?? at, (each) => this.source.textOf(each) !== undefined);
        this.byFile.set(file, project);
        this.read(project);
        return project;
      }
      if (top === undefined || at === top || path.dirname(at) === at) return undefined;
    }
    return undefined;
  }

  /** What the project of a file says of all its designs. */
  rulesFor(file: string): ProjectRules | undefined {
    const settings = this.of(file)?.settings;
    if (!settings) return undefined;
    const { basis, severities, scenarioYears } = settings;
    return {
      severities,
      ...(basis === undefined ? {} : { basis }),
      ...(scenarioYears === undefined ? {} : { scenarioYears }),
    };
  }

  readonly folder = (from: URI, name: string): URI | undefined => {
    const project = this.ofUri(from);
    const parts = project?.settings.parts.get(name);
    return project && parts ? this.addresses.uriOf(this.folderOf(project, parts)) : undefined;
  };

  readonly always = (from: URI): readonly URI[] => {
    const project = this.ofUri(from);
    return (project?.settings.tables ?? []).map((file) => this.addresses.uriOf(path.resolve(project!.folder, file)));
  };

  get addresses(): Addresses {
    return this.source.addresses ?? FILES_OF_MACHINE;
  }

  private ofUri(uri: URI): Project | undefined {
    const file = this.addresses.pathOf(uri);
    return file === undefined ? undefined : this.of(file);
  }

  /** Every folder of parts that the project of a file names, with what it is called there. */
  partFolders(file: string): readonly { readonly name: string; readonly folder: string }[] {
    const project = this.of(file);
    return [...(project?.settings.parts ?? [])].map(([name, parts]) => ({
      name,
      folder: this.folderOf(project!, parts),
    }));
  }

  /**
   * The folder of parts that lets a file draw in another: a folder that its project names, or one that both lie in. Whether links lead out
   * of it is for the reader of files to say.
   */
  folderAround(from: string, to: string): { readonly folder: string; readonly top: string } | undefined {
    const own = this.of(from);
    if (own?.settings.tables.some((file) => path.resolve(own.folder, file) === to))
      return { folder: path.dirname(to), top: own.top };
    for (const project of this.known)
      for (const parts of project.settings.parts.values()) {
        const folder = this.folderOf(project, parts);
        if (isInside(folder, to) && (project === this.of(from) || isInside(folder, from)))
          return { folder, top: project.top };
      }
    return undefined;
  }

  /** Why what a name stands for is not there, in words that follow on `it`; undefined where the name is not to blame. */
  whyMissing(from: string, to: string): string | undefined {
    const project = this.of(from);
    for (const [name, parts] of project?.settings.parts ?? []) {
      const folder = this.folderOf(project!, parts);
      if (!isInside(folder, to) || this.source.isFolder(folder)) continue;
      return 'package' in parts
        ? `comes from the package ${parts.package}, which is not installed; run \`npm install\``
        : `lies in the folder ${parts.folder}, named ${name} in ${PROJECT_FILE}, which is not there`;
    }
    return undefined;
  }

  private folderOf(project: Project, parts: PartFolder): string {
    if (!('package' in parts)) return path.resolve(project.folder, parts.folder);
    const base = this.packageFolder(project, parts.package);
    return parts.folder === undefined ? base : path.resolve(base, parts.folder);
  }

  /** Where a package is installed, as Node looks for it: beside the project file or above it, within the top. */
  private packageFolder({ folder, top }: Project, name: string): string {
    const key = `${folder}\n${name}`;
    const known = this.packages.get(key);
    if (known !== undefined) return known;
    let found: string | undefined;
    for (let at = folder, step = 0; step < MOST_STEPS; at = path.dirname(at), step += 1) {
      const candidate = path.join(at, 'node_modules', ...name.split('/'));
      if (this.source.isFolder(candidate)) {
        found = candidate;
        break;
      }
      if (at === top || path.dirname(at) === at) break;
    }
    const where = found ?? path.join(folder, 'node_modules', ...name.split('/'));
    this.packages.set(key, where);
    return where;
  }
}
