/** What couples the banks that share a bus freely: the charge of each moves the voltage of the bus, and with it the current of all. */
export interface SharedBus {
  /** How many of its banks have a current that follows the voltage, and their positions. */
  size: number;
  readonly banks: Int32Array;
  /** Of each of them: change of its rate with its current, V per C of its rest voltage, and ohm between that and the bus. */
  readonly effect: Float64Array;
  readonly restSlope: Float64Array;
  readonly resistance: Float64Array;
  /** Change of the current that the bus takes with its voltage, A/V; above 0. */
  steepness: number;
}

/** V per C below which a stretch of a rest curve counts as so steep: a flat one couples nothing, and nothing is divided by it. */
const LEAST_SLOPE = 1e-12;
/** Sweeps of rotations after which any such matrix is diagonal to the last digits. */
const MOST_SWEEPS = 30;

/**
 * The rates of banks near a point as modes that move alone: with the Jacobian J of the rates, J = back · diag(λ) · forth.
 *
 * On a bus that is shared freely dI_i/dU_j = 1/(R_i·R_j·S) − δ_ij/R_i, with S its steepness. With s_i the change of a rate with its
 * current and u_j the slope of a rest voltage, J_ij = s_i·u_j·dI_i/dU_j is made symmetric by t_i = √(u_i/s_i), so that its modes
 * are real; Jacobi's rotations find them, which are stable whatever the stiffness. Banks elsewhere are modes of their own.
 */
export class Modes {
  /** 1/s, by mode. */
  readonly growth: Float64Array;
  /** Largest |λ| among the modes of each bank, 1/s. */
  readonly stiffest: Float64Array;
  /** Whether any mode is of more than one bank. */
  isCoupled = false;
  private readonly back: Float64Array;
  private readonly forth: Float64Array;
  private readonly matrix: Float64Array;
  private readonly turned: Float64Array;

  constructor(private readonly count: number) {
    this.growth = new Float64Array(count);
    this.stiffest = new Float64Array(count);
    this.back = new Float64Array(count * count);
    this.forth = new Float64Array(count * count);
    this.matrix = new Float64Array(count * count);
    this.turned = new Float64Array(count * count);
  }

  /** Each bank by itself, with the change of its rate with its own charge (1/s). */
  part(stiffness: Float64Array): void {
    const { count, growth, stiffest, back, forth } = this;
    if (this.isCoupled) {
      back.fill(0);
      forth.fill(0);
    }
    this.isCoupled = false;
    for (let at = 0; at < count; at += 1) {
      growth[at] = stiffness[at]!;
      stiffest[at] = Math.abs(stiffness[at]!);
      back[at * count + at] = 1;
      forth[at * count + at] = 1;
    }
  }

  /** Couples the banks of a bus, which `part` has set apart. */
  couple({ size, banks, effect, restSlope, resistance, steepness }: SharedBus, stiffness: Float64Array): void {
    const { count, growth, stiffest, back, forth, matrix, turned } = this;
    const rest = (at: number): number => Math.max(LEAST_SLOPE, restSlope[at]!);
    const pull = (at: number): number => Math.sqrt(effect[at]! * rest(at)) / resistance[at]!;
    for (let row = 0; row < size; row += 1)
      for (let column = 0; column < size; column += 1) {
        const place = row * size + column;
        matrix[place] = row === column ? stiffness[banks[row]!]! : (pull(row) * pull(column)) / steepness;
        turned[place] = row === column ? 1 : 0;
      }
    diagonalize(matrix, turned, size);
    let most = 0;
    for (let mode = 0; mode < size; mode += 1) most = Math.max(most, Math.abs(matrix[mode * size + mode]!));
    for (let row = 0; row < size; row += 1) {
      const bank = banks[row]!;
      growth[bank] = matrix[row * size + row]!;
      stiffest[bank] = most;
      const scale = Math.sqrt(rest(row) / effect[row]!);
      for (let mode = 0; mode < size; mode += 1) {
        const turn = turned[row * size + mode]!;
        back[bank * count + banks[mode]!] = turn / scale;
        forth[banks[mode]! * count + bank] = turn * scale;
      }
    }
    this.isCoupled = true;
  }

  /** Values of banks as values of modes. */
  toModes(ofBanks: Float64Array, ofModes: Float64Array): void {
    product(this.forth, ofBanks, ofModes);
  }

  /** Values of modes as values of banks. */
  toBanks(ofModes: Float64Array, ofBanks: Float64Array): void {
    product(this.back, ofModes, ofBanks);
  }

  /** What a mode brings to a bank. */
  share(bank: number, mode: number): number {
    return this.back[bank * this.count + mode]!;
  }
}

function product(matrix: Float64Array, values: Float64Array, found: Float64Array): void {
  const count = values.length;
  for (let row = 0; row < count; row += 1) {
    let sum = 0;
    for (let column = 0; column < count; column += 1) sum += matrix[row * count + column]! * values[column]!;
    found[row] = sum;
  }
}

/** Turns a symmetric matrix diagonal and a matrix of unit columns along with it (Jacobi's cyclic rotations, 1846; from memory). */
function diagonalize(matrix: Float64Array, turned: Float64Array, size: number): void {
  for (let sweep = 0; sweep < MOST_SWEEPS; sweep += 1) {
    let isDiagonal = true;
    for (let one = 0; one < size; one += 1)
      for (let other = one + 1; other < size; other += 1) {
        const off = matrix[one * size + other]!;
        const [first, second] = [matrix[one * size + one]!, matrix[other * size + other]!];
        if (Math.abs(off) <= 1e-16 * Math.sqrt(Math.abs(first * second)) || off === 0) continue;
        isDiagonal = false;
        const theta = (second - first) / (2 * off);
        const tangent = (theta >= 0 ? 1 : -1) / (Math.abs(theta) + Math.sqrt(theta * theta + 1));
        const cosine = 1 / Math.sqrt(tangent * tangent + 1);
        rotate(matrix, turned, size, one, other, cosine, tangent * cosine);
        matrix[one * size + one] = first - tangent * off;
        matrix[other * size + other] = second + tangent * off;
        matrix[one * size + other] = 0;
        matrix[other * size + one] = 0;
      }
    if (isDiagonal) return;
  }
}

function rotate(
  matrix: Float64Array,
  turned: Float64Array,
  size: number,
  one: number,
  other: number,
  cosine: number,
  sine: number,
): void {
  for (let at = 0; at < size; at += 1) {
    if (at !== one && at !== other) {
      const [first, second] = [matrix[at * size + one]!, matrix[at * size + other]!];
      matrix[at * size + one] = matrix[one * size + at] = cosine * first - sine * second;
      matrix[at * size + other] = matrix[other * size + at] = sine * first + cosine * second;
    }
    const [first, second] = [turned[at * size + one]!, turned[at * size + other]!];
    turned[at * size + one] = cosine * first - sine * second;
    turned[at * size + other] = sine * first + cosine * second;
  }
}
