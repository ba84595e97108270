import type * as vscode from 'vscode';

/** Places of symbols by name. */
export type Positions = Readonly<Record<string, { readonly x: number; readonly y: number }>>;

export interface PictureJob {
  readonly view: string;
  /** The drawing as the language server sent it; without one the last of the view is written again. */
  readonly drawing?: unknown;
  readonly keptText?: string;
  readonly former?: Positions;
  readonly write: { readonly stamp: unknown; readonly sheets: 'all' | 'whole' | { readonly state: string } };
}

export interface Picture {
  readonly svg: string;
  readonly positions: Positions;
}

/** A worker, however its host calls it. */
export interface WorkerPort {
  readonly post: (message: unknown) => void;
  readonly listen: (onMessage: (message: unknown) => void, onFault: (fault: string) => void) => void;
  readonly end: () => void;
}

/** Where the things of a design are kept from now on. */
export interface KeepJob {
  readonly keep: { readonly design: string; readonly positions: Positions };
  readonly keptText?: string;
}

interface Waiting {
  readonly resolve: (answer: never) => void;
  readonly reject: (fault: Error) => void;
}

type Answer = { readonly id: number } & (Picture | { readonly text: string } | { readonly fault: string });

/** Drawings laid out in a worker, which is started with the first. One that fails is started again for the next. */
export class Pictures implements vscode.Disposable {
  private port: Promise<WorkerPort> | undefined;
  private readonly waiting = new Map<number, Waiting>();
  private next = 1;

  constructor(private readonly start: () => Promise<WorkerPort>) {}

  draw(job: PictureJob): Promise<Picture> {
    return this.ask<Picture>(job);
  }

  /** The text of the file of kept positions with those of a design put in. */
  async keep(job: KeepJob): Promise<string> {
    return (await this.ask<{ readonly text: string }>(job)).text;
  }

  private async ask<T>(job: PictureJob | KeepJob): Promise<T> {
    const port = await (this.port ??= this.open());
    const id = this.next++;
    return new Promise<T>((resolve, reject) => {
      this.waiting.set(id, { resolve, reject });
      port.post({ id, ...job });
    });
  }

  private async open(): Promise<WorkerPort> {
    const port = await this.start();
    port.listen(
      (message) => this.take(message as Answer),
      (fault) => this.giveUp(fault),
    );
    return port;
  }

  private take(answer: Answer): void {
    const waiting = this.waiting.get(answer.id);
    this.waiting.delete(answer.id);
    if ('fault' in answer) waiting?.reject(new Error(answer.fault));
    else waiting?.resolve(answer as never);
  }

  private giveUp(fault: string): void {
    this.port = undefined;
    for (const { reject } of this.waiting.values()) reject(new Error(fault));
    this.waiting.clear();
  }

  dispose(): void {
    void this.port?.then((port) => port.end());
    this.giveUp('The drawing was closed.');
  }
}
