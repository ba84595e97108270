import { type Finding, messageWithVariant } from '@wattwright/language';

/** What is said of a finding where there is room for one paragraph. */
export const wholeText = (finding: Finding): string => messageWithVariant(finding);

/** The sentence that stands where there is room for one line. */
export const headline = (finding: Finding): string =>
  /^.*?[.:;](?=\s)/s.exec(wholeText(finding))?.[0].replace(/[:;]$/, '.') ?? wholeText(finding);
