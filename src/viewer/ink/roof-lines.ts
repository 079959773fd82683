import { add, scale as scaled, type Vector3 } from '../../geometry/vector.ts';
import { writeReading } from '../../units/written-reading.ts';
import { planArea, type RoofScene, type SceneEdge, type ScenePlane } from '../scene.ts';
import { drawEdgeInk, drawPencil } from './edge-lines.ts';
import type { InkFrame } from './frame.ts';
import { letter, readingPieces, type Dot, type Pen } from './pen.ts';

/** Patterns at full size from this scale on, smaller on wider views. [px/m] */
const FULL_PATTERN_SCALE = 26;

/** Below this scale a site is a map: lines without patterns, buildings instead of parts. [px/m] */
const MAP_SCALE = 8;

export const isMap = (frame: InkFrame): boolean => frame.view.pixelsPerMetre < MAP_SCALE;

export const patternScale = (frame: InkFrame): number => Math.min(1, Math.max(0.42, frame.view.pixelsPerMetre / FULL_PATTERN_SCALE));

const isCurrent = (frame: InkFrame, building: string): boolean => frame.building === null || frame.building === building;

/** Edges of all buildings; those of the chosen one in their patterns, neighbours thin. */
export function drawEdges(pen: Pen, frame: InkFrame, edges: readonly SceneEdge[]): void {
  const size = patternScale(frame);
  const pieces = edges.filter((edge) => inPicture(pen, edge.from, edge.to)).flatMap((edge) => visiblePieces(frame, edge.from, edge.to).map(([from, to]) => ({ edge, from: pen.at(from), to: pen.at(to) })));
  for (const { edge, from, to } of pieces) if (isCurrent(frame, edge.building) && !isMap(frame)) drawPencil(pen, edge.kind, from, to, size);
  for (const { edge, from, to } of pieces) {
    if (!isCurrent(frame, edge.building)) pen.line([from, to], { width: 1, colour: pen.paper.mid });
    else if (isMap(frame)) pen.line([from, to], { width: edge.kind === 'ridge' ? 0.8 : 1.4, colour: pen.paper.ink });
    else drawEdgeInk(pen, edge.kind, from, to, outwardInPicture(pen, edge), size);
  }
}

/** False for a line that lies wholly to one side of the picture. */
export function inPicture(pen: Pen, from: Vector3, to: Vector3): boolean {
  const [[ax, ay], [bx, by]] = [pen.at(from), pen.at(to)];
  const { width, height } = pen.view;
  const margin = 40;
  return Math.max(ax, bx) > -margin && Math.min(ax, bx) < width + margin && Math.max(ay, by) > -margin && Math.min(ay, by) < height + margin;
}

/** False for a ring that lies wholly to one side of the picture, or is too small in it to be written on. */
function isRingInPicture(pen: Pen, ring: readonly Vector3[]): boolean {
  let [left, right, top, bottom] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const corner of ring) {
    const [x, y] = pen.at(corner);
    [left, right, top, bottom] = [Math.min(left, x), Math.max(right, x), Math.min(top, y), Math.max(bottom, y)];
  }
  const { width, height } = pen.view;
  return right > 0 && left < width && bottom > 0 && top < height && right - left > 18 && bottom - top > 18;
}

/** Parts of a line the eye sees; all of it where nothing hides lines. */
export function visiblePieces(frame: InkFrame, from: Vector3, to: Vector3): [Vector3, Vector3][] {
  if (!frame.hidden) return [[from, to]];
  const at = (share: number): Vector3 => [from[0] + (to[0] - from[0]) * share, from[1] + (to[1] - from[1]) * share, from[2] + (to[2] - from[2]) * share];
  return frame.hidden.visibleRuns(from, to).map(([start, end]) => [at(start), at(end)]);
}

function outwardInPicture(pen: Pen, edge: SceneEdge): Dot {
  const [from, to] = [pen.at(edge.from), pen.at(edge.to)];
  const beside = pen.at(add(edge.from, edge.outward));
  const run = Math.hypot(to[0] - from[0], to[1] - from[1]) || 1;
  const side: Dot = [(to[1] - from[1]) / run, -(to[0] - from[0]) / run];
  const agrees = (beside[0] - from[0]) * side[0] + (beside[1] - from[1]) * side[1] >= 0;
  return agrees ? side : [-side[0], -side[1]];
}

