import { type Finding, messageWithVariant } from '@wattwright/language';

/** What is said of a finding where there is room for one paragraph. */
export const wholeText = (finding: Finding): string => messageWithVariant(finding);
