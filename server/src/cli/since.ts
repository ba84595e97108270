import { ScenarioCache } from '@wattwright/language';
import type { LangiumDocument } from 'langium';
import { Repository } from '../git/repository.js';
import { filesOfMachine } from '../files/file-source.js';
import { CallError } from './call-error.js';
import type { SourceFile } from './files.js';
import { fingerprints } from './output/identity.js';
import { type CheckReport, gather } from './report.js';
import { contentsOf, openState } from './revisions.js';
import type { Session } from './session.js';

/** `2/8`: the second of eight parts. */
export interface Shard {
  readonly nth: number;
  readonly of: number;
}

export function shardOf(given: string): Shard {
  const [, nth, of] = /^(\d{1,4})\/(\d{1,4})$/.exec(given) ?? [];
  if (Number(nth) >= 1 && Number(nth) <= Number(of)) return { nth: Number(nth), of: Number(of) };
  throw new CallError(`--shard needs a part of all, as in 2/8; ${given} is none`);
}

/** Every file is in one part, whatever the number of parts; neighbours go to different ones, since they often cost alike. */
export const inShard = (files: readonly SourceFile[], { nth, of }: Shard): SourceFile[] =>
  files.filter((_, index) => index % of === nth - 1);

/** Documents that, with all they draw in, are not in a revision as they are now. */
export async function changedSince(revision: string, session: Session): Promise<ReadonlySet<LangiumDocument>> {
  const repository = Repository.at(process.cwd());
  const before = await openState(repository, repository.revision(revision), new ScenarioCache());
  const old = new Set(contentsOf(before).values());
  const now = contentsOf({ session, source: filesOfMachine([repository.top], session.projects), unread: [] });
  return new Set([...now].filter(([, content]) => !old.has(content)).map(([document]) => document));
}

/** A report of what is not found in a revision: a finding that was there before, on whatever line, is left out. */
export async function newSince(revision: string, report: CheckReport, day: string): Promise<CheckReport> {
  const repository = Repository.at(process.cwd());
  const before = await openState(repository, repository.revision(revision), new ScenarioCache());
  const analyses = before.session.documents.map((document) => before.session.analyse(document, day, 'play'));
  const old = gather(analyses, {}, { elsewhere: [], fixed: [] });
  const known = new Set(fingerprints(old.findings, old.requirements).values());
  const prints = fingerprints(report.findings, report.requirements);
  return { ...report, findings: report.findings.filter((finding) => !known.has(prints.get(finding)!)) };
}