/** The selected plane: wash, fall lines and a band inside its outline. */
export function drawSelectedPlane(pen: Pen, frame: InkFrame, plane: ScenePlane): void {
  const { context, paper } = pen;
  const rings = [plane.plane.outline, ...plane.plane.holes].map((ring) => ring.map((p) => pen.at(p)));
  const trace = (): void => {
    context.beginPath();
    for (const ring of rings) {
      ring.forEach(([x, y], i) => (i === 0 ? context.moveTo(x, y) : context.lineTo(x, y)));
      context.closePath();
    }
  };
  context.save();
  trace();
  context.fillStyle = paper.selectWash;
  context.fill('evenodd');
  trace();
  context.clip('evenodd');
  if (plane.fall) drawFallLines(pen, frame, plane);
  trace();
  // Half of it is clipped away: the band lies inside the outline.
  pen.stroke({ width: 10 * Math.max(0.6, patternScale(frame)), colour: paper.select });
  context.restore();
}

/** Where sides of a plane would lie if drawn to rules, dashed over those as measured; left out where no eye could tell them apart. */
export function drawRegularPlane(pen: Pen, plane: ScenePlane): void {
  const regular = plane.regular();
  if (!regular) return;
  const measured = [plane.plane.outline, ...plane.plane.holes];
  [regular.outline, ...regular.holes].forEach((ring, i) => {
    const dots = ring.map((corner) => pen.at(corner));
    const before = measured[i]?.map((corner) => pen.at(corner)) ?? [];
    const apart = dots.some((dot, j) => before[j] === undefined || Math.hypot(...minus(dot, before[j])) > LEAST_APART);
    if (apart) drawByRule(pen, dots, true);
  });
}

/** The same of one edge. */
export function drawRegularEdge(pen: Pen, { from, to, regular }: SceneEdge): void {
  if (!regular || regular.off || regular.kept.length === 0) return;
  const [a, b] = [pen.at(regular.from), pen.at(regular.to)];
  const apart = Math.max(Math.hypot(...minus(a, pen.at(from))), Math.hypot(...minus(b, pen.at(to)))) > LEAST_APART;
  if (apart) drawByRule(pen, [a, b], false);
}

function drawByRule(pen: Pen, dots: readonly Dot[], closed: boolean): void {
  pen.line(dots, { width: 3.4, colour: pen.paper.lift }, closed);
  pen.line(dots, { width: 1.6, colour: pen.paper.select, dash: [6, 3] }, closed);
}

/** [px] */
const LEAST_APART = 1.5;

/** Lines down the roof, evenly spaced in the picture, over the whole plane; the caller clips. */
function drawFallLines(pen: Pen, frame: InkFrame, plane: ScenePlane): void {
  const { at } = plane.label();
  const origin = pen.at(at);
  const [fx, fy] = minus(pen.at(add(at, plane.fall!)), origin);
  const size = Math.hypot(fx, fy);
  if (size < 1) return;
  const [ux, uy] = [fx / size, fy / size];
  const reach = plane.plane.outline.reduce((far, corner) => Math.max(far, Math.hypot(...minus(pen.at(corner), origin))), 0);
  const spacing = Math.max(18, frame.view.pixelsPerMetre * 0.5);
  pen.context.beginPath();
  for (let across = -Math.ceil(reach / spacing) * spacing; across <= reach; across += spacing) {
    const [x, y] = [origin[0] - uy * across, origin[1] + ux * across];
    pen.context.moveTo(x - ux * reach, y - uy * reach);
    pen.context.lineTo(x + ux * reach, y + uy * reach);
  }
  pen.stroke({ width: 1, colour: pen.paper.select, opacity: 0.4 });
}

