import * as vscode from 'vscode';

/** Where the server wants `accept … because "…"` written, and the text around the reason. */
interface Acceptance {
  readonly uri: string;
  readonly range: {
    readonly start: { line: number; character: number };
    readonly end: { line: number; character: number };
  };
  readonly before: string;
  readonly after: string;
}

/** Asks why a finding is acceptable, and writes it into the design. Without a reason nothing is written. */
export async function acceptBecause({ uri, range, before, after }: Acceptance): Promise<boolean> {
  const reason = await vscode.window.showInputBox({
    title: before.trim().replace(/ because "$/, ''),
    prompt: vscode.l10n.t('Why is this acceptable here? The reason is kept in the design and in reports.'),
    validateInput: (text) =>
      text.trim() === '' ? vscode.l10n.t('A finding is accepted for a reason only.') : undefined,
    ignoreFocusOut: true,
  });
  if (!reason?.trim()) return false;
  const edit = new vscode.WorkspaceEdit();
  const { start, end } = range;
  const place = new vscode.Range(start.line, start.character, end.line, end.character);
  edit.replace(vscode.Uri.parse(uri), place, `${before}${escaped(reason.trim())}${after}`);
  return vscode.workspace.applyEdit(edit);
}

/** A text as it stands between quotes in a design. */
export const escaped = (text: string): string => text.replace(/["\\]/g, '\\$&').replace(/\s+/g, ' ');
