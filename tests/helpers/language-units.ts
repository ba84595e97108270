/** A number in a unit as the language writes it with letters of every keyboard, where people write `°C`, `mΩ`, `mm²`. */
export const LANGUAGE_UNIT = /\d (?:deg[CF]|[umkM]?ohm|[cm]?m[23]|W\/m2|[kM]?A2s|Nm)\b/;
