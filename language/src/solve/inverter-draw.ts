/** What an inverter loses: W without load, a share of what it gives, and a part that grows with its square, 1/W. */
export interface InverterLoss {
  readonly idle: number;
  readonly linear: number;
  readonly quadratic: number;
}

/** W that an inverter draws from its bus, before its leads, for W that it gives. */
export const inverterDraw = ({ idle, linear, quadratic }: InverterLoss, output: number): number =>
  output + idle + output * (linear + quadratic * output);
