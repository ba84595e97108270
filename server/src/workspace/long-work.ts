import { OperationCancelled, delayNextTick } from 'langium';
import type { CancellationToken, Connection, WorkDoneProgressServerReporter } from 'vscode-languageserver';

/** Time at a stretch for which long work holds up everything else, in ms. */
const STRETCH = 10;
/** How long work lasts before the editor is told how far it is, in ms: what is done sooner needs no sign. */
const SHOWN_AFTER = 1000;

/** How far a long work is, shown by the editor once it has lasted a while, where it can be left off. An editor that shows none lets it pass. */
export class LongWork {
  private readonly begun = performance.now();
  private reporter: WorkDoneProgressServerReporter | undefined;
  private isAsked = false;
  private isOver = false;
  private isLeftOff = false;

  constructor(
    private readonly connection: Connection | undefined,
    private readonly title: string,
  ) {}

  /** Whether somebody has asked the editor to leave it off. */
  get isCancelled(): boolean {
    return this.isLeftOff;
  }

  /** Takes the share that is done, 0 to 1. */
  report(share: unknown): void {
    if (typeof share === 'number') this.reporter?.report(Math.round(Math.min(1, share) * 100));
    if (this.isAsked || !this.connection || performance.now() - this.begun < SHOWN_AFTER) return;
    this.isAsked = true;
    this.connection.window.createWorkDoneProgress().then(
      (reporter) => {
        if (this.isOver) return;
        this.reporter = reporter;
        reporter.token.onCancellationRequested(() => (this.isLeftOff = true));
        reporter.begin(this.title, 0, '', true);
      },
      // An editor that refuses to show it, or is gone, takes nothing from the work.
      () => undefined,
    );
  }

  done(): void {
    this.isOver = true;
    this.reporter?.done();
  }
}

/**
 * Runs something in short stretches, so that other requests are answered in between, and shows how far it is. Throws `OperationCancelled` where
 * it is left off, by the request or in the editor.
 */
export async function inStretches<T>(
  pieces: Generator<unknown, T>,
  token: CancellationToken,
  connection?: Connection,
  title = '',
): Promise<T> {
  const work = new LongWork(connection, title);
  try {
    for (let began = performance.now(), piece = pieces.next(); ; piece = pieces.next()) {
      if (piece.done) return piece.value;
      if (performance.now() - began < STRETCH) continue;
      work.report(piece.value);
      await delayNextTick();
      if (token.isCancellationRequested || work.isCancelled) throw OperationCancelled;
      began = performance.now();
    }
  } finally {
    work.done();
  }
}
