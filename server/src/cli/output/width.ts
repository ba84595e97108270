import fastStringWidth from 'fast-string-width';

/**
 * How many columns of a terminal a text takes: two for wide characters, none for marks that stand on others and for characters that act on
 * the terminal (Unicode Standard Annex #11). Tabs are made spaces before they get here.
 */
export const textWidth = (text: string): number => fastStringWidth(text, { tabWidth: 0 });
