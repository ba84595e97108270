import type { TableCell } from '../../derivation/index.js';

/** Where a table was read, as notes and reasons say it: `10 AWG copper, 60 degC column`. */
export const cellText = ({ size, metal, celsius, installed }: TableCell): string =>
  installed
    ? `${size} ${metal}, method ${installed.method}, ${installed.loaded} loaded, ${celsius} degC`
    : `${size} ${metal}, ${celsius} degC column`;
