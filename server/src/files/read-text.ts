import { isUtf8 } from 'node:buffer';
import { closeSync, constants, fstatSync, openSync, readSync, type Stats, statSync } from 'node:fs';

/** Larger files are not read: a year of weather by the minute takes some 20 MB, a design of 50,000 lines some 3 MB. */
export const LARGEST_FILE = 64_000_000;
const LARGEST = `${LARGEST_FILE / 1e6} MB`;

/** A file that is not read, with the reason in words that follow on its name: `is a named pipe; …`. */
export class Unreadable extends Error {}

/** What something that is no regular file is called; undefined for one that is. */
export function irregular(stats: Stats): string | undefined {
  if (stats.isFile()) return undefined;
  if (stats.isDirectory()) return 'a folder';
  if (stats.isFIFO()) return 'a named pipe';
  if (stats.isSocket()) return 'a socket';
  return stats.isCharacterDevice() || stats.isBlockDevice() ? 'a device' : 'no regular file';
}

function requireRegular(stats: Stats): void {
  const what = irregular(stats);
  if (what) throw new Unreadable(`is ${what}; only regular files are read`);
  if (stats.size > LARGEST_FILE)
    throw new Unreadable(`holds ${Math.round(stats.size / 1e6)} MB; files of up to ${LARGEST} are read`);
}

/** Everything a descriptor gives, up to the largest size: what grows without end, such as a device, is given up. */
export function readBytes(descriptor: number): Buffer {
  const pieces: Buffer[] = [];
  for (let total = 0; ;) {
    const piece = Buffer.allocUnsafe(65_536);
    const count = readSync(descriptor, piece);
    if (count === 0) return Buffer.concat(pieces);
    total += count;
    if (total > LARGEST_FILE) throw new Unreadable(`holds more than ${LARGEST}, the most that is read`);
    pieces.push(piece.subarray(0, count));
  }
}

/**
 * The text of a regular file, its byte-order mark and line ends as they are. Throws `Unreadable` for what is no regular file, too large
 * or not UTF-8, and the system's own error for what cannot be opened. Never waits: a pipe without a writer is not opened.
 */
export function readText(file: string): string {
  // Opening a device may already act on it, so it is looked at before; and again when it is open, since another may have taken its place.
  requireRegular(statSync(file));
  const descriptor = openSync(file, constants.O_RDONLY | (constants.O_NONBLOCK ?? 0) | (constants.O_NOCTTY ?? 0));
  try {
    requireRegular(fstatSync(descriptor));
    return decoded(readBytes(descriptor));
  } finally {
    closeSync(descriptor);
  }
}

/** UTF-8 as text. Throws `Unreadable` where it is none: replaced by a mark, the bytes would be lost when the text is written back. */
export function decoded(bytes: Buffer): string {
  if (isUtf8(bytes)) return bytes.toString('utf8');
  const wide =
    bytes.length > 1 && ((bytes[0] === 0xff && bytes[1] === 0xfe) || (bytes[0] === 0xfe && bytes[1] === 0xff));
  if (wide) throw new Unreadable('is UTF-16 text, as its first two bytes say; save it as UTF-8');
  const offset = firstBadByte(bytes);
  const byte = bytes[offset]!.toString(16).toUpperCase().padStart(2, '0');
  const line = bytes.subarray(0, offset).reduce((count, each) => count + (each === 0x0a ? 1 : 0), 1);
  throw new Unreadable(`is not UTF-8 text: byte 0x${byte} at offset ${offset}, in line ${line}; save it as UTF-8`);
}

/** Where the first sequence begins that is no UTF-8. Source: RFC 3629, section 4. */
export function firstBadByte(bytes: Uint8Array): number {
  const isTail = (at: number, from = 0x80, to = 0xbf): boolean =>
    bytes[at] !== undefined && bytes[at] >= from && bytes[at] <= to;
  const lengthAt = (at: number): number => {
    const lead = bytes[at]!;
    if (lead < 0x80) return 1;
    if (lead >= 0xc2 && lead <= 0xdf) return isTail(at + 1) ? 2 : 0;
    if (lead >= 0xe0 && lead <= 0xef) {
      const second = lead === 0xe0 ? isTail(at + 1, 0xa0) : lead === 0xed ? isTail(at + 1, 0x80, 0x9f) : isTail(at + 1);
      return second && isTail(at + 2) ? 3 : 0;
    }
    if (lead >= 0xf0 && lead <= 0xf4) {
      const second = lead === 0xf0 ? isTail(at + 1, 0x90) : lead === 0xf4 ? isTail(at + 1, 0x80, 0x8f) : isTail(at + 1);
      return second && isTail(at + 2) && isTail(at + 3) ? 4 : 0;
    }
    return 0;
  };
  let at = 0;
  while (at < bytes.length) {
    const length = lengthAt(at);
    if (length === 0) return at;
    at += length;
  }
  return bytes.length;
}
