import * as vscode from 'vscode';

/** What is used of the editor's own git extension (its published interface, version 1). */
interface GitRepository {
  readonly rootUri: vscode.Uri;
  log(options: { readonly maxEntries: number; readonly path: string }): Promise<readonly GitCommit[]>;
  show(revision: string, path: string): Promise<string>;
}

interface GitCommit {
  readonly hash: string;
  readonly message: string;
  readonly authorDate?: Date;
}

interface GitExtension {
  getAPI(version: 1): { getRepository(uri: vscode.Uri): GitRepository | null };
}

/** A file as it was: what it is called, and its text. */
export interface EarlierState {
  readonly title: string;
  readonly text: string;
}

/** Commits that are offered. */
const MOST_COMMITS = 50;
const SHORT_HASH = 8;

/** Asks which earlier state of a file is meant: as it was saved, or as it was in a commit. Undefined where none is chosen. */
export async function pickEarlierState(uri: vscode.Uri): Promise<EarlierState | undefined> {
  const repository = await repositoryOf(uri);
  const commits = (await repository?.log({ maxEntries: MOST_COMMITS, path: uri.fsPath }).catch(() => [])) ?? [];
  const saved = { label: vscode.l10n.t('As it was saved last'), description: '', hash: undefined };
  const choices = commits.map(({ hash, message, authorDate }) => ({
    label: message.split('\n')[0] ?? hash,
    description: [hash.slice(0, SHORT_HASH), authorDate?.toISOString().slice(0, 10)].filter(Boolean).join(', '),
    hash,
  }));
  const chosen = await vscode.window.showQuickPick([saved, ...choices], {
    title: vscode.l10n.t('Earlier state to lie over this one'),
    placeHolder: repository
      ? vscode.l10n.t('Parts that the design uses are taken as they are now')
      : vscode.l10n.t('Commits are offered where the editor has its git extension'),
    matchOnDescription: true,
  });
  if (!chosen) return undefined;
  if (chosen.hash === undefined || !repository) {
    const text = new TextDecoder().decode(await vscode.workspace.fs.readFile(uri));
    return { title: vscode.l10n.t('saved'), text };
  }
  return {
    title: chosen.hash.slice(0, SHORT_HASH),
    text: await repository.show(chosen.hash, uri.fsPath),
  };
}

async function repositoryOf(uri: vscode.Uri): Promise<GitRepository | undefined> {
  try {
    const extension = vscode.extensions.getExtension<GitExtension>('vscode.git');
    const git = await extension?.activate();
    return git?.getAPI(1).getRepository(uri) ?? undefined;
  } catch {
    // Without git, or with it switched off, there are no commits to choose from.
    return undefined;
  }
}
