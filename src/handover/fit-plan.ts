import { signedPlanArea } from '../geometry/polygon.ts';
import type { Vector2 } from '../geometry/vector.ts';
import type { KeepClear, RoofRecord } from '../roof/record.ts';
import { escapeXml } from './xml-text.ts';

/** Longer side of the picture without its margins. [px] */
const SIZE = 2400;
const MARGIN = 60;
const FOOT = 110;

/** Solar access steps of the module tints, dark where much is lost: five classes of viridis, lightness in order. */
const ACCESS: readonly (readonly [number, string, string])[] = [
  [0.95, '#fde725', '95 % or more'], [0.9, '#7ad151', '90 to 95 %'], [0.8, '#22a884', '80 to 90 %'], [0.7, '#2a788e', '70 to 80 %'], [0, '#414487', 'below 70 %'],
];
const NO_ACCESS = '#c9d6df';
const ZONES: Readonly<Record<KeepClear['zones'][number]['reason'], string>> = {
  edge: 'edge', obstruction: 'round a thing', access: 'way of access', shade: 'too much shade', other: 'not used',
};

/**
 * Plan of all roofs of a record with keep-clear zones and modules, true north up, as SVG: modules are tinted by their solar
 * access, zones hatched by reason, obstructions crossed out. A picture to look at, not a drawing to scale.
 */
export function fitPlan(record: RoofRecord): string {
  const turn = (record.frame.gridToTrueDeg * Math.PI) / 180;
  const [s, c] = [Math.sin(turn), Math.cos(turn)];
  const north = ([x, y]: readonly number[]): Vector2 => [x! * c + y! * s, y! * c - x! * s];
  const corners = record.buildings.flatMap(({ roofPlanes }) => roofPlanes.flatMap(({ outline }) => outline.map(north)));
  if (corners.length === 0) return emptyPlan();
  const [x0, x1] = rangeOf(corners.map(([x]) => x));
  const [y0, y1] = rangeOf(corners.map(([, y]) => y));
  const scale = SIZE / Math.max(x1 - x0, y1 - y0, 1);
  const width = (x1 - x0) * scale + 2 * MARGIN;
  const height = (y1 - y0) * scale + 2 * MARGIN + FOOT;
  const dot = (at: readonly number[]): string => {
    const [x, y] = north(at);
    return `${(MARGIN + (x - x0) * scale).toFixed(1)} ${(MARGIN + (y1 - y) * scale).toFixed(1)}`;
  };
  const path = (...rings: readonly (readonly (readonly number[])[])[]): string => rings.map((ring) => `M${ring.map(dot).join('L')}Z`).join('');
  const parts = [
    ...record.buildings.flatMap(({ roofPlanes }) => roofPlanes.map(({ outline, holes }) => `<path class="roof" d="${path(outline, ...holes)}"/>`)),
    ...(record.keepClear?.zones ?? []).filter(({ polygon }) => signedPlanArea(polygon.map(([x, y]) => [x, y] as const)) > 0)
      .map(({ reason, polygon }) => `<path fill="url(#${reason})" d="${path(polygon)}"/>`),
    ...(record.layout?.modules ?? []).map(({ corners: ring, solarAccess }) => `<path class="module" fill="${tint(solarAccess)}" d="${path(ring)}"/>`),
    ...record.buildings.flatMap(({ obstructions }) => obstructions.map(({ footprint }) => `<path class="thing" d="${path(footprint)}"/>`)),
    ...labels(record, dot),
    ...furniture(scale, width, height),
  ];
  return sheet(width, height, parts);
}

const tint = (access: number | null): string => (access === null ? NO_ACCESS : ACCESS.find(([from]) => access >= from)![1]);

function rangeOf(values: readonly number[]): [number, number] {
  return values.reduce(([low, high], value) => [Math.min(low, value), Math.max(high, value)], [Infinity, -Infinity]);
}

