import { type Part, LIBRARY_SCHEME } from '@wattwright/language';
import { URI } from 'langium';
import { existsSync } from 'node:fs';
import path from 'node:path';
import { CallError, EXIT } from '../call-error.js';
import { type SourceFile, filesIn, readText, sourceFiles } from '../files.js';
import { byText } from '../once.js';
import { jsonText } from '../output/json.js';
import { type PartFilter, partFilter } from '../output/parts-filter.js';
import { partsJson, partsText } from '../output/parts-list.js';
import { terminalOf } from '../output/terminal.js';
import { projectsOfCall } from '../projects.js';
import { Session } from '../session.js';
import { today } from '../today.js';

export interface PartsOptions {
  readonly format: 'pretty' | 'json';
  readonly in: string;
  /** Without the parts of the standard library. */
  readonly own?: boolean;
  readonly color?: boolean;
}

/** `wattwright parts`: exit code 1 where nothing fits. */
export async function parts(asked: readonly string[], options: PartsOptions): Promise<number> {
  const files = await filesInReach(options.in);
  const session = await Session.open(files);
  const evaluate = (expression: string) => {
    const { result, findings } = session.evaluate(expression, {});
    const fault = findings.find(({ severity }) => severity === 'error');
    if (result.kind !== 'known' || fault)
      throw new CallError(`${expression} is no value; write it as a design would, as in 100 Ah`);
    return result.derivation;
  };
  const filters = asked.map((each) => partFilter(each, evaluate));
  const all = partsIn(session, options.own ?? false);
  const fitting = all.filter((part) => filters.every((fits: PartFilter) => fits(part)));
  const folders = session.projects.partFolders(path.resolve(options.in, 'any'));
  process.stdout.write(
    options.format === 'json'
      ? jsonText(partsJson(fitting, folders))
      : partsText(fitting, all.length, folders, terminalOf(options.color)),
  );
  return fitting.length > 0 ? EXIT.clean : EXIT.findings;
}

/** The files of a folder or a file, and those of every folder of parts that its project names. */
async function filesInReach(where: string): Promise<SourceFile[]> {
  const folder = path.resolve(where);
  const projects = projectsOfCall();
  const named = projects.partFolders(path.join(folder, 'any')).flatMap(({ folder: each }): SourceFile[] =>
    existsSync(each)
      ? filesIn(each, projects).map((file) => ({
          path: file,
          text: readText(file),
          isStandardInput: false,
          within: each,
        }))
      : [],
  );
  // A folder without designs still reaches what its project names, and the library.
  const isEmpty = existsSync(folder) && !where.endsWith('.watt') && filesIn(folder, projects).length === 0;
  const own = isEmpty ? [] : await sourceFiles([where]);
  const seen = new Map([...own, ...named].map((file) => [file.path, file]));
  // The library is seen from a file.
  if (seen.size === 0)
    seen.set(path.join(folder, 'none.watt'), {
      path: path.join(folder, 'none.watt'),
      text: '',
      isStandardInput: true,
      within: folder,
    });
  return [...seen.values()].sort((left, right) => byText(left.path, right.path));
}

function partsIn(session: Session, isOwn: boolean): readonly Part[] {
  const day = today();
  const read = session.documents.map((document) => session.partsOf(document, day));
  const own = read.flatMap((each) => each.own);
  const used = read.flatMap(({ usable }) => usable.filter(({ library }) => !library));
  const library = isOwn ? [] : read[0]!.usable.filter((part) => part.library);
  const placeOf = ({ place }: Part): string => `${place.uri} ${place.offset}`;
  const once = new Map([...own, ...used, ...library].map((part) => [placeOf(part), part]));
  const isOfLibrary = ({ place }: Part): number => (URI.parse(place.uri).scheme === LIBRARY_SCHEME ? 1 : 0);
  return [...once.values()].sort(
    (left, right) =>
      isOfLibrary(left) - isOfLibrary(right) ||
      byText(left.kind, right.kind) ||
      byText(left.name, right.name) ||
      byText(placeOf(left), placeOf(right)),
  );
}
