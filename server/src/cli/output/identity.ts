import { type Finding, type RequirementResult, isOfDesign } from '@wattwright/language';
import { URI } from 'langium';
import { createHash } from 'node:crypto';
import path from 'node:path';
import { isInside } from '../../files/inside.js';
import { repositoryOf } from '../../project/of-machine.js';
import { fileName } from '../session.js';

/** The folder that paths for other programs start at: the top of the repository, else the working folder; `--root` leads. */
export const rootOf = (asked?: string): string =>
  asked === undefined ? (repositoryOf(process.cwd()) ?? process.cwd()) : path.resolve(asked);

/** The path of a file from the root, with `/`; undefined for what lies outside of it or is no file. */
export function pathFrom(root: string, uri: string): string | undefined {
  const parsed = URI.parse(uri);
  if (parsed.scheme !== 'file' || !isInside(root, parsed.fsPath)) return undefined;
  return path.relative(root, parsed.fsPath).split(path.sep).join('/');
}

export const shownFrom = (root: string, uri: string): string => pathFrom(root, uri) ?? fileName(uri);

const SAME_PLACE = 'requirement-failed';

/** What a finding is, whatever line it stands in and whatever its numbers are; of a requirement its text belongs to it. */
function keyOf(finding: Finding, requirements: readonly RequirementResult[]): string {
  const requirement =
    finding.check === SAME_PLACE
      ? requirements.find(
          ({ place, design }) =>
            place.uri === finding.place.uri &&
            place.offset === finding.place.offset &&
            isOfDesign(finding.subject, design),
        )
      : undefined;
  return [finding.check, finding.subject, requirement?.text.replace(/\s+/g, ' ') ?? ''].join('\n');
}

/**
 * A fingerprint for each finding: the same when lines move, when numbers change and from every working folder. Findings that share
 * everything else are told apart by their order. Without a root the file does not count, so that a file may be renamed.
 */
export function fingerprints<F extends Finding>(
  findings: readonly F[],
  requirements: readonly RequirementResult[],
  root?: string,
): ReadonlyMap<F, string> {
  const seen = new Map<string, number>();
  return new Map(
    findings.map((finding) => {
      const key = [keyOf(finding, requirements), root === undefined ? '' : shownFrom(root, finding.place.uri)].join(
        '\n',
      );
      const nth = seen.get(key) ?? 0;
      seen.set(key, nth + 1);
      const hash = createHash('sha256').update(`${key}\n${nth}`).digest('hex').slice(0, 32);
      return [finding, hash] as const;
    }),
  );
}
