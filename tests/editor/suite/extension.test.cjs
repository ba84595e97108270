'use strict';
const assert = require('node:assert/strict');
const { suite, suiteSetup, test } = require('mocha');
const vscode = require('vscode');

const EXTENSION = 'wattwright.wattwright';

/** Waits until `ask` gives something true, and returns it. */
async function until(what, ask, milliseconds = 30_000) {
  const begun = Date.now();
  for (;;) {
    const answer = await ask();
    if (answer) return answer;
    if (Date.now() - begun > milliseconds) throw new Error(`${what} did not happen within ${milliseconds / 1000} s`);
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
}

const codeOf = (finding) => (typeof finding.code === 'object' ? finding.code.value : finding.code);

suite('the extension in a real editor', () => {
  /** @type {vscode.TextDocument} */
  let document;

  /** Where a text stands in the document, `inside` characters in. */
  const placeOf = (text, inside = 0) => {
    const offset = document.getText().indexOf(text);
    assert.notEqual(offset, -1, `${text} is not in the document`);
    return document.positionAt(offset + inside);
  };
  const findings = (check) =>
    vscode.languages.getDiagnostics(document.uri).filter((finding) => !check || codeOf(finding) === check);
  const hoverAt = async (position) => {
    const hovers = await vscode.commands.executeCommand('vscode.executeHoverProvider', document.uri, position);
    return hovers.flatMap((hover) => hover.contents.map((content) => content.value ?? content)).join('\n');
  };

  suiteSetup(async () => {
    const extension = vscode.extensions.getExtension(EXTENSION);
    assert.ok(extension, 'the extension is there');
    await extension.activate();
    const folder = vscode.workspace.workspaceFolders[0].uri;
    document = await vscode.workspace.openTextDocument(vscode.Uri.joinPath(folder, 'cabin.watt'));
    await vscode.window.showTextDocument(document);
  });

  test('gives .watt files their language', () => {
    assert.equal(document.languageId, 'wattwright');
  });

  test('reports the thin feed as an error with its check id, a documentation link and the numbers', async () => {
    const [finding] = await until('run-ampacity', () => {
      const list = findings('run-ampacity');
      return list.length > 0 && list;
    });
    assert.equal(finding.severity, vscode.DiagnosticSeverity.Error);
    assert.equal(finding.source, 'wattwright');
    assert.match(finding.message, /Feed/);
    assert.match(finding.message, /\d+(\.\d+)? A/);
    assert.equal(
      document.getText(finding.range).includes('14 AWG'),
      true,
      `marked: ${document.getText(finding.range)}`,
    );
    assert.ok(finding.code.target, 'a documentation link');
  });

  test('shows the worked calculation in the hover of the feed', async () => {
    const text = await hoverAt(placeOf('Feed:', 1));
    assert.match(text, /=/);
    assert.match(text, /\d+(\.\d+)? A/);
  });

  test('completes the kinds of things a design can hold', async () => {
    const list = await vscode.commands.executeCommand(
      'vscode.executeCompletionItemProvider',
      document.uri,
      placeOf('load Heater'),
    );
    const labels = list.items.map((item) => (typeof item.label === 'string' ? item.label : item.label.label));
    assert.ok(labels.includes('charger'), labels.slice(0, 40).join(' '));
  });

  test('goes from a use of a name to its definition, and finds all uses', async () => {
    const use = placeOf('DcBus -> FeedFuse', 1);
    const targets = await vscode.commands.executeCommand('vscode.executeDefinitionProvider', document.uri, use);
    assert.equal(targets.length, 1);
    const range = targets[0].targetSelectionRange ?? targets[0].targetRange ?? targets[0].range;
    assert.equal(range.start.line, placeOf('bus DcBus').line);
    const uses = await vscode.commands.executeCommand('vscode.executeReferenceProvider', document.uri, use);
    assert.ok(uses.length >= 3, `${uses.length} uses`);
  });

  test('opens the standard library where a definition leads there', async () => {
    const parts = await vscode.workspace.openTextDocument(
      vscode.Uri.joinPath(vscode.workspace.workspaceFolders[0].uri, 'parts.watt'),
    );
    const place = parts.positionAt(parts.getText().indexOf('LithiumIronPhosphate') + 1);
    const targets = await until('a definition', async () => {
      const list = await vscode.commands.executeCommand('vscode.executeDefinitionProvider', parts.uri, place);
      return list.length > 0 && list;
    });
    const page = await vscode.workspace.openTextDocument(targets[0].targetUri ?? targets[0].uri);
    assert.match(page.getText(), /part battery LithiumIronPhosphate/);
  });

  test('renames a thing everywhere', async () => {
    const edit = await vscode.commands.executeCommand(
      'vscode.executeDocumentRenameProvider',
      document.uri,
      placeOf('bus DcBus', 5),
      'MainBus',
    );
    assert.ok(edit.get(document.uri).length >= 3);
  });

  test('lists what fits, likeliest first, with what it leaves of its limits', async () => {
    const list = await vscode.commands.executeCommand(
      'vscode.executeCompletionItemProvider',
      document.uri,
      placeOf('rating: 15 A', 'rating: '.length),
    );
    const [first] = [...list.items].sort((left, right) => (left.sortText < right.sortText ? -1 : 1));
    assert.match(typeof first.label === 'string' ? first.label : first.label.label, /^\d+ A$/);
    assert.match(String(first.detail), /needed|conductors|rule/);
  });

  test('says above the design what is found', async () => {
    const lenses = await vscode.commands.executeCommand('vscode.executeCodeLensProvider', document.uri, 20);
    const titles = lenses.map((lens) => lens.command?.title ?? '');
    assert.ok(
      titles.some((title) => /error/.test(title)),
      titles.join(' | '),
    );
  });

  test('shows what feeds a thing as incoming calls', async () => {
    const [item] = await vscode.commands.executeCommand(
      'vscode.prepareCallHierarchy',
      document.uri,
      placeOf('bus DcBus', 5),
    );
    assert.equal(item.name, 'DcBus');
    const calls = await vscode.commands.executeCommand('vscode.provideIncomingCalls', item);
    assert.deepEqual(
      calls.map(({ from }) => from.name),
      ['MainFuse'],
    );
  });

  test('checks all designs as a task whose output names every finding', async () => {
    const tasks = await vscode.tasks.fetchTasks({ type: 'wattwright' });
    assert.equal(tasks.length, 1);
    const ended = new Promise((resolve) => {
      const listener = vscode.tasks.onDidEndTask(({ execution }) => {
        if (execution.task.definition.type !== 'wattwright') return;
        listener.dispose();
        resolve(undefined);
      });
    });
    await vscode.tasks.executeTask(tasks[0]);
    await ended;
  });

  test('writes why a finding is accepted where the server says', async () => {
    const actions = await until('an acceptance', async () => {
      const list = await vscode.commands.executeCommand(
        'vscode.executeCodeActionProvider',
        document.uri,
        findings('run-ampacity')[0].range,
      );
      const accepting = list.filter(({ title }) => title.startsWith('Accept run-ampacity'));
      return accepting.length > 0 && accepting;
    });
    assert.equal(actions[0].command.command, 'wattwright.acceptBecause');
    assert.match(actions[0].command.arguments[0].before, /accept run-ampacity on Feed because "$/);
  });

  test('lists the things of the design as symbols', async () => {
    const symbols = await vscode.commands.executeCommand('vscode.executeDocumentSymbolProvider', document.uri);
    const names = (list) => list.flatMap((symbol) => [symbol.name, ...names(symbol.children ?? [])]);
    for (const name of ['Cabin', 'Bank', 'Feed']) assert.ok(names(symbols).includes(name), names(symbols).join(' '));
  });

  test('writes the computed size with the quick fix, and the finding goes', async () => {
    const [finding] = findings('run-ampacity');
    const actions = await vscode.commands.executeCommand(
      'vscode.executeCodeActionProvider',
      document.uri,
      finding.range,
      vscode.CodeActionKind.QuickFix.value,
    );
    const fix = actions.find((action) => action.edit && /AWG/.test(action.title));
    assert.ok(fix, actions.map((action) => action.title).join(' | '));
    await vscode.workspace.applyEdit(fix.edit);
    assert.doesNotMatch(document.getText(), /14 AWG/);
    await until('the finding to go', () => findings('run-ampacity').length === 0);
  });

  test('formats a document to one canonical layout', async () => {
    const folder = vscode.workspace.workspaceFolders[0].uri;
    const messy = vscode.Uri.joinPath(folder, 'messy.watt');
    await vscode.workspace.fs.writeFile(messy, Buffer.from('design   Messy{basis:nec\n      load L{power:5 W}}\n'));
    const opened = await vscode.workspace.openTextDocument(messy);
    const edits = await vscode.commands.executeCommand('vscode.executeFormatDocumentProvider', messy, {
      tabSize: 2,
      insertSpaces: true,
    });
    assert.ok(edits.length > 0);
    const change = new vscode.WorkspaceEdit();
    change.set(messy, edits);
    await vscode.workspace.applyEdit(change);
    assert.match(opened.getText(), /^design Messy \{\n {2}basis: nec\n/);
  });

  test('checks all designs of the workspace', async () => {
    const result = await vscode.commands.executeCommand('wattwright.checkWorkspace');
    assert.ok(result.files >= 2);
  });

  test('explains a check', async () => {
    await vscode.commands.executeCommand('wattwright.explainFinding', 'run-ampacity');
    const page = await vscode.workspace.openTextDocument(
      vscode.Uri.from({ scheme: 'wattwright-explain', path: '/run-ampacity.md' }),
    );
    assert.match(page.getText(), /ampacity/i);
    assert.ok(page.getText().split('\n').length > 5, page.getText());
  });

  test('shows the documentation behind a finding as a page, not as its source', async () => {
    const page = vscode.Uri.from({ scheme: 'wattwright-explain', path: '/run-protection.md' });
    await vscode.commands.executeCommand('vscode.open', page);
    const tab = await until('the page', () => {
      const active = vscode.window.tabGroups.activeTabGroup.activeTab;
      return active?.input?.uri?.toString() === page.toString() && active;
    });
    assert.equal(tab.input.viewType, 'vscode.markdown.preview.editor');
    await vscode.commands.executeCommand('workbench.action.closeActiveEditor');
  });

  test('restarts the server and finds the same', async () => {
    const before = findings().map((finding) => codeOf(finding));
    await vscode.commands.executeCommand('wattwright.restartServer');
    await until('the same findings', () => {
      const after = findings().map((finding) => codeOf(finding));
      return JSON.stringify(after.sort()) === JSON.stringify(before.sort());
    });
    assert.match(await hoverAt(placeOf('Feed:', 1)), /=/);
  });
});
