import { spawn } from 'node:child_process';
import { accessSync, constants, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { undoneOnSignal } from './undone.js';

/** Names under which a Chromium stands in the path. */
const NAMES = ['chromium', 'chromium-browser', 'chrome'];
const PATIENCE = 120_000;

/** The Chromium of this machine, where it has one. */
export function chromium(environment: Readonly<Record<string, string | undefined>> = process.env): string | undefined {
  const folders = (environment['PATH'] ?? '').split(path.delimiter).filter(Boolean);
  for (const name of NAMES)
    for (const folder of folders) {
      const file = path.join(folder, name);
      try {
        accessSync(file, constants.X_OK);
        return file;
      } catch {
        // The next folder may have it.
      }
    }
  return undefined;
}

/** Prints a page as a tagged PDF, dated by the commit, so that the same page gives the same bytes on the same machine. */
export async function printed(program: string, page: string, date: string | undefined): Promise<Buffer> {
  const folder = mkdtempSync(path.join(tmpdir(), 'wattwright-'));
  const remove = (): void => rmSync(folder, { recursive: true, force: true, maxRetries: 3 });
  const kept = undoneOnSignal(remove);
  try {
    const [from, to] = [path.join(folder, 'page.html'), path.join(folder, 'page.pdf')];
    writeFileSync(from, page);
    await run(program, [
      '--headless',
      '--no-sandbox',
      '--disable-gpu',
      '--disable-dev-shm-usage',
      `--user-data-dir=${path.join(folder, 'profile')}`,
      '--no-pdf-header-footer',
      '--generate-pdf-document-outline',
      '--virtual-time-budget=5000',
      `--print-to-pdf=${to}`,
      pathToFileURL(from).href,
    ]);
    return dated(readFileSync(to), date ?? '2000-01-01');
  } finally {
    remove();
    kept.stop();
  }
}

function run(program: string, args: readonly string[]): Promise<void> {
  return new Promise((resolve, reject) => {
    const child = spawn(program, args, { stdio: 'ignore', timeout: PATIENCE });
    const running = undoneOnSignal(() => child.kill('SIGKILL'));
    child.on('error', (error) => {
      running.stop();
      reject(error);
    });
    child.on('close', (code) => {
      running.stop();
      if (code === 0) resolve();
      else reject(new Error(`it ended with ${code ?? 'a signal'}`));
    });
  });
}

/** Its two dates stand uncompressed and are written over with as many characters, so that nothing else moves. */
function dated(bytes: Buffer, date: string): Buffer {
  const day = date.replaceAll('-', '');
  const text = bytes
    .toString('latin1')
    .replace(/\/(CreationDate|ModDate) \(D:\d{14}/g, (_, name: string) => `/${name} (D:${day}000000`);
  return Buffer.from(text, 'latin1');
}
