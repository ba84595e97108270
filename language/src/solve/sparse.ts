/**
 * Sparse linear systems A·x = b, factorised as P·A·Q = L·U: columns in minimum-degree order, rows by threshold pivoting. Plain typed
 * arrays, no units: the callers give meaning to the numbers.
 */

/** A square matrix by columns (compressed sparse column form); rows within a column in no order, no entry twice. */
export interface SparseMatrix {
  readonly size: number;
  readonly columnStart: Int32Array;
  readonly rowIndex: Int32Array;
  readonly values: Float64Array;
}

/** Collects entries of a matrix; entries at one place add up, as element stamps of a network do. */
export class MatrixBuilder {
  private readonly rows: number[] = [];
  private readonly columns: number[] = [];
  private readonly entries: number[] = [];

  constructor(readonly size: number) {}

  add(row: number, column: number, value: number): void {
    this.rows.push(row);
    this.columns.push(column);
    this.entries.push(value);
  }

  build(): SparseMatrix {
    const { size, rows, columns, entries } = this;
    const count = new Int32Array(size + 1);
    for (const column of columns) count[column + 1]! += 1;
    for (let column = 0; column < size; column += 1) count[column + 1]! += count[column]!;
    const next = count.slice(0, size);
    const rowIndex = new Int32Array(rows.length);
    const values = new Float64Array(rows.length);
    for (let entry = 0; entry < rows.length; entry += 1) {
      const at = next[columns[entry]!]!++;
      rowIndex[at] = rows[entry]!;
      values[at] = entries[entry]!;
    }
    return mergeEntries(size, count, rowIndex, values);
  }
}

/** Adds up entries that stand at the same place. */
function mergeEntries(size: number, start: Int32Array, rowIndex: Int32Array, values: Float64Array): SparseMatrix {
  const seenAt = new Int32Array(size).fill(-1);
  const columnStart = new Int32Array(size + 1);
  let filled = 0;
  for (let column = 0; column < size; column += 1) {
    const first = filled;
    for (let entry = start[column]!; entry < start[column + 1]!; entry += 1) {
      const row = rowIndex[entry]!;
      const before = seenAt[row]!;
      if (before >= first) values[before]! += values[entry]!;
      else {
        seenAt[row] = filled;
        rowIndex[filled] = row;
        values[filled] = values[entry]!;
        filled += 1;
      }
    }
    columnStart[column + 1] = filled;
  }
  return { size, columnStart, rowIndex: rowIndex.slice(0, filled), values: values.slice(0, filled) };
}

/**
 * An elimination order by minimum degree on the pattern of A + Aᵀ. Returns the order in which columns are eliminated.
 */
export function minimumDegreeOrder({ size, columnStart, rowIndex }: SparseMatrix): Int32Array {
  const neighbours: Set<number>[] = Array.from({ length: size }, () => new Set<number>());
  for (let column = 0; column < size; column += 1) {
    for (let entry = columnStart[column]!; entry < columnStart[column + 1]!; entry += 1) {
      const row = rowIndex[entry]!;
      if (row === column) continue;
      neighbours[row]!.add(column);
      neighbours[column]!.add(row);
    }
  }
  return eliminated(neighbours).order;
}

/** In which order unknowns are eliminated, and for each step the unknowns that it leaves joined to each other. */
export interface Elimination {
  readonly order: Int32Array;
  readonly cliques: readonly Int32Array[];
}

/** The same for unknowns of which pairs are joined, with what each step fills in. */
export function minimumDegreeElimination(size: number, pairs: Iterable<readonly [number, number]>): Elimination {
  const neighbours: Set<number>[] = Array.from({ length: size }, () => new Set<number>());
  for (const [one, other] of pairs) {
    neighbours[one]!.add(other);
    neighbours[other]!.add(one);
  }
  return eliminated(neighbours);
}

