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

/**
 * Buses in rows and columns, each joined to its neighbours, with a load at every fourth row, invented.
 * @param {number} side
 */
export function grid(side) {
  const at = (/** @type {number} */ row, /** @type {number} */ column) => `Bus${row}x${column}`;
  const cable = '{ size: 50 mm2   type: H07V-K   length: 1 m }';
  const places = Array.from({ length: side * side }, (_, index) => [Math.floor(index / side), index % side]);
  const members = places.flatMap(([row, column]) => [
    `bus ${at(row, column)} { rating: 400 A }`,
    ...(row + 1 < side ? [`run Down${row}x${column}: ${at(row, column)} -> ${at(row + 1, column)} ${cable}`] : []),
    ...(column + 1 < side ? [`run Over${row}x${column}: ${at(row, column)} -> ${at(row, column + 1)} ${cable}`] : []),
    ...(column === 0 && row % 4 === 0
      ? [
          `load Load${row} { power: 100 W   supply: dc   voltage: 48 V }`,
          `run Feed${row}: ${at(row, side - 1)} -> Load${row} { size: 16 mm2   type: H07V-K   length: 2 m }`,
        ]
      : []),
  ]);
  return `design Grid {
  basis: iec
  site { altitude: 0 m   ambient: 20 degC }
  battery Bank { voltage: 51.2 V   capacity: 560 Ah   chemistry: lfp }
  fuse MainFuse { class: T   rating: 200 A }
  run BankFeed: Bank -> MainFuse @ 100 mm -> ${at(0, 0)} ${cable}
  ${members.join('\n  ')}
}
`;
}

/** Designs of about so many lines, by their shape. */
export const GROWN = { 'one star': largeDesign, 'one chain': chain, 'many systems': systems };
