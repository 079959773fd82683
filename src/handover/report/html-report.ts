import type { TextRun } from '../paper/mark.ts';
import { sheetSvg } from '../paper/svg.ts';
import { escapeXml } from '../xml-text.ts';
import type { Block, Report, TableBlock } from './block.ts';
import { loadFonts, type ReportFonts } from './fonts.ts';

/** The report as one page: drawings, tables and typefaces inside, nothing fetched. */
export async function writeHtmlReport(report: Report): Promise<string> {
  const style = fontFaces(await loadFonts()) + STYLE;
  const lines = [
    '<!doctype html>',
    '<html lang="en">',
    '<head>',
    '<meta charset="utf-8">',
    '<meta name="viewport" content="width=device-width, initial-scale=1">',
    `<title>${escapeXml(`${report.title}: ${report.subtitle}`)}</title>`,
    '<link rel="icon" href="data:,">',
    `<style>${style}</style>`,
    '</head>',
    '<body>',
    '<header>',
    `<p class="sub">${escapeXml(report.subtitle)}</p>`,
    `<p class="title">${escapeXml(report.title)}</p>`,
    `<p>${report.date === null ? 'No decision dated yet' : `Last decision ${report.date.toISOString().slice(0, 10)}`}</p>`,
    '</header>',
    '<main>',
    ...report.blocks.map(blockHtml),
    '</main>',
    `<footer>${escapeXml(report.foot)}</footer>`,
    '</body>',
    '</html>',
  ];
  return `${lines.join('\n')}\n`;
}

function blockHtml(block: Block): string {
  switch (block.kind) {
    case 'heading':
      return `<h${block.level}>${escapeXml(block.text)}</h${block.level}>`;
    case 'paragraph':
      return `<p>${block.lead === undefined ? '' : `<b>${escapeXml(block.lead)}</b> `}${escapeXml(block.text)}</p>`;
    case 'list':
      return `<ul>${block.items.map((item) => `<li>${escapeXml(item)}</li>`).join('')}</ul>`;
    case 'caution':
      return `<ul class="caution">${block.items.map((item) => `<li>${escapeXml(item).replace(/^[^:]+:/, '<b>$&</b>')}</li>`).join('')}</ul>`;
    case 'table':
      return tableHtml(block);
    case 'sheet':
      return `<figure>${sheetSvg(block.sheet)}<figcaption>${escapeXml(block.sheet.title)}, 1 : ${block.sheet.scale} on ${block.sheet.paper}</figcaption></figure>`;
    case 'picture':
      return `<figure class="picture"><img src="${escapeXml(block.address)}" width="${block.widthPx}" height="${block.heightPx}" alt="${escapeXml(block.alt)}"><figcaption><b>${escapeXml(block.lead)}</b> ${escapeXml(block.caption)}</figcaption></figure>`;
    case 'signatures':
      return `<table class="sign"><caption>Signatures</caption><thead><tr><th scope="col">for</th><th scope="col">name</th><th scope="col">date</th><th scope="col">signature</th></tr></thead><tbody>${block.roles.map((role) => `<tr><th scope="row">${escapeXml(role)}</th><td></td><td></td><td></td></tr>`).join('')}</tbody></table>`;
  }
}

function tableHtml({ title, columns, rows, leastLines }: TableBlock): string {
  const heads = columns.map((one) => `<th scope="col" class="${one.side}" style="width:${Math.round(one.share * 100)}%">${escapeXml(one.head)}</th>`).join('');
  const body = rows.map((row) => {
    const cells = row.map((cell, i) => {
      const content = cell.map(runHtml).join('');
      return i === 0 ? `<th scope="row" class="${columns[i]!.side}">${content}</th>` : `<td class="${columns[i]!.side}">${content}</td>`;
    });
    return `<tr${leastLines === undefined ? '' : ` style="height:${1.4 * leastLines}em"`}>${cells.join('')}</tr>`;
  });
  return `<div class="wide"><table><caption>${escapeXml(title)}</caption><thead><tr>${heads}</tr></thead><tbody>${body.join('\n')}</tbody></table></div>`;
}

