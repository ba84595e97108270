/**
 * Power an inverter takes for what it gives, by hand: the quadratic loss of Schmidt and Sauer (1996) through the loss at full load, three
 * tenths of it straight and seven square in the load, on top of what it draws without load (1.2 % of its rating unless stated).
 */
export function inverterInput(
  output: number,
  { rated, efficiency, idle = 0.012 * rated }: { rated: number; efficiency: number; idle?: number },
): number {
  const atFull = Math.max(0, rated * (1 / efficiency - 1) - idle);
  const load = output / rated;
  return output + idle + atFull * (0.3 * load + 0.7 * load ** 2);
}
