import type { FileSystemProvider, URI } from 'langium';
import { NodeFileSystemProvider } from 'langium/node';
import { readText } from './read-text.js';

/** The files of this machine, of which only regular ones of a sensible size that hold UTF-8 are read. */
export class CarefulFileSystemProvider extends NodeFileSystemProvider {
  override async readFile(uri: URI): Promise<string> {
    return readText(uri.fsPath);
  }

  override readFileSync(uri: URI): string {
    return readText(uri.fsPath);
  }
}

export const CarefulFileSystem = {
  fileSystemProvider: (): FileSystemProvider => new CarefulFileSystemProvider(),
};
