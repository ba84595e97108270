import { LIBRARY_SCHEME, isInside } from '@wattwright/language';
import { type URI, UriUtils } from 'langium';

export const DESIGN_FILE = '.watt';

export const isLibrary = (uri: URI): boolean => uri.scheme === LIBRARY_SCHEME;

/**
 * The folder that `use` of a file never leaves: the innermost workspace folder around the file, or the file's own folder when it was
 * opened alone.
 */
export function boundaryOf(file: URI, workspaceFolders: readonly URI[]): URI {
  const around = workspaceFolders.filter((folder) => isInside(folder, file));
  return around.sort((left, right) => right.path.length - left.path.length)[0] ?? UriUtils.dirname(file);
}

/** Whether `use` in a file with this boundary may read `uri`. */
export const mayUse = (boundary: URI, uri: URI): boolean => isDesignFile(uri) && isInside(boundary, uri);

export const isDesignFile = (uri: URI): boolean => uri.path.endsWith(DESIGN_FILE);

/** Texts of this length (characters, some 500 lines) take so long to read and to judge that what is known early is shown early. */
export const LONG_TEXT = 20_000;
