import * as vscode from 'vscode';
import {
  type BaseLanguageClient,
  CloseAction,
  ErrorAction,
  type ErrorHandler,
  type LanguageClientOptions,
  State,
} from 'vscode-languageclient';
import { acceptBecause } from './accept.js';
import { DESIGN_FILES, LANGUAGE, LEFT_OUT } from './designs.js';
import { ExplanationPages } from './explanation-pages.js';
import { newDesign } from './new-design-questions.js';
import { Proving } from './proving.js';
import { Restarts } from './restarts.js';
import { QuestionsView } from './questions-view.js';
import { DesignStatus } from './status.js';
import { CheckTasks } from './tasks.js';
import type { WorkerPort } from './views/pictures.js';
import { Views } from './views/views.js';

/** What `activate` hands to other extensions and to the tests. */
export interface WattwrightApi {
  readonly client: BaseLanguageClient;
}

/** Options common to the desktop and the browser client. */
export function clientOptions(context: vscode.ExtensionContext): LanguageClientOptions {
  const watcher = vscode.workspace.createFileSystemWatcher(DESIGN_FILES);
  context.subscriptions.push(watcher);
  return {
    documentSelector: [{ language: LANGUAGE }],
    synchronize: { fileEvents: watcher },
    outputChannelName: 'Wattwright',
    // What is known early is shown early, and scenarios come later: findings are told, not asked for. Reasons are asked for here.
    initializationOptions: { diagnostics: 'push', asksReasons: true },
    errorHandler: restartingHandler(),
  };
}

/** Starts a server that has ended again; the client then opens for it what is open in the editor, as it is there. */
function restartingHandler(): ErrorHandler {
  const restarts = new Restarts();
  return {
    // A message that got lost is no reason to give up a server that still runs; when it has ended, that is told apart.
    error: (_error, _message, count) => ({
      action: count !== undefined && count <= 3 ? ErrorAction.Continue : ErrorAction.Shutdown,
    }),
    closed: () => {
      const { restart, tell } = restarts.ended(Date.now());
      if (tell && restart)
        void vscode.window.showWarningMessage(
          vscode.l10n.t(
            'The Wattwright language server ended unexpectedly and was started again. Its output says more.',
          ),
        );
      if (!restart) void offerRestart();
      return { action: restart ? CloseAction.Restart : CloseAction.DoNotRestart, handled: true };
    },
  };
}

async function offerRestart(): Promise<void> {
  const again = vscode.l10n.t('Start it again');
  const chosen = await vscode.window.showErrorMessage(
    vscode.l10n.t(
      'The Wattwright language server ended several times within three minutes and stays off. Designs are not checked now. Its output says more.',
    ),
    again,
  );
  if (chosen === again) await vscode.commands.executeCommand('wattwright.restartServer');
}

/** Commands, the status item and the explanation pages: everything that is not the language server's own work. */
export function registerFeatures(
  context: vscode.ExtensionContext,
  client: BaseLanguageClient,
  startPictures: () => Promise<WorkerPort>,
): WattwrightApi {
  const pages = new ExplanationPages(client);
  const status = new DesignStatus(client);
  context.subscriptions.push(
    pages,
    new Views(context.extensionUri, client, startPictures),
    ...statusItem(client),
    status,
    new QuestionsView(status),
    new Proving(client),
    vscode.tasks.registerTaskProvider('wattwright', new CheckTasks(findingsSettled)),
    vscode.commands.registerCommand('wattwright.newDesign', newDesign),
    vscode.commands.registerCommand('wattwright.showQuestions', () =>
      vscode.commands.executeCommand('wattwright.questions.focus'),
    ),
    vscode.commands.registerCommand('wattwright.acceptBecause', acceptBecause),
    vscode.commands.registerCommand('wattwright.checkWorkspace', checkWorkspace),
    vscode.commands.registerCommand('wattwright.restartServer', () => restart(client)),
    vscode.commands.registerCommand('wattwright.explainFinding', (check?: string) => explainFinding(pages, check)),
  );
  return { client };
}

async function restart(client: BaseLanguageClient): Promise<void> {
  if (client.isRunning()) await client.stop();
  await client.start();
}

