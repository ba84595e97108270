import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';

const ROOT = path.resolve(import.meta.dirname, '../..');

export interface DesignText {
  readonly name: string;
  readonly text: string;
  /** The other design files of its folder, which it may use. */
  readonly beside: Readonly<Record<string, string>>;
}

function folderTexts(folder: string): DesignText[] {
  const names = readdirSync(folder).filter((name) => name.endsWith('.watt'));
  const texts = Object.fromEntries(names.map((name) => [name, readFileSync(path.join(folder, name), 'utf8')]));
  return names.map((name) => {
    const { [name]: text, ...beside } = texts;
    return { name: path.relative(ROOT, path.join(folder, name)), text: text!, beside };
  });
}

/** Every design file of the project: the examples, the published systems, the standard library. */
export function designTexts(): DesignText[] {
  const examples = path.join(ROOT, 'examples');
  const folders = readdirSync(examples, { withFileTypes: true }).filter((entry) => entry.isDirectory());
  const alone = (text: DesignText): DesignText => ({ ...text, beside: {} });
  return [
    ...folders.flatMap((entry) => folderTexts(path.join(examples, entry.name))),
    ...folderTexts(path.join(ROOT, 'tests/systems')).map(alone),
    ...folderTexts(path.join(ROOT, 'language/library')).map(alone),
  ];
}

/** The texts as the files of one folder, the one asked about first. */
export const withBeside = ({ name, beside }: DesignText, text: string): Record<string, string> => ({
  [path.basename(name)]: text,
  ...beside,
});
