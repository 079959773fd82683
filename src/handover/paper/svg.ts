import type { Vector2 } from '../../geometry/vector.ts';
import { escapeXml } from '../xml-text.ts';
import type { CircleMark, Face, Ink, Mark, PathMark, TextMark } from './mark.ts';

export interface Sheet {
  readonly title: string;
  /** Read aloud in place of the drawing. */
  readonly describes: string;
  readonly widthMm: number;
  readonly heightMm: number;
  readonly marks: readonly Mark[];
}

const FACE: Readonly<Record<Face, string>> = {
  figures: 'class="f"',
  'figures-firm': 'class="f" font-weight="700"',
  'figures-soft': 'class="f" font-weight="300"',
  lettering: 'class="l" font-weight="500"',
  'lettering-firm': 'class="l" font-weight="700"',
};

/** Families named for machines that have them; any plain face serves else. */
const STYLE =
  '.f{font-family:"Atkinson Hyperlegible Next","Atkinson Hyperlegible",sans-serif;font-variant-numeric:tabular-nums}' +
  '.l{font-family:"National Park",sans-serif}';

/** A sheet as SVG 1.1 in millimetres: one user unit is one millimetre, and the page has its true size. */
export function sheetSvg(sheet: Sheet): string {
  const { widthMm, heightMm, title, describes, marks } = sheet;
  const lines = [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${mm(widthMm)}mm" height="${mm(heightMm)}mm" viewBox="0 0 ${mm(widthMm)} ${mm(heightMm)}" role="img">`,
    `<title>${escapeXml(title)}</title>`,
    `<desc>${escapeXml(describes)}</desc>`,
    `<style>${STYLE}</style>`,
    ...marks.map(markSvg),
    '</svg>',
  ];
  return `${lines.join('\n')}\n`;
}

function markSvg(mark: Mark): string {
  if (mark.kind === 'path') return pathSvg(mark);
  if (mark.kind === 'circle') return circleSvg(mark);
  return textSvg(mark);
}

function pathSvg(mark: PathMark): string {
  const d = mark.parts.map(({ points, closed }) => `M${points.map(pair).join('L')}${closed ? 'Z' : ''}`).join('');
  const of = mark.of === undefined ? '' : ` data-of="${escapeXml(mark.of)}"`;
  const rule = mark.parts.length > 1 && mark.fill !== undefined ? ' fill-rule="evenodd"' : '';
  return `<path d="${d}"${inkSvg(mark)}${rule}${of}/>`;
}

function circleSvg(mark: CircleMark): string {
  return `<circle cx="${mm(mark.centre[0])}" cy="${mm(mark.centre[1])}" r="${mm(mark.radius)}"${inkSvg(mark)}/>`;
}

function inkSvg({ stroke, width = 0.25, dash, roundEnds, fill, opacity }: Ink): string {
  let out = ` fill="${fill ?? 'none'}"`;
  if (stroke !== undefined) {
    out += ` stroke="${stroke}" stroke-width="${mm(width)}"`;
    if (dash !== undefined) out += ` stroke-dasharray="${dash.map(mm).join(' ')}"`;
    if (roundEnds) out += ' stroke-linecap="round"';
  }
  if (opacity !== undefined) out += ` opacity="${mm(opacity)}"`;
  return out;
}

function textSvg(mark: TextMark): string {
  const [x, y] = mark.at;
  const turn = mark.turnDeg === 0 ? '' : ` transform="rotate(${mm(mark.turnDeg)} ${mm(x)} ${mm(y)})"`;
  const halo = mark.halo ? ' stroke="#fff" stroke-width="0.9" stroke-linejoin="round" paint-order="stroke"' : '';
  const anchor = mark.anchor === 'start' ? '' : ` text-anchor="${mark.anchor}"`;
  const head = `<text x="${mm(x)}" y="${mm(y)}" font-size="${mm(mark.size)}" fill="${mark.ink}"${anchor}${halo}${turn} xml:space="preserve"`;
  if (mark.runs.length === 1) return `${head} ${FACE[mark.runs[0]!.face]}>${escapeXml(mark.runs[0]!.text)}</text>`;
  return `${head}>${mark.runs.map((run) => `<tspan ${FACE[run.face]}>${escapeXml(run.text)}</tspan>`).join('')}</text>`;
}

/** Ten thousandths of a millimetre: 1 : 1000 keeps a tenth of a millimetre in the world. */
const mm = (value: number): string => String(Number(value.toFixed(4)));
const pair = ([x, y]: Vector2): string => `${mm(x)} ${mm(y)}`;
