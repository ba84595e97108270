import type * as vscode from 'vscode';

export const LANGUAGE = 'wattwright';
export const DESIGN_FILES = '**/*.watt';
export const PROJECT_FILES = '**/wattwright.json';
/** Folders that hold what was made, not what is designed. */
export const LEFT_OUT = '**/{node_modules,out,dist}/**';

export const isDesign = (uri: vscode.Uri): boolean => uri.path.endsWith('.watt') && uri.scheme !== 'wattwright-library';

/** Quiet after the last change of a file before it is looked at again, in ms. */
const QUIET = 300;

/** Does something for each file once it has been left alone for a while. */
export function laterOnce(
  act: (uri: vscode.Uri) => void,
): vscode.Disposable & { readonly ask: (uri: vscode.Uri) => void } {
  const waiting = new Map<string, ReturnType<typeof setTimeout>>();
  return {
    ask: (uri) => {
      const key = uri.toString();
      clearTimeout(waiting.get(key));
      waiting.set(
        key,
        setTimeout(() => {
          waiting.delete(key);
          act(uri);
        }, QUIET),
      );
    },
    dispose: () => waiting.forEach((timer) => clearTimeout(timer)),
  };
}
