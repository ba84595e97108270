/** Points joined without resistance, numbered as nodes of a circuit in the order in which they are asked for. */
export class Joints {
  private readonly parent = new Map<string, string>();
  private readonly numbers = new Map<string, number>();

  private root(key: string): string {
    let at = key;
    for (let next = this.parent.get(at); next !== undefined; next = this.parent.get(at)) at = next;
    return at;
  }

  join(left: string, right: string): void {
    const [a, b] = [this.root(left), this.root(right)];
    if (a !== b) this.parent.set(a, b);
  }

  /** The number of the point; all joints must be made before. */
  number(key: string): number {
    const root = this.root(key);
    const known = this.numbers.get(root);
    if (known !== undefined) return known;
    const number = this.numbers.size;
    this.numbers.set(root, number);
    return number;
  }

  get count(): number {
    return this.numbers.size;
  }
}
