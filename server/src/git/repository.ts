import path from 'node:path';
import { CallError } from '../cli/call-error.js';
import { Unreadable, LARGEST_FILE, decoded } from '../files/read-text.js';
import { type Answer, git, gitLine } from './git.js';

/** One file of a commit. */
export interface Blob {
  /** From the top of the repository, with `/`. */
  readonly path: string;
  readonly object: string;
  readonly size: number;
}

/** A revision as somebody asked for it, with its commit. */
export interface Revision {
  readonly asked: string;
  readonly commit: string;
}

/** A git repository, read through the `git` program; nothing of it is ever changed. */
export class Repository {
  private readonly texts = new Map<string, string | { readonly unread: string }>();

  private constructor(
    /** Where git is asked. */
    private readonly folder: string,
    /** The top of its files; for a bare repository the folder that stands for it. */
    readonly top: string,
    readonly isBare: boolean,
  ) {}

  /** The repository that a folder is in. */
  static at(folder: string): Repository {
    const answer = git(folder, ['rev-parse', '--is-bare-repository']);
    if (!answer.isOk) throw new CallError(notARepository(answer));
    const isBare = answer.output.toString('utf8').trim() === 'true';
    const top = gitLine(folder, 'rev-parse', isBare ? '--absolute-git-dir' : '--show-toplevel');
    if (!top)
      throw new CallError('this folder belongs to git itself; go to the folder above it, or name two revisions there');
    return new Repository(folder, path.normalize(top), isBare);
  }

  /** The commit that a revision stands for; says why where there is none. */
  revision(asked: string): Revision {
    const commit = gitLine(this.folder, 'rev-parse', '--verify', '--quiet', '--end-of-options', `${asked}^{commit}`);
    if (commit !== undefined && /^[0-9a-f]{40,64}$/.test(commit)) return { asked, commit };
    throw new CallError(this.whyMissing(asked));
  }

  /** The last commit that two revisions have in common. */
  mergeBase(one: string, other: string): Revision {
    const [left, right] = [this.revision(one), this.revision(other)];
    const commit = gitLine(this.folder, 'merge-base', left.commit, right.commit);
    if (commit !== undefined) return { asked: `${one}...${other}`, commit };
    const why = this.isShallow ? SHALLOW : 'they have no history in common';
    throw new CallError(`${one} and ${other} have no common commit here; ${why}`);
  }

  private get isShallow(): boolean {
    return gitLine(this.folder, 'rev-parse', '--is-shallow-repository') === 'true';
  }

  private whyMissing(asked: string): string {
    if (asked === 'HEAD' || asked === '@') return 'the branch has no commit yet; commit something first';
    if (this.isShallow) return `there is no revision ${asked} here; ${SHALLOW}`;
    return `there is no revision ${asked}; \`git log\` and \`git branch --all\` show what there is`;
  }

  /** Every regular file of a commit whose name one may have. Links and other repositories in it are left out. */
  files({ commit }: Revision): readonly Blob[] {
    const answer = git(this.folder, ['ls-tree', '-r', '-z', '-l', '--full-tree', commit]);
    if (!answer.isOk) throw new CallError(`git cannot list commit ${commit.slice(0, 12)}: ${answer.complaint}`);
    return answer.output
      .toString('utf8')
      .split('\0')
      .flatMap((row): Blob[] => {
        const [, mode, object, size, name] = /^(\d+) blob ([0-9a-f]+) +(\d+)\t(.*)$/s.exec(row) ?? [];
        if (mode === undefined || !mode.startsWith('100') || !isSafe(name!)) return [];
        return [{ path: name!, object: object!, size: Number(size) }];
      });
  }

  /** Reads many files at once, since each start of git takes longer than reading. */
  readAll(blobs: readonly Blob[]): void {
    const wanted = [...new Map(blobs.map((blob) => [blob.object, blob])).values()].filter(
      ({ object }) => !this.texts.has(object),
    );
    for (const { object, size } of wanted)
      if (size > LARGEST_FILE)
        this.texts.set(object, {
          unread: `holds ${Math.round(size / 1e6)} MB; files of up to ${LARGEST_FILE / 1e6} MB are read`,
        });
    const readable = wanted.filter(({ object }) => !this.texts.has(object));
    if (readable.length === 0) return;
    const answer = git(this.folder, ['cat-file', '--batch'], `${readable.map(({ object }) => object).join('\n')}\n`);
    if (!answer.isOk) throw new CallError(`git cannot read this repository: ${answer.complaint}`);
    let at = 0;
    for (const { object } of readable) {
      const end = answer.output.indexOf(0x0a, at);
      const [, , size] = answer.output.subarray(at, end).toString('utf8').split(' ');
      if (size === undefined) {
        // A clone without all of its files, which are not fetched behind anybody's back.
        this.texts.set(object, { unread: 'is not in this clone; fetch it first' });
        at = end + 1;
        continue;
      }
      const bytes = answer.output.subarray(end + 1, end + 1 + Number(size));
      this.texts.set(object, textOf(bytes));
      at = end + 1 + Number(size) + 1;
    }
  }

  read(blob: Blob): string | { readonly unread: string } {
    this.readAll([blob]);
    return this.texts.get(blob.object)!;
  }
}

const SHALLOW = 'the clone is shallow: fetch its history (`git fetch --unshallow`; in CI `fetch-depth: 0`)';

function textOf(bytes: Buffer): string | { readonly unread: string } {
  try {
    return decoded(bytes);
  } catch (error) {
    if (error instanceof Unreadable) return { unread: error.message };
    throw error;
  }
}

/** A tree may be made by hand: names that would lead out of it, or into git's own folder, are nobody's files. */
const isSafe = (name: string): boolean =>
  name !== '' &&
  !name.split('/').some((step) => step === '' || step === '.' || step === '..' || step.toLowerCase() === '.git');

function notARepository({ complaint }: Answer): string {
  if (/dubious ownership/.test(complaint))
    return 'git does not trust this repository, since another user owns it; allow it with `git config --global --add safe.directory FOLDER`';
  return /not a git repository/.test(complaint)
    ? 'this folder is in no git repository; revisions can be compared only in one'
    : `git cannot read this repository: ${complaint}`;
}
