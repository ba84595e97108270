/** Paper that a set may be printed on; the diagram takes the larger sheet that goes with it. */
export type SetPaper = 'A4' | 'Letter';

/** Letter in North America, A4 elsewhere. */
export const paperOf = (practice: string): SetPaper => (practice === 'nec' ? 'Letter' : 'A4');

/** What may stand in a string of a style sheet. */
const inString = (text: string): string => text.replace(/[^\p{L}\p{N} .:+·,()’-]/gu, ' ');

/**
 * What stands before the first sheet, on its page. The diagram fills its page and says in its title block what it is of, as the margin does:
 * where it is the first, a front would take a page of its own.
 */
const frontOf = (first: string | undefined): string =>
  first === 'diagram' ? 'header,nav{display:none}' : `header,nav{page:sheet-${first ?? ''}}`;

/** A sheet on paper: each has pages of its own, so that a loose one still says what it is of. */
interface PrintedSheet {
  readonly name: string;
  readonly title: string;
  readonly isWide?: true;
  readonly isShort?: true;
}

/** Sheets that share pages: a short one begins below the one before it, where both are laid alike. */
function pagesOf(sheets: readonly PrintedSheet[]): readonly (readonly [PrintedSheet, ...PrintedSheet[]])[] {
  const pages: [PrintedSheet, ...PrintedSheet[]][] = [];
  for (const sheet of sheets) {
    const before = pages.at(-1);
    if (before && sheet.isShort && !sheet.isWide && !before[0].isWide) before.push(sheet);
    else pages.push([sheet]);
  }
  return pages;
}

export function styleOf(paper: SetPaper, stamp: string, hasErrors: boolean, sheets: readonly PrintedSheet[]): string {
  const head = hasErrors ? 'HAS ERRORS: not for construction' : '';
  const large = paper === 'A4' ? 'A3 landscape' : '17in 11in';
  const sizeOf = ({ name, isWide }: PrintedSheet): string =>
    name === 'diagram' ? large : isWide ? `${paper} landscape` : paper;
  const pages = pagesOf(sheets);
  const below = pages.flatMap(([, ...others]) => others.map(({ name }) => `#${name}`)).join(',');
  const margins = (size: string, title = ''): string =>
    `size:${size};margin:${size === large ? '10mm 9mm' : '16mm 12mm'};@top-left{content:"${inString(title)}";font:7.5pt sans-serif}@top-center{content:"${head}";font:bold 9pt sans-serif}` +
    `@bottom-left{content:"${inString(stamp)}";font:7.5pt sans-serif}@bottom-right{content:"Page " counter(page) " of " counter(pages);font:7.5pt sans-serif}`;
  return `
:root{color-scheme:light}
*{box-sizing:border-box}
body{margin:0 auto;padding:1rem;max-width:120rem;font:15px/1.45 Arial,Helvetica,'Liberation Sans','DejaVu Sans',sans-serif;color:#111;background:#fff}
h1{font-size:1.6rem;margin:.2em 0}h2{font-size:1.3rem;border-bottom:2px solid #111;margin:2em 0 .4em}h3{font-size:1.05rem;margin:1.4em 0 .4em}
.reader,.stamp{color:#444;font-size:.9em;margin:.2em 0 1em}
nav ol{columns:2;padding-left:1.4em}
.scroll{overflow-x:auto;position:relative}
table{border-collapse:collapse;width:100%;margin:.4em 0 1em}
caption{text-align:left;font-weight:bold;padding:.3em 0}
th,td{border:1px solid #777;padding:.25em .45em;text-align:left;vertical-align:top;overflow-wrap:break-word}
th{background:#eee}
.n{text-align:right}td.n,.v{white-space:nowrap}
.assumed{font-style:italic}
td.box{min-width:3.2em;background:#fff}
td.box span{color:#555;font-size:.8em;white-space:normal}
.caution{border:2px solid #7a4b00;padding:.3em .8em;margin:.8em 0}
.caution ul{margin:.3em 0;padding-left:1.2em}
.errors{border:3px solid #a8151b;color:#a8151b;font-weight:bold;padding:.4em .8em}
figure{margin:.6em 0}figure>.scroll>svg,figure>.scroll>img{max-width:100%;height:auto}
.sheet.wide figure>.scroll>svg{width:100%}
.worked{font-size:.85em;margin:.2em 0 .8em;padding:0;list-style:none}
.worked .step{font-weight:normal}.worked .note{color:#444}
.hidden{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
a{color:#0b4a8f}
@media (max-width:40rem){body{padding:.6rem;font-size:14px}nav ol{columns:1}table{width:max-content;min-width:100%}td{max-width:15rem}table:not(:has(th:nth-child(3))){width:100%}#diagram figure>.scroll>svg{width:auto;max-width:none}#wires figure>.scroll>svg{width:1100px;max-width:none}#plan figure>.scroll>:is(svg,img){width:720px;max-width:none}}
@media print{
body{padding:0;font-size:9.5pt;max-width:none}${frontOf(sheets[0]?.name)}nav{margin-bottom:1.5em}nav ol{margin:.3em 0}
.sheet{break-before:page}.sheet:first-of-type{break-before:auto}.sheet>h2{margin-top:0}${pages.flatMap((page) => page.map(({ name }) => `#${name}{page:sheet-${page[0].name}}`)).join('')}${below ? `${below}{break-before:auto;margin-top:2em}` : ''}#derivations{columns:2;font-size:8pt}#derivations h2{column-span:all}#derivations h3{margin:.6em 0 .1em}.sheet.wide table{font-size:8pt}
thead{display:table-header-group}tr,figure,.caution,.short{break-inside:avoid}h2,h3,caption,thead,p:not(.none):has(+.scroll),.caution:has(+.scroll),.reader{break-after:avoid}tbody tr:last-child,.none{break-before:avoid}tbody tr:first-child{break-before:avoid;break-after:avoid}
.unprinted{display:none}#summary .caution{break-after:auto}.scroll{overflow:visible}td.n,.v{white-space:normal}a{color:inherit;text-decoration:none}
#wires figure>.scroll>svg{width:auto;max-height:165mm}
#diagram figure{break-after:page;margin:0}#diagram figure:last-of-type{break-after:auto}#diagram figure>.scroll>svg{max-height:${paper === 'A4' ? 258 : 240}mm;display:block;margin:0 auto}#diagram figcaption{font-size:7.5pt}#diagram .reader,#diagram h2{margin:0;font-size:9pt;border:0;line-height:1.2}
}
@page{${margins(paper)}}
${pages.map((page) => `@page sheet-${page[0].name}{${margins(sizeOf(page[0]), page.map(({ title }) => title).join(' · '))}}`).join('\n')}
`.trim();
}
