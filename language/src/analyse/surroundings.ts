import { type LangiumDocument, type URI, UriUtils } from 'langium';
import type * as ast from '../grammar/generated/ast.js';
import type { LoweringServices } from '../model/lower/lower.js';
import type { UnreadText } from '../simulate/index.js';
import { DESIGN_FUNCTIONS } from '../quantities/design-functions.js';
import type { AskForRuns, ScenarioCache } from './scenarios.js';
import type { LanguageServices } from '../syntax/module.js';
import { quantityNames } from './design-values.js';
import { LIBRARY_SCHEME, VisibleDocuments } from '../syntax/scope.js';
import type { ProjectRules } from './project-rules.js';

/** Which files a file may draw in, where that is more than the folder `workspace`. */
export interface Reach {
  readonly mayUse: (from: URI, to: URI) => boolean;
  /** What allows a file that may not be drawn in, as the finding puts it: `name its folder as well`; undefined where nothing does. */
  readonly howToAllow: (to: URI) => string | undefined;
}

export interface AnalyseOptions {
  /** Today as `YYYY-MM-DD`; decides about waivers and requirements with a date. */
  readonly today: string;
  /** The folder that `use` must not leave; the file's own folder when not given. */
  readonly workspace?: URI;
  /** Decides instead of `workspace`. */
  readonly reach?: Reach;
  /** Why a file that may be drawn in could not be read, in words that follow on its name; undefined where it is not there. */
  readonly whyUnread?: (uri: URI) => string | undefined;
  /** Whether scenarios are played: `play` (unless said), or `leave` where their requirements are not asked about. */
  readonly scenarios?: 'play' | 'leave';
  /** The designs and variants that are judged; all of the file unless said. */
  readonly designs?: (name: string) => boolean;
  /** The checks that are asked, by id; all of them unless said. Of the others the analysis says nothing, so that it is no judgement of a design. */
  readonly checks?: (id: string) => boolean;
  /** What the project of the file says of all its designs. */
  readonly project?: ProjectRules;
  /** Results of scenarios played before. */
  readonly cache?: ScenarioCache;
  /** Others that play runs of scenarios beside this thread. */
  readonly runsBeside?: AskForRuns;
  /** Text of a weather file by the path that a scenario gives, which is relative to the design's file. */
  readonly weatherText?: (path: string) => string | UnreadText | undefined;
}

/** What reading a file needs of the language services. */
export function loweringServices(
  document: LangiumDocument,
  services: LanguageServices,
  options: AnalyseOptions,
): LoweringServices {
  const { LangiumDocuments } = services.shared.workspace;
  const comments = services.wattwright.documentation.CommentProvider;
  const visible = new VisibleDocuments(services.shared);
  const folder = options.workspace ?? UriUtils.dirname(document.uri);
  const { reach } = options;
  return {
    visible,
    mayUse: (from, to) => (reach ? reach.mayUse(from, to) : isInside(folder, to)),
    howToAllow: (to) => reach?.howToAllow(to),
    whyUnread: (uri) => options.whyUnread?.(uri),
    // A file that could not be read counts as empty where others are worked on, so an empty one is asked about.
    isLoaded: (uri) => {
      const loaded = LangiumDocuments.getDocument(uri);
      return loaded !== undefined && (loaded.textDocument.getText() !== '' || !options.whyUnread?.(uri));
    },
    ...(options.project?.basis ? { basis: options.project.basis } : {}),
    comment: (node) => docText(comments.getComment(node)),
    quantityNames,
    designFunctions: [...DESIGN_FUNCTIONS.keys()],
    isUsed: (uri) =>
      LangiumDocuments.all.some((other) => {
        if (other.uri.scheme === LIBRARY_SCHEME || UriUtils.equals(other.uri, uri)) return false;
        const { uses } = other.parseResult.value as ast.File;
        return (uses ?? []).some(
          (use) => typeof use.path === 'string' && UriUtils.equals(visible.target(other.uri, use.path), uri),
        );
      }),
  };
}

/** Whether a file lies in a folder or below it. */
export function isInside(folder: URI, file: URI): boolean {
  const prefix = folder.path.endsWith('/') ? folder.path : `${folder.path}/`;
  return (
    folder.scheme === file.scheme &&
    folder.authority === file.authority &&
    UriUtils.normalize(file).startsWith(UriUtils.normalize(folder.with({ path: prefix })))
  );
}

/** The text of a doc comment without its marks. */
export function docText(comment: string | undefined): string | undefined {
  if (!comment?.startsWith('/**')) return undefined;
  const lines = comment
    .slice(3, -2)
    .split('\n')
    .map((line) => line.replace(/^\s*\*? ?/, '').trimEnd());
  return lines.join('\n').trim() || undefined;
}
