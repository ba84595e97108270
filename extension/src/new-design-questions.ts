import * as vscode from 'vscode';
import { LANGUAGE } from './designs.js';
import { type NewDesign, type PlaceAnswer, type SourceAnswer, designText } from './new-design.js';

/** Asks five questions and opens the design that comes of the answers. A question that is left open leaves a hole in the design. */
export async function newDesign(): Promise<vscode.TextDocument | undefined> {
  const answers = await askAll();
  if (!answers) return undefined;
  const document = await vscode.workspace.openTextDocument({ language: LANGUAGE, content: designText(answers) });
  await vscode.window.showTextDocument(document);
  return document;
}

const STEPS = 5;
const title = (step: number, text: string): string => `${vscode.l10n.t('New design')} (${step}/${STEPS}): ${text}`;

async function askAll(): Promise<NewDesign | undefined> {
  const voltage = await pick(title(1, vscode.l10n.t('the voltage of the bank')), [
    { label: '12 V', value: 12 as const },
    { label: '24 V', value: 24 as const },
    { label: '48 V', value: 48 as const },
    { label: vscode.l10n.t('not known yet'), value: undefined },
  ]);
  if (!voltage) return undefined;
  const sources = await vscode.window.showQuickPick(
    [
      { label: vscode.l10n.t('grid or shore connection'), value: 'grid' },
      { label: vscode.l10n.t('generator'), value: 'generator' },
      { label: vscode.l10n.t('solar'), value: 'solar' },
      { label: vscode.l10n.t('alternator of an engine'), value: 'alternator' },
    ],
    { title: title(2, vscode.l10n.t('what charges it')), canPickMany: true, ignoreFocusOut: true },
  );
  if (!sources) return undefined;
  const loads = await vscode.window.showInputBox({
    title: title(3, vscode.l10n.t('the loads')),
    prompt: vscode.l10n.t('Names with their power, with commas between them; power may be left out.'),
    placeHolder: 'Heater 1.2 kW, Fridge 60 W, Lights',
    ignoreFocusOut: true,
  });
  if (loads === undefined) return undefined;
  const basis = await pick(title(4, vscode.l10n.t('the wiring rules')), [
    { label: 'NEC', description: 'NFPA 70', value: 'nec' as const },
    { label: 'IEC', description: 'IEC 60364', value: 'iec' as const },
    { label: vscode.l10n.t('small craft or vehicle'), description: '33 CFR 183, ISO 13297', value: 'craft' as const },
  ]);
  if (!basis) return undefined;
  const place = await vscode.window.showInputBox({
    title: title(5, vscode.l10n.t('the place')),
    prompt: vscode.l10n.t(
      'Height above the sea in metres, coldest and warmest temperature in °C; empty where not known yet.',
    ),
    placeHolder: '300, -10, 35',
    validateInput: (text) => (placeOf(text) === 'unreadable' ? vscode.l10n.t('Three numbers, or nothing.') : undefined),
    ignoreFocusOut: true,
  });
  if (place === undefined) return undefined;
  const where = placeOf(place);
  return {
    name: 'NewDesign',
    voltage: voltage.value,
    sources: sources.map(({ value }) => value as SourceAnswer),
    loads: loads
      .split(',')
      .map((each) => each.trim())
      .filter(Boolean),
    basis: basis.value,
    place: where === 'unreadable' ? undefined : where,
  };
}

const pick = <T extends vscode.QuickPickItem>(heading: string, items: readonly T[]): Thenable<T | undefined> =>
  vscode.window.showQuickPick(items, { title: heading, ignoreFocusOut: true });

function placeOf(text: string): PlaceAnswer | undefined | 'unreadable' {
  if (text.trim() === '') return undefined;
  const [altitude, coldest, warmest, ...more] = text
    .split(/[,;\s]+/)
    .filter(Boolean)
    .map(Number);
  const isRead =
    [altitude, coldest, warmest].every((each) => each !== undefined && Number.isFinite(each)) && more.length === 0;
  if (!isRead || coldest! > warmest!) return 'unreadable';
  return { altitude: altitude!, coldest: coldest!, warmest: warmest! };
}