/** Minimum degree on a quotient graph with element absorption, external degrees bounded from above. */
function eliminated(neighbours: readonly Set<number>[]): Elimination {
  const size = neighbours.length;
  const cliques: Int32Array[] = [];
  // Elements are cliques left by eliminated variables; a variable's neighbours are its own edges and the members of its elements.
  const elementsOf: Set<number>[] = Array.from({ length: size }, () => new Set<number>());
  const members = new Map<number, Set<number>>();
  const degree = new Int32Array(size);
  const buckets: Set<number>[] = [];
  const put = (variable: number): void => {
    const at = degree[variable]!;
    (buckets[at] ??= new Set()).add(variable);
  };
  for (let variable = 0; variable < size; variable += 1) {
    degree[variable] = neighbours[variable]!.size;
    put(variable);
  }
  const order = new Int32Array(size);
  let lowest = 0;
  for (let step = 0; step < size; step += 1) {
    while (!buckets[lowest] || buckets[lowest]!.size === 0) lowest += 1;
    const pivot = buckets[lowest]!.values().next().value as number;
    buckets[lowest]!.delete(pivot);
    order[step] = pivot;
    const clique = new Set(neighbours[pivot]!);
    for (const element of elementsOf[pivot]!) {
      for (const member of members.get(element)!) clique.add(member);
      members.delete(element);
    }
    clique.delete(pivot);
    const absorbed = elementsOf[pivot]!;
    for (const variable of clique) {
      buckets[degree[variable]!]!.delete(variable);
      const own = neighbours[variable]!;
      own.delete(pivot);
      // Edges inside the new clique are represented by the element from now on.
      for (const other of own) if (clique.has(other)) own.delete(other);
      for (const element of absorbed) elementsOf[variable]!.delete(element);
      elementsOf[variable]!.add(pivot);
    }
    members.set(pivot, clique);
    cliques.push(Int32Array.from(clique));
    for (const variable of clique) {
      let bound = neighbours[variable]!.size;
      for (const element of elementsOf[variable]!) bound += members.get(element)!.size - 1;
      degree[variable] = Math.min(bound, size - step - 1);
      put(variable);
      lowest = Math.min(lowest, degree[variable]!);
    }
    neighbours[pivot]!.clear();
    elementsOf[pivot]!.clear();
  }
  return { order, cliques };
}

/** A column that has no usable pivot: the matrix is singular there. */
export class SingularMatrix extends Error {
  constructor(readonly column: number) {
    super(`the equations are singular at unknown ${column}`);
  }
}

/** Pivots smaller than this share of the largest entry of their column are not taken, unless nothing else is there. */
const PIVOT_SHARE = 1e-3;
/** Relative to the largest entry of the matrix: a pivot below this is no pivot. */
const SINGULAR_SHARE = 1e-15;

/** The factors of a matrix, ready to solve for any right-hand side. */
export interface Factors {
  readonly solve: (rightHandSide: Float64Array) => Float64Array;
}

/**
 * Left-looking factorisation (Gilbert and Peierls 1988): each column is a sparse triangular solve whose pattern is found by a depth-first
 * search. `order` is the column order; the diagonal is preferred as pivot, which keeps the fill the order was chosen for.
 * Throws SingularMatrix.
 */
