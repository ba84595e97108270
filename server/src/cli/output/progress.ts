/** How far the play is, on a terminal only, and only when it takes long enough to be read. */
export class Progress {
  private readonly began = Date.now();
  private shown = -1;

  constructor(private readonly stream: NodeJS.WriteStream) {}

  show(share: number): void {
    const percent = Math.floor(share * 100);
    if (!this.stream.isTTY || percent === this.shown || Date.now() - this.began < 300) return;
    this.shown = percent;
    this.stream.write(`\rsimulating ${percent} %`);
  }

  end(): void {
    if (this.shown >= 0) this.stream.write('\r\u001b[K');
  }
}
