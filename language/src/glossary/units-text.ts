/** Units as people write them, where the language writes them in letters that every keyboard has. */
const WRITTEN: readonly (readonly [language: RegExp, people: string])[] = [
  [/(?<=\d )deg([CF])\b/g, '°$1'],
  [/(?<=\d )uohm\b/g, 'µΩ'],
  [/(?<=\d )(m|k|M)?ohm\b/g, '$1Ω'],
  [/(?<=\d )(m|cm|mm)2\b/g, '$1²'],
  [/(?<=\d )(m|cm|mm)3\b/g, '$1³'],
  [/(?<=\d )W\/m2\b/g, 'W/m²'],
  [/(?<=\d )(k|M)?A2s\b/g, '$1A²s'],
  [/(?<=\d )Nm\b/g, 'N·m'],
];

/** A text with its units as people write them. What stands in code marks is the language and stays as it is. */
export function inPeopleUnits(text: string): string {
  return text
    .split(/(`[^`]*`)/)
    .map((part) => (part.startsWith('`') ? part : WRITTEN.reduce((so, [from, to]) => so.replace(from, to), part)))
    .join('');
}