export function factorise(matrix: SparseMatrix, order: Int32Array): Factors {
  const { size, columnStart, rowIndex, values } = matrix;
  const scale = values.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  const lowerStart = new Int32Array(size + 1);
  let lowerRow = new Int32Array(values.length * 4 + size);
  let lowerValue = new Float64Array(lowerRow.length);
  const upperStart = new Int32Array(size + 1);
  let upperRow = new Int32Array(values.length * 4 + size);
  let upperValue = new Float64Array(upperRow.length);
  const diagonal = new Float64Array(size);
  /** Position of a row among the pivots; −1 while it has not been one. */
  const pivotOf = new Int32Array(size).fill(-1);
  const rowOf = new Int32Array(size);
  const work = new Float64Array(size);
  const mark = new Int32Array(size).fill(-1);
  const stack = new Int32Array(size);
  const position = new Int32Array(size);
  const topological = new Int32Array(size);
  let lowerCount = 0;
  let upperCount = 0;

  for (let step = 0; step < size; step += 1) {
    const column = order[step]!;
    let top = size;
    for (let entry = columnStart[column]!; entry < columnStart[column + 1]!; entry += 1) {
      const row = rowIndex[entry]!;
      if (mark[row] !== step) top = reach(row, step, top);
    }
    for (let at = top; at < size; at += 1) work[topological[at]!] = 0;
    for (let entry = columnStart[column]!; entry < columnStart[column + 1]!; entry += 1)
      work[rowIndex[entry]!] = values[entry]!;
    if (lowerCount + size > lowerRow.length) [lowerRow, lowerValue] = grow(lowerRow, lowerValue, size);
    if (upperCount + size > upperRow.length) [upperRow, upperValue] = grow(upperRow, upperValue, size);

    let largest = 0;
    let chosen = -1;
    for (let at = top; at < size; at += 1) {
      const row = topological[at]!;
      const pivot = pivotOf[row]!;
      if (pivot < 0) {
        const share = Math.abs(work[row]!);
        if (share > largest) [largest, chosen] = [share, row];
        continue;
      }
      const value = work[row]!;
      upperRow[upperCount] = pivot;
      upperValue[upperCount] = value;
      upperCount += 1;
      for (let entry = lowerStart[pivot]!; entry < lowerStart[pivot + 1]!; entry += 1)
        work[lowerRow[entry]!]! -= lowerValue[entry]! * value;
    }
    // Updates above may have changed candidates seen before; look again for the largest.
    largest = 0;
    for (let at = top; at < size; at += 1) {
      const row = topological[at]!;
      if (pivotOf[row]! >= 0) continue;
      const share = Math.abs(work[row]!);
      if (share > largest) [largest, chosen] = [share, row];
    }
    if (!(largest > scale * SINGULAR_SHARE)) throw new SingularMatrix(column);
    if (pivotOf[column]! < 0 && mark[column] === step && Math.abs(work[column]!) >= PIVOT_SHARE * largest)
      chosen = column;
    const pivotValue = work[chosen]!;
    diagonal[step] = pivotValue;
    pivotOf[chosen] = step;
    rowOf[step] = chosen;
    for (let at = top; at < size; at += 1) {
      const row = topological[at]!;
      if (pivotOf[row]! >= 0 || work[row] === 0) continue;
      lowerRow[lowerCount] = row;
      lowerValue[lowerCount] = work[row]! / pivotValue;
      lowerCount += 1;
    }
    lowerStart[step + 1] = lowerCount;
    upperStart[step + 1] = upperCount;
  }

  /** Rows that a non-zero in `start` reaches through L, put in front of `topological` in topological order. */
  function reach(start: number, step: number, top: number): number {
    let depth = 0;
    stack[0] = start;
    mark[start] = step;
    position[0] = pivotOf[start]! < 0 ? 0 : lowerStart[pivotOf[start]!]!;
    while (depth >= 0) {
      const row = stack[depth]!;
      const pivot = pivotOf[row]!;
      let descended = false;
      if (pivot >= 0) {
        for (let entry = position[depth]!; entry < lowerStart[pivot + 1]!; entry += 1) {
          const next = lowerRow[entry]!;
          if (mark[next] === step) continue;
          position[depth] = entry + 1;
          depth += 1;
          stack[depth] = next;
          mark[next] = step;
          position[depth] = pivotOf[next]! < 0 ? 0 : lowerStart[pivotOf[next]!]!;
          descended = true;
          break;
        }
      }
      if (descended) continue;
      top -= 1;
      topological[top] = row;
      depth -= 1;
    }
    return top;
  }

  return {
    solve: (rightHandSide) => {
      const permuted = Float64Array.from(rightHandSide);
      const partial = new Float64Array(size);
      for (let step = 0; step < size; step += 1) {
        const value = permuted[rowOf[step]!]!;
        partial[step] = value;
        if (value === 0) continue;
        for (let entry = lowerStart[step]!; entry < lowerStart[step + 1]!; entry += 1)
          permuted[lowerRow[entry]!]! -= lowerValue[entry]! * value;
      }
      const result = new Float64Array(size);
      for (let step = size - 1; step >= 0; step -= 1) {
        const value = partial[step]! / diagonal[step]!;
        result[order[step]!] = value;
        for (let entry = upperStart[step]!; entry < upperStart[step + 1]!; entry += 1)
          partial[upperRow[entry]!]! -= upperValue[entry]! * value;
      }
      return result;
    },
  };
}

function grow(
  rows: Int32Array<ArrayBuffer>,
  values: Float64Array<ArrayBuffer>,
  by: number,
): [Int32Array<ArrayBuffer>, Float64Array<ArrayBuffer>] {
  const length = rows.length * 2 + by;
  const moreRows = new Int32Array(length);
  moreRows.set(rows);
  const moreValues = new Float64Array(length);
  moreValues.set(values);
  return [moreRows, moreValues];
}
