import * as vscode from 'vscode';

/** The names of the files and what stands in the body of a page. Everything comes from the extension's own files, and nothing else may run. */
interface Page {
  readonly title: string;
  readonly styles: readonly (readonly string[])[];
  readonly script: string;
  readonly body: string;
}

const escaped = (word: string): string => word.replace(/[&<>"]/g, (letter) => `&#${letter.charCodeAt(0)};`);

function page(webview: vscode.Webview, extensionUri: vscode.Uri, { title, styles, script, body }: Page): string {
  const address = (path: readonly string[]): string =>
    webview.asWebviewUri(vscode.Uri.joinPath(extensionUri, ...path)).toString();
  const nonce = randomWord();
  const policy = `default-src 'none'; script-src 'nonce-${nonce}'; style-src ${webview.cspSource}; img-src ${webview.cspSource} blob: data:`;
  return `<!DOCTYPE html>
<html lang="${escaped(vscode.env.language)}">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<title>${escaped(title)}</title>
${styles.map((path) => `<link rel="stylesheet" href="${address(path)}">`).join('\n')}
</head>
<body>
${body}
<script nonce="${nonce}" src="${address(['dist', script])}"></script>
</body>
</html>`;
}

/** The page of a drawing. */
export function drawingHtml(webview: vscode.Webview, extensionUri: vscode.Uri): string {
  const title = vscode.l10n.t('Single-line diagram');
  const body = `<div id="bar" role="toolbar" aria-label="${escaped(title)}">
<label>${escaped(vscode.l10n.t('Design'))} <select id="design"></select></label>
<label>${escaped(vscode.l10n.t('State of the sources'))} <select id="state" data-all="${escaped(vscode.l10n.t('All states'))}"></select></label>
<button id="fit">${escaped(vscode.l10n.t('Fit'))}</button>
<button id="tidy">${escaped(vscode.l10n.t('Tidy'))}</button>
<button id="svg">${escaped(vscode.l10n.t('Save as SVG'))}</button>
<button id="png">${escaped(vscode.l10n.t('Save as PNG'))}</button>
</div>
<p id="said" role="status">${escaped(vscode.l10n.t('Drawing …'))}</p>
<div id="view" tabindex="0" role="application" aria-label="${escaped(title)}"></div>`;
  return page(webview, extensionUri, {
    title,
    styles: [
      ['media', 'view.css'],
      ['media', 'drawing.css'],
    ],
    script: 'drawing-page.js',
    body,
  });
}

/** The page of plots. */
export function plotsHtml(webview: vscode.Webview, extensionUri: vscode.Uri): string {
  const title = vscode.l10n.t('Plots of a scenario');
  const body = `<div id="bar" role="toolbar" aria-label="${escaped(title)}">
<label>${escaped(vscode.l10n.t('Scenario'))} <select id="first"></select></label>
<label>${escaped(vscode.l10n.t('Over it'))} <select id="second" data-none="${escaped(vscode.l10n.t('nothing'))}"></select></label>
${overButton('log', vscode.l10n.t('Log over it …'))}
${overButton('earlier', vscode.l10n.t('Earlier state over it …'))}
<button id="whole">${escaped(vscode.l10n.t('Whole time'))}</button>
<button id="csv">${escaped(vscode.l10n.t('Save as CSV'))}</button>
</div>
<p id="said" role="status">${escaped(vscode.l10n.t('Simulating …'))}</p>
<div id="plots" tabindex="0" role="application" aria-label="${escaped(title)}"></div>
<p id="values" aria-live="polite"></p>`;
  return page(webview, extensionUri, {
    title,
    styles: [
      ['media', 'view.css'],
      ['dist', 'plots-page.css'],
      ['media', 'plots.css'],
    ],
    script: 'plots-page.js',
    body,
  });
}

/** A button that says what lies over a plot, or how something may be laid over it. */
const overButton = (id: string, none: string): string =>
  `<button id="${id}" aria-pressed="false" data-none="${escaped(none)}">${escaped(none)}</button>`;

const randomWord = (): string =>
  [...crypto.getRandomValues(new Uint8Array(18))].map((byte) => byte.toString(16).padStart(2, '0')).join('');
