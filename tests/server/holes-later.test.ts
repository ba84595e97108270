import { CodeLensRefreshRequest, type Connection } from 'vscode-languageserver';
import { describe, expect, test, vi } from 'vitest';
import { folderInServer } from '../helpers/server-in-process.js';
import { fillLens } from '../../server/src/requests/holes.js';

const TEXT = `design Hut {
  basis: nec 2023
  site { altitude: 0 m   ambient: 15..25 degC }
  battery Bank : Lfp48V280Ah { cellTemperature: 20..25 degC }
  fuse F1 { class: T   rating: ? }
  load Heater { power: 2 kW   supply: dc }
  run Line: Bank -> F1 @ 100 mm -> Heater { size: 6 AWG   type: THHN   length: 2 m   conductors: 2   terminals: 75 degC }
}
`;
const LENS = { range: { start: { line: 0, character: 7 }, end: { line: 0, character: 10 } } };

describe('the lens above a design with open values', () => {
  test('is asked for again once they are found that were not when it was shown', async () => {
    const sendRequest = vi.fn(async () => undefined);
    const { server, documents } = await folderInServer({ 'hut.watt': TEXT }, { sendRequest } as unknown as Connection);
    const document = documents.get('hut.watt')!;
    // Nothing is judged yet: nothing can be tried.
    const early = await fillLens(LENS, document, 'Hut', server.wattwright);
    expect(early.command!.title).toBe('values are being tried');
    expect((await fillLens(LENS, document, 'Hut', server.wattwright)).command!.title).toBe('values are being tried');
    await server.shared.workspace.DocumentBuilder.build([document], { validation: true });
    await vi.waitFor(() => expect(sendRequest).toHaveBeenCalledWith(CodeLensRefreshRequest.type), { timeout: 600_000 });
    const late = await fillLens(LENS, document, 'Hut', server.wattwright);
    expect(late.command!.title).toBe('fill in 1 of 1 open values');
    // Two that waited for the same had it shown once.
    expect(sendRequest).toHaveBeenCalledTimes(1);
  });
});