/** Opens every design file for the server, shows the list of findings and says how many there are. */
async function checkWorkspace(): Promise<{ files: number; errors: number; warnings: number }> {
  const files = await vscode.workspace.findFiles(DESIGN_FILES, LEFT_OUT);
  await vscode.window.withProgress(
    { location: vscode.ProgressLocation.Window, title: vscode.l10n.t('Wattwright: checking {0} files', files.length) },
    async () => {
      for (const file of files) await vscode.workspace.openTextDocument(file);
      await findingsSettled();
    },
  );
  await vscode.commands.executeCommand('workbench.actions.view.problems');
  const { errors, warnings } = countFindings();
  void vscode.window.showInformationMessage(
    vscode.l10n.t('Wattwright: {0} files, {1} errors, {2} warnings.', files.length, errors, warnings),
  );
  return { files: files.length, errors, warnings };
}

/** Findings arrive file by file; they have settled once none came for a while. */
function findingsSettled(quiet = 700): Promise<void> {
  return new Promise((resolve) => {
    const finish = (): void => {
      listener.dispose();
      resolve();
    };
    let timer = setTimeout(finish, 2 * quiet);
    const listener = vscode.languages.onDidChangeDiagnostics(() => {
      clearTimeout(timer);
      timer = setTimeout(finish, quiet);
    });
  });
}

/** Shows what the check behind a finding guards, why, and by which source; without an argument, the one at the cursor. */
async function explainFinding(pages: ExplanationPages, check?: string): Promise<void> {
  const chosen = check ?? (await chooseCheckAtCursor());
  if (chosen) await pages.show(chosen);
}

async function chooseCheckAtCursor(): Promise<string | undefined> {
  const editor = vscode.window.activeTextEditor;
  if (editor?.document.languageId !== LANGUAGE) return undefined;
  const all = vscode.languages.getDiagnostics(editor.document.uri);
  const here = all.filter((finding) => finding.range.intersection(editor.selection));
  const sameLine = all.filter((finding) => finding.range.start.line === editor.selection.active.line);
  const checks = [...new Set((here.length > 0 ? here : sameLine).map(checkOf).filter((id) => id !== undefined))];
  if (checks.length === 0) {
    void vscode.window.showInformationMessage(vscode.l10n.t('Wattwright: there is no finding at the cursor.'));
    return undefined;
  }
  return checks.length === 1
    ? checks[0]
    : vscode.window.showQuickPick(checks, { placeHolder: vscode.l10n.t('Which finding?') });
}

function checkOf(finding: vscode.Diagnostic): string | undefined {
  const code = typeof finding.code === 'object' ? finding.code.value : finding.code;
  return code === undefined ? undefined : String(code);
}

function statusItem(client: BaseLanguageClient): vscode.Disposable[] {
  const item = vscode.languages.createLanguageStatusItem('wattwright.server', { language: LANGUAGE });
  item.name = 'Wattwright';
  const update = (): void => {
    item.busy = client.state === State.Starting;
    const stopped = client.state === State.Stopped;
    const { errors, warnings } = countFindings();
    item.text = stopped ? vscode.l10n.t('Wattwright is not running') : 'Wattwright';
    item.detail = stopped ? undefined : vscode.l10n.t('{0} errors, {1} warnings', errors, warnings);
    item.severity = stopped ? vscode.LanguageStatusSeverity.Error : vscode.LanguageStatusSeverity.Information;
    item.command = stopped
      ? { command: 'wattwright.restartServer', title: vscode.l10n.t('Restart') }
      : { command: 'wattwright.checkWorkspace', title: vscode.l10n.t('Check all designs') };
  };
  update();
  return [item, client.onDidChangeState(update), vscode.languages.onDidChangeDiagnostics(update)];
}

function countFindings(): { errors: number; warnings: number } {
  const findings = vscode.languages
    .getDiagnostics()
    .filter(([uri]) => uri.path.endsWith('.watt'))
    .flatMap(([, list]) => list);
  const count = (severity: vscode.DiagnosticSeverity): number =>
    findings.filter((finding) => finding.severity === severity).length;
  return { errors: count(vscode.DiagnosticSeverity.Error), warnings: count(vscode.DiagnosticSeverity.Warning) };
}