/** Id and module count of each building that holds some, in the middle of its largest plane. */
function labels(record: RoofRecord, dot: (at: readonly number[]) => string): string[] {
  const counts = new Map(record.layout?.buildings?.map(({ id, count }) => [id, count]));
  return record.buildings.flatMap(({ id, roofPlanes }) => {
    const largest = roofPlanes.toSorted((a, b) => (b.planAreaM2.value ?? 0) - (a.planAreaM2.value ?? 0))[0];
    const count = counts.get(id) ?? 0;
    if (!largest || count === 0) return [];
    const sum = largest.outline.reduce((total, at) => [total[0]! + at[0], total[1]! + at[1]], [0, 0]);
    const [x, y] = dot(sum.map((value) => value / largest.outline.length)).split(' ');
    return [`<text x="${x}" y="${y}">${escapeXml(id)}: ${count}</text>`];
  });
}

function furniture(scale: number, width: number, height: number): string[] {
  const bar = [1, 2, 5, 10, 20, 50, 100, 200].find((metres) => metres * scale > 120) ?? 500;
  const y = height - FOOT + 30;
  const keys: readonly (readonly [string, string])[] = [
    ...ACCESS.map(([, colour, words]) => [colour, `module, access ${words}`] as const),
    ...Object.entries(ZONES).map(([reason, words]) => [`url(#${reason})`, words] as const),
  ];
  const perRow = Math.max(1, Math.floor((width - 2 * MARGIN) / 230));
  return [
    `<path class="bar" d="M${MARGIN} ${MARGIN / 2}h${bar * scale}"/><text class="left" x="${MARGIN + bar * scale + 8}" y="${MARGIN / 2 + 5}">${bar} m, north up</text>`,
    ...keys.map(([fill, words], i) => {
      const x = MARGIN + (i % perRow) * 230;
      const row = y + Math.floor(i / perRow) * 26;
      return `<rect class="key" x="${x}" y="${row - 14}" width="26" height="18" fill="${fill}"/><text class="left" x="${x + 34}" y="${row}">${words}</text>`;
    }),
    `<text class="left" x="${MARGIN}" y="${height - 8}">Rules are an example; local code and a licensed person decide. Loads, fixing and wiring are not judged.</text>`,
  ];
}

const hatch = (id: string, line: string): string => `<pattern id="${id}" width="8" height="8" patternUnits="userSpaceOnUse">${line}</pattern>`;

const sheet = (width: number, height: number, parts: readonly string[]): string => `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width.toFixed(0)} ${height.toFixed(0)}" width="${width.toFixed(0)}" height="${height.toFixed(0)}">
<style>text{font:13px sans-serif;text-anchor:middle;paint-order:stroke;stroke:#fff;stroke-width:3px}text.left{text-anchor:start}.roof{fill:#eef1ed;fill-rule:evenodd;stroke:#13201d;stroke-width:1}.module{stroke:#13201d;stroke-width:.6}.thing{fill:#fff;fill-opacity:.6;stroke:#d55e00;stroke-width:1.2}.bar{stroke:#13201d;stroke-width:4}.key{stroke:#13201d;stroke-width:.6}</style>
<defs>${hatch('edge', '<path d="M0 8L8 0" stroke="#727f79"/>')}${hatch('obstruction', '<path d="M0 8L8 0M0 0L8 8" stroke="#727f79"/>')}${hatch('access', '<circle cx="4" cy="4" r="1.4" fill="#586660"/>')}${hatch('shade', '<path d="M0 4H8" stroke="#414487" stroke-width="2"/>')}${hatch('other', '<path d="M4 0V8" stroke="#b3beb7" stroke-width="2"/>')}</defs>
<rect width="100%" height="100%" fill="#fff"/>
${parts.join('\n')}
</svg>
`;

const emptyPlan = (): string => sheet(480, 80, ['<text class="left" x="20" y="45">The record holds no roof plane.</text>']);
