import * as vscode from 'vscode';

/** The page of a drawing: everything on it comes from the extension's own files, and nothing else may run. */
export function drawingHtml(webview: vscode.Webview, extensionUri: vscode.Uri): string {
  const address = (...path: string[]): string =>
    webview.asWebviewUri(vscode.Uri.joinPath(extensionUri, ...path)).toString();
  const nonce = randomWord();
  const policy = `default-src 'none'; script-src 'nonce-${nonce}'; style-src ${webview.cspSource}; img-src ${webview.cspSource} blob: data:`;
  const words = {
    design: vscode.l10n.t('Design'),
    state: vscode.l10n.t('State of the sources'),
    all: vscode.l10n.t('All states'),
    fit: vscode.l10n.t('Fit'),
    tidy: vscode.l10n.t('Tidy'),
    svg: vscode.l10n.t('Save as SVG'),
    png: vscode.l10n.t('Save as PNG'),
    drawing: vscode.l10n.t('Single-line diagram'),
    waiting: vscode.l10n.t('Drawing …'),
  };
  const text = (word: string): string => word.replace(/[&<>"]/g, (letter) => `&#${letter.charCodeAt(0)};`);
  return `<!DOCTYPE html>
<html lang="${text(vscode.env.language)}">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<title>${text(words.drawing)}</title>
<link rel="stylesheet" href="${address('media', 'drawing.css')}">
</head>
<body>
<div id="bar" role="toolbar" aria-label="${text(words.drawing)}">
<label>${text(words.design)} <select id="design"></select></label>
<label>${text(words.state)} <select id="state" data-all="${text(words.all)}"></select></label>
<button id="fit">${text(words.fit)}</button>
<button id="tidy">${text(words.tidy)}</button>
<button id="svg">${text(words.svg)}</button>
<button id="png">${text(words.png)}</button>
</div>
<p id="said" role="status">${text(words.waiting)}</p>
<div id="view" tabindex="0" role="application" aria-label="${text(words.drawing)}"></div>
<script nonce="${nonce}" src="${address('dist', 'drawing-page.js')}"></script>
</body>
</html>`;
}

const randomWord = (): string =>
  [...crypto.getRandomValues(new Uint8Array(18))].map((byte) => byte.toString(16).padStart(2, '0')).join('');
