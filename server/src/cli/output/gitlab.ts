import { type Severity, messageWithVariant } from '@wattwright/language';
import type { CheckReport } from '../report.js';
import { fingerprints, shownFrom } from './identity.js';
import { safeText } from './safe-text.js';

const SEVERITY: Readonly<Record<Severity, string>> = { error: 'critical', warning: 'major', info: 'info' };

/** `check --format gitlab`: a code quality report. Accepted findings are left out: there is no way to say of one that it is accepted. */
export function reportGitlab(report: CheckReport, root: string): readonly object[] {
  const prints = fingerprints(report.findings, report.requirements, root);
  return report.findings.map((finding) => ({
    description: safeText(`${finding.subject ? `${finding.subject}: ` : ''}${messageWithVariant(finding)}`),
    check_name: finding.check,
    fingerprint: prints.get(finding)!,
    severity: SEVERITY[finding.severity],
    location: { path: shownFrom(root, finding.place.uri), lines: { begin: finding.place.line + 1 } },
  }));
}
