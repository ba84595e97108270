import * as vscode from 'vscode';
import { DESIGN_FILES, LEFT_OUT, isDesign } from './designs.js';

/** The kind of task that `package.json` declares. */
const TASK = 'wattwright';

/** Offers checking all designs as a task whose output the problem matcher `$wattwright` reads. It needs no process, so it runs in a browser too. */
export class CheckTasks implements vscode.TaskProvider {
  constructor(private readonly settled: () => Promise<void>) {}

  provideTasks(): vscode.Task[] {
    return [this.taskFor({ type: TASK, task: 'check' })];
  }

  resolveTask({ definition }: vscode.Task): vscode.Task | undefined {
    return definition['task'] === 'check' ? this.taskFor(definition) : undefined;
  }

  private taskFor(definition: vscode.TaskDefinition): vscode.Task {
    const execution = new vscode.CustomExecution(() => Promise.resolve(new CheckTerminal(this.settled)));
    const task = new vscode.Task(
      definition,
      vscode.TaskScope.Workspace,
      vscode.l10n.t('check all designs'),
      'Wattwright',
      execution,
      '$wattwright',
    );
    task.group = vscode.TaskGroup.Build;
    return task;
  }
}

const SEVERITIES = ['error', 'warning', 'info', 'info'];

/** Writes each finding of every design as one line, as the command line does. */
class CheckTerminal implements vscode.Pseudoterminal {
  private readonly written = new vscode.EventEmitter<string>();
  private readonly closed = new vscode.EventEmitter<number>();
  private isOver = false;
  readonly onDidWrite = this.written.event;
  readonly onDidClose = this.closed.event;

  constructor(private readonly settled: () => Promise<void>) {}

  open(): void {
    this.check().then(
      (errors) => this.closed.fire(errors > 0 ? 1 : 0),
      (fault: unknown) => {
        this.written.fire(`${String(fault)}\r\n`);
        this.closed.fire(2);
      },
    );
  }

  close(): void {
    this.isOver = true;
  }

  private async check(): Promise<number> {
    const files = await vscode.workspace.findFiles(DESIGN_FILES, LEFT_OUT);
    for (const file of files) {
      if (this.isOver) return 0;
      await vscode.workspace.openTextDocument(file);
    }
    await this.settled();
    let errors = 0;
    for (const [uri, findings] of vscode.languages.getDiagnostics()) {
      if (!isDesign(uri)) continue;
      for (const { range, severity, code, message } of findings) {
        if (severity === vscode.DiagnosticSeverity.Error) errors += 1;
        const id = typeof code === 'object' ? code.value : (code ?? '');
        const place = `${vscode.workspace.asRelativePath(uri)}:${range.start.line + 1}:${range.start.character + 1}`;
        this.written.fire(`${place} ${SEVERITIES[severity]} ${id}: ${message.split('\n')[0]}\r\n`);
      }
    }
    this.written.fire(`${vscode.l10n.t('{0} files checked, {1} errors', files.length, errors)}\r\n`);
    return errors;
  }
}
