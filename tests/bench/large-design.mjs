/**
 * A design of about `lines` lines, invented: one bank and many loads, each on a fused run of its own, six lines a load.
 * @param {number} lines
 */
export function largeDesign(lines) {
  const loads = Math.max(1, Math.round((lines - 12) / 6));
  const blocks = Array.from({ length: loads }, (_, index) => {
    const power = 20 + ((index * 7) % 90);
    const length = (1 + ((index * 3) % 8)).toFixed(1);
    return `
  /** Circuit ${index + 1}. */
  fuse Fuse${index} { class: T   rating: 15 A }
  load Load${index} { power: ${power} W   voltage: 44..58 V }
  run Feed${index}: DcBus -> Fuse${index} @ 100 mm -> Load${index}
    { size: 12 AWG   type: FineStranded90   length: ${length} m }`;
  });
  return `/** Many small circuits on one bank. */
design Large "Many circuits" {
  basis: nec
  site { altitude: 300 m   ambient: 5..30 degC }

  battery Bank { voltage: 51.2 V   capacity: 560 Ah   chemistry: lfp }
  fuse MainFuse { class: T   rating: 200 A }
  bus DcBus { rating: 400 A }
  run BankFeed: Bank -> MainFuse @ 150 mm -> DcBus { size: 4/0 AWG   type: FineStranded90   length: 1.2 m }
${blocks.join('\n')}
}
`;
}