/** Letters of edges, names and pitches of planes; text that finds no room is left out. */
export function drawNames(pen: Pen, frame: InkFrame, scene: RoofScene): void {
  const { planes, edges } = scene;
  if (isMap(frame) && frame.building === null) return drawBuildingNames(pen, scene);
  for (const plane of planes) {
    if (isCurrent(frame, plane.building) && isRingInPicture(pen, plane.plane.outline)) drawPlaneName(pen, frame, plane);
  }
  for (const edge of edges) if (isCurrent(frame, edge.building) && inPicture(pen, edge.from, edge.to)) drawEdgeLetter(pen, frame, edge);
}

/** Larger buildings first, so that a shed yields to a hall. */
function drawBuildingNames(pen: Pen, { buildings }: RoofScene): void {
  for (const { id, bounds, groundM } of buildings.toSorted((a, b) => planArea(b) - planArea(a))) {
    const middle: Vector3 = [(bounds.min[0] + bounds.max[0]) / 2, (bounds.min[1] + bounds.max[1]) / 2, groundM];
    pen.write([letter(id, 13)], pen.at(middle), { align: 'centre', yields: true });
  }
}

const isInSight = (frame: InkFrame, at: Vector3): boolean => frame.hidden?.isVisible(at) ?? true;

function drawPlaneName(pen: Pen, frame: InkFrame, plane: ScenePlane): void {
  const label = plane.label();
  const room = label.roomM * frame.view.pixelsPerMetre;
  if (room < 9 || !isInSight(frame, label.at)) return;
  const at = pen.at(label.at);
  const selected = frame.selection?.id === plane.id;
  const pitch = writeReading(plane.plane.pitchDeg, 'pitch', frame.units);
  const full = room > 44 || (selected && room > 20);
  if (full && plane.fall && room > 60) drawFallArrow(pen, plane, at, Math.min(42, room * 0.5));
  const beside = full && plane.fall && room > 60 ? 14 : 0;
  const place = { align: beside ? 'left' : 'centre', yields: !selected } as const;
  const dot: Dot = [at[0] + beside, at[1] - (full ? 9 : 0)];
  if (!pen.write([letter(plane.name, full ? 15 : 13, 700)], dot, place)) return;
  if (full && pitch) pen.write(readingPieces(pitch, pen.paper, 13), [at[0] + beside, at[1] + 10], place);
}

function drawFallArrow(pen: Pen, plane: ScenePlane, at: Dot, half: number): void {
  const direction = minus(pen.at(add(plane.label().at, plane.fall!)), at);
  const size = Math.hypot(...direction);
  if (size < 2) return;
  const [ux, uy] = [direction[0] / size, direction[1] / size];
  const [tip, tail]: [Dot, Dot] = [[at[0] + ux * half, at[1] + uy * half], [at[0] - ux * half, at[1] - uy * half]];
  pen.line([tail, tip], { width: 1.5, colour: pen.paper.ink });
  pen.fill([tip, [tip[0] - ux * 11 - uy * 4, tip[1] - uy * 11 + ux * 4], [tip[0] - ux * 11 + uy * 4, tip[1] - uy * 11 - ux * 4]], pen.paper.ink);
}

function drawEdgeLetter(pen: Pen, frame: InkFrame, edge: SceneEdge): void {
  const [from, to] = [pen.at(edge.from), pen.at(edge.to)];
  const run = Math.hypot(to[0] - from[0], to[1] - from[1]);
  const selected = frame.selection?.id === edge.id;
  if (run < 34 && !selected) return;
  const middle = scaled(add(edge.from, edge.to), 0.5);
  if (!isInSight(frame, middle)) return;
  const out = outwardInPicture(pen, edge);
  // Free edges carry their letter inside, where the dimension is not; shared ones on the side of the second plane.
  const side = edge.planes.length > 1 ? 14 : -15;
  const [x, y] = pen.at(middle);
  pen.write([letter(edge.name)], [x + out[0] * side, y + out[1] * side], { align: 'centre', yields: !selected });
}

/** The selected edge as a band, under its ink. */
export function drawSelectedEdge(pen: Pen, frame: InkFrame, edge: SceneEdge): void {
  const [from, to] = [pen.at(edge.from), pen.at(edge.to)];
  pen.line([from, to], { width: 11 * patternScale(frame), colour: pen.paper.select, cap: 'round' });
}


const minus = (a: Dot, b: Dot): [number, number] => [a[0] - b[0], a[1] - b[1]];
