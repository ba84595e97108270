/** A piece of text with places to fill in. */
export interface Snippet {
  readonly label: string;
  readonly detail: string;
  readonly text: string;
}

export const DECLARATION_SNIPPETS: readonly Snippet[] = [
  {
    label: 'design',
    detail: 'one power system',
    text: 'design ${1:Name} "${2:title}" {\n  basis: ${3|nec,iec,craft|}\n  $0\n}',
  },
  { label: 'part', detail: 'a data sheet', text: 'part ${1:kind} ${2:Name} {\n  $0\n}' },
  {
    label: 'variant',
    detail: 'a design with some values or things changed',
    text: 'variant ${1:Name} of ${2:Design} {\n  $0\n}',
  },
];

export const MEMBER_SNIPPETS: readonly Snippet[] = [
  {
    label: 'site',
    detail: 'where the system stands',
    text: 'site { altitude: ${1:0 m}   ambient: ${2:-10..40} degC }',
  },
  {
    label: 'run',
    detail: 'conductors of one path',
    text: 'run ${1:Name}: ${2:From} -> ${3:To} { size: ${4:?}   type: ${5:THWN-2}   length: ${6:1 m} }',
  },
  {
    label: 'link',
    detail: 'a communication line',
    text: 'link ${1:Name}: ${2:From} -> ${3:To} { medium: ${4|rs485,can,contact,ethernet,wireless|} }',
  },
  {
    label: 'control',
    detail: 'rules that start and stop something',
    text: 'control ${1:Name} of ${2:Genset} {\n  start when soc(${3:Bank}) < ${4:40 %} for ${5:1 min}\n  stop when soc(${3:Bank}) > ${6:85 %}\n  $0\n}',
  },
  {
    label: 'scenario',
    detail: 'a time span to be simulated',
    text: 'scenario ${1:Name} "${2:title}" {\n  from: ${3:2027-01-10}   duration: ${4:5 d}\n  require ${5:unserved == 0 kWh}\n}',
  },
  { label: 'require', detail: 'a test of the design', text: 'require ${1:condition} because "${2:reason}"' },
  {
    label: 'accept',
    detail: 'silences one check on one thing',
    text: 'accept ${1:check} on ${2:Thing} because "${3:reason}"',
  },
  {
    label: 'reading',
    detail: 'what was measured on site',
    text: 'reading ${1:Thing.quantity} = ${2:value} on ${3:2027-01-10}',
  },
  { label: 'let', detail: 'a named value', text: 'let ${1:name} = ${2:value}' },
  {
    label: 'profile',
    detail: 'shares of a load through the day',
    text: 'profile ${1:Name} { ${2:07:00..08:00}: ${3:100 %} }',
  },
];

export const RULE_SNIPPETS: readonly Snippet[] = [
  { label: 'start', detail: 'a rule', text: 'start when ${1:soc(Bank) < 40 %} for ${2:1 min}' },
  { label: 'stop', detail: 'a rule', text: 'stop when ${1:soc(Bank) > 85 %}' },
  { label: 'on', detail: 'a rule', text: 'on when ${1:soc(Bank) > 45 %}' },
  { label: 'off', detail: 'a rule', text: 'off when ${1:soc(Bank) < 25 %}' },
  { label: 'without', detail: 'what holds while a link is lost', text: 'without ${1:Link} {\n  $0\n}' },
];
