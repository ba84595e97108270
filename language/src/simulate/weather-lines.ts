/** Why a file cannot be read, as words that follow on its name. */
export interface Unreadable {
  readonly reason: string;
}

/** Lines that a file may have: two years of minutes and some. */
export const MOST_LINES = 1_200_000;

/** The lines of a text, without its byte-order mark, whatever ends them. */
export class Lines {
  private readonly starts: number[] = [];
  readonly isTooLong: boolean;

  constructor(private readonly text: string) {
    let at = text.startsWith('\uFEFF') ? 1 : 0;
    while (at <= text.length && this.starts.length <= MOST_LINES) {
      this.starts.push(at);
      const end = text.indexOf('\n', at);
      if (end < 0) break;
      at = end + 1;
    }
    this.isTooLong = this.starts.length > MOST_LINES;
  }

  get length(): number {
    return this.starts.length;
  }

  /** A line, the first 0; empty behind the last. */
  at(line: number): string {
    const from = this.starts[line];
    if (from === undefined) return '';
    const next = this.starts[line + 1] ?? this.text.length + 1;
    return this.text.slice(from, next - 1).replace(/\r$/, '');
  }
}

/** The cells of a line, without blanks and quotation marks around them. */
export const cellsOf = (line: string): string[] =>
  line.split(',').map((cell) =>
    cell
      .trim()
      .replace(/^"(.*)"$/, '$1')
      .trim(),
  );

/** A number as files write it; NaN for anything else. */
export const numberOf = (cell: string | undefined): number =>
  cell !== undefined && /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/.test(cell) ? Number(cell) : NaN;

/** A text of a file as it is shown: short, on one line. */
export const shown = (cell: string | undefined): string => {
  const text = cell ?? '';
  return text.length > 24 ? `${text.slice(0, 24)}…` : text;
};

/** What a column may hold. */
export interface Bounds {
  readonly title: string;
  readonly unit: string;
  readonly least: number;
  readonly most: number;
}

export const IRRADIANCE: Bounds = { title: 'irradiance', unit: 'W/m²', least: 0, most: 2000 };
export const BEAM: Bounds = { title: 'irradiance across the beam', unit: 'W/m²', least: 0, most: 2000 };
export const DIFFUSE: Bounds = { title: 'diffuse irradiance', unit: 'W/m²', least: 0, most: 2000 };
export const TEMPERATURE: Bounds = { title: 'temperature', unit: '°C', least: -90, most: 70 };
export const WIND: Bounds = { title: 'wind speed', unit: 'm/s', least: 0, most: 120 };

/** What is wrong with a value; undefined where nothing is. Lines and columns count from 1. */
export function wrong(
  value: number,
  { title, unit, least, most }: Bounds,
  line: number,
  column: number,
): Unreadable | undefined {
  const isFit = value >= least && value < most;
  return isFit
    ? undefined
    : {
        reason: `line ${line}, column ${column}: the ${title} must be a number from ${String(least).replace('-', '−')} to ${most} ${unit}`,
      };
}
