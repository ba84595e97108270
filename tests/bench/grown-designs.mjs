import { largeDesign } from './large-design.mjs';

const HEAD = `  basis: nec
  site { altitude: 300 m   ambient: 5..30 degC }

  battery Bank { voltage: 51.2 V   capacity: 560 Ah   chemistry: lfp   resistance: 10 mohm }
  fuse MainFuse { class: T   rating: 200 A }`;

/**
 * Buses one behind the other, with a load at each, invented.
 * @param {number} lines
 */
function chain(lines) {
  const links = Math.max(1, Math.round((lines - 10) / 6));
  const blocks = Array.from({ length: links }, (_, index) => {
    const from = index === 0 ? 'DcBus' : `Bus${index - 1}`;
    return `
  bus Bus${index} { rating: 400 A }
  run Link${index}: ${from} -> Bus${index} { size: 4/0 AWG   type: FineStranded90   length: 0.2 m }
  fuse Fuse${index} { class: T   rating: 15 A }
  load Load${index} { power: 0.5 W   voltage: 44..58 V }
  run Feed${index}: Bus${index} -> Fuse${index} @ 100 mm -> Load${index} { size: 12 AWG   type: FineStranded90   length: 2 m }`;
  });
  return `design Chain {
${HEAD}
  bus DcBus { rating: 400 A }
  run BankFeed: Bank -> MainFuse @ 150 mm -> DcBus { size: 4/0 AWG   type: FineStranded90   length: 1.2 m }
${blocks.join('\n')}
}
`;
}

/**
 * Many systems of some 30 lines each in one file, invented.
 * @param {number} lines
 */
function systems(lines) {
  const count = Math.max(1, Math.round(lines / 32));
  return Array.from({ length: count }, (_, index) =>
    largeDesign(30).replace('design Large "Many circuits"', `design Site${index}`),
  ).join('\n');
}

/** Designs of about so many lines, by their shape. */
export const GROWN = { 'one star': largeDesign, 'one chain': chain, 'many systems': systems };
