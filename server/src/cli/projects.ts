import { projectsOfMachine } from '../project/of-machine.js';
import type { Project, ProjectProblem } from '../project/project.js';
import { Projects } from '../project/projects.js';
import { CallError } from './call-error.js';
import { safeText } from './output/safe-text.js';
import { shownPath } from './shown-path.js';

/** `site/wattwright.json:3:5: there is no key …`. */
export const problemText = (file: string, { text, range: { start } }: ProjectProblem): string =>
  `${shownPath(file)}:${start.line + 1}:${start.character + 1}: ${text}`;

const faultsOf = ({ problems }: Project): readonly ProjectProblem[] => problems.filter(({ deprecated }) => !deprecated);

/** A project file with a fault ends the call: what its author meant would be guessed. */
function refuseFaulty(project: Project): void {
  const [first, ...others] = faultsOf(project);
  if (!first) return;
  const more = others.length === 0 ? '' : ` (and ${others.length} more in this file)`;
  throw new CallError(`${problemText(project.file, first)}${more}`);
}

/** The projects of the files that a call is about. */
export const projectsOfCall = (): Projects =>
  new Projects(
    projectsOfMachine(() => [process.cwd()]),
    refuseFaulty,
  );

/** What is wrong with a project file that is read whatever is wrong with it; undefined where nothing is. */
export function faultText(project: Project): string | undefined {
  const [first] = faultsOf(project);
  return first && `has a fault in line ${first.range.start.line + 1}: ${first.text}`;
}

/** Says of each project file that was read which of its words are out of date. */
export function tellDeprecated(projects: Projects): void {
  for (const { file, problems } of projects.known)
    for (const problem of problems)
      if (problem.deprecated) process.stderr.write(`wattwright: ${safeText(problemText(file, problem))}\n`);
}