function runHtml({ text, face }: TextRun): string {
  const content = escapeXml(text);
  if (face === 'figures-firm') return `<b>${content}</b>`;
  if (face === 'figures-soft') return `<span class="soft">${content}</span>`;
  return content;
}

/** The extended letters are listed second, so that a browser asks them only for what the first lack. */
function fontFaces({ addresses }: ReportFonts): string {
  const faces: readonly (readonly [string, number, readonly string[]])[] = [
    ['Atkinson Hyperlegible Next', 300, addresses['figures-soft']],
    ['Atkinson Hyperlegible Next', 400, addresses.figures],
    ['Atkinson Hyperlegible Next', 700, addresses['figures-firm']],
    ['National Park', 500, addresses.lettering],
    ['National Park', 700, addresses['lettering-firm']],
  ];
  const rule = (family: string, weight: number, address: string, range: string): string =>
    `@font-face{font-family:"${family}";font-weight:${weight};src:url(${address}) format("woff");unicode-range:${range}}`;
  return faces.map(([family, weight, [latin, extended]]) => rule(family, weight, latin!, LATIN) + rule(family, weight, extended!, LATIN_EXTENDED)).join('\n');
}

const LATIN = 'U+0000-00FF,U+0131,U+0152-0153,U+02BB-02BC,U+02C6,U+02DA,U+02DC,U+2000-206F,U+20AC,U+2122,U+2212';
const LATIN_EXTENDED = 'U+0100-0130,U+0132-0151,U+0154-02BA,U+1D00-1DBF,U+1E00-1E9F,U+1EF2-1EFF';

const STYLE = `
:root{color-scheme:light}
*{box-sizing:border-box}
body{margin:0 auto;max-width:62rem;padding:1.5rem;background:#fff;color:#13201d;font:400 1rem/1.45 "Atkinson Hyperlegible Next",sans-serif;font-variant-numeric:tabular-nums lining-nums}
header{border-bottom:2px solid #13201d;margin-bottom:1rem}
.title{font:700 2rem/1.15 "National Park",sans-serif;margin:0}
.sub{font:500 1rem/1.2 "National Park",sans-serif;margin:0 0 .3rem;color:#3f4d48}
h1,h2,h3,caption{font-family:"National Park",sans-serif;font-weight:700;text-align:left}
h1{font-size:1.5rem;border-top:1px solid #13201d;padding-top:.6rem;margin:2rem 0 .5rem}
h2,caption{font-size:1.1rem;padding:.8rem 0 .3rem}
table{border-collapse:collapse;width:100%;font-size:.92rem}
th,td{border-bottom:1px solid #b3beb7;padding:.2rem .5rem;text-align:left;vertical-align:top;font-weight:400;overflow-wrap:anywhere}
thead th{border-bottom:1px solid #13201d;color:#3f4d48;font-size:.85rem}
.end{text-align:right}
.soft{font-weight:300}
.wide{overflow-x:auto}
.caution{border:1px solid #13201d;border-left-width:6px;padding:.6rem .6rem .6rem 2rem;margin:.6rem 0}
figure{margin:1.5rem 0}
figure svg{width:100%;height:auto;border:1px solid #b3beb7}
.picture{max-width:24rem}
.picture img{display:block;max-width:100%;max-height:24rem;width:auto;height:auto;border:1px solid #b3beb7}
.picture figcaption{font-size:.92rem;padding-top:.3rem;overflow-wrap:anywhere}
.sign td{height:3rem;width:25%}
footer{border-top:2px solid #13201d;margin-top:2rem;padding-top:.5rem;font-size:.85rem;color:#3f4d48}
@page{size:A4;margin:15mm}
@media print{figure{break-inside:avoid}tr{break-inside:avoid}}
`;
