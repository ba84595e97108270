// The bank of the bare loops that years are held against.
const [SOC, VOLTS] = [
  Float64Array.of(0, 0.1, 0.2, 0.4, 0.6, 0.8, 0.9, 0.95, 1),
  Float64Array.of(45, 51.2, 51.8, 52.4, 52.8, 53.2, 53.4, 53.6, 55),
];

/** V at rest. @param {number} soc */
export function restAt(soc) {
  let at = 0;
  while (at < 7 && soc > SOC[at + 1]) at++;
  return VOLTS[at] + ((VOLTS[at + 1] - VOLTS[at]) * (soc - SOC[at])) / (SOC[at + 1] - SOC[at]);
}
