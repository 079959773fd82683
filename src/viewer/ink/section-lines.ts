import { planeHeightSigma } from '../../survey/measure/pick-sigma.ts';
import { add, dot, length, scale, subtract, type Vector3 } from '../../geometry/vector.ts';
import { writeReading } from '../../units/written-reading.ts';
import type { SceneEdge } from '../scene.ts';
import type { CutPiece } from '../section-cut.ts';
import { drawTicks } from './edge-lines.ts';
import type { InkFrame } from './frame.ts';
import { datumOf, drawLevelMarks, type Datum, type Level } from './level-marks.ts';
import { figure, letter, readingPieces, type Dot, type Pen } from './pen.ts';

const SIGMAS_IN_95 = 1.96;
/** A cut passes an edge when its end lies this near. [m] */
const SAME_PLACE_M = 0.12;

/** Cut roof planes thick, things and walls, ground with hachures, level marks with heights at the left. */
export function drawSection(pen: Pen, frame: InkFrame): void {
  const { ink, sheet } = pen.paper;
  drawLevelMarks(pen, frame, levelsOf(frame), sectionDatum(frame));
  for (const piece of frame.cut) {
    const dots = piece.path.map((p) => pen.at(p));
    if (piece.kind === 'ground') drawGround(pen, frame, dots, frame.scene?.buildings.find(({ id }) => id === piece.id)?.ground.value !== null);
    else if (piece.kind === 'thing') {
      pen.fill(dots, sheet, 0.7);
      pen.line(dots, { width: 1.6, colour: frame.selection?.id === piece.id ? pen.paper.select : ink });
      pen.write([letter(piece.name)], [dots[1]![0], dots[1]![1] - 12], { yields: true, halo: sheet });
    }
  }
  for (const piece of frame.cut) if (piece.kind === 'plane') drawCutPlane(pen, frame, piece);
}

function drawCutPlane(pen: Pen, frame: InkFrame, piece: CutPiece): void {
  const [from, to] = [pen.at(piece.path[0]!), pen.at(piece.path[1]!)];
  const selected = frame.selection?.id === piece.id;
  pen.line([from, to], { width: selected ? 4 : 2.6, colour: selected ? pen.paper.select : pen.paper.ink, cap: 'round' });
  const run = Math.hypot(to[0] - from[0], to[1] - from[1]);
  if (run < 46) return;
  const plane = frame.scene?.planes.find(({ id }) => id === piece.id);
  const pitch = plane ? writeReading(plane.plane.pitchDeg, 'pitch', frame.units) : null;
  const text = [letter(`${piece.name} `), ...(pitch && run > 130 ? readingPieces(pitch, pen.paper, 13) : [])];
  // Beside the line, so far under it that no corner of the text touches it.
  const [nx, ny] = [(from[1] - to[1]) / run, (to[0] - from[0]) / run];
  const side = ny < 0 ? -1 : 1;
  const away = side * ((pen.widthOf(text) / 2) * Math.abs(nx) + 8 * Math.abs(ny) + 9);
  const middle: Dot = [(from[0] + to[0]) / 2 + nx * away, (from[1] + to[1]) / 2 + ny * away];
  pen.write(text, middle, { align: 'centre', yields: true, halo: pen.paper.sheet });
}

/** @param isSeen  False for a ground that is only assumed: a dashed line, no hachures. */
function drawGround(pen: Pen, frame: InkFrame, dots: readonly Dot[], isSeen: boolean): void {
  const [left, right] = [dots[0]![0] - 60, dots[1]![0] + 60];
  const y = dots[0]![1];
  if (y > frame.view.height + 10) return;
  pen.line([[left, y], [right, y]], isSeen ? { width: 2.4, colour: pen.paper.ink } : { width: 1.2, colour: pen.paper.mid, dash: [7, 5] });
  if (isSeen) for (const [a, b] of [[left, dots[0]![0]], [dots[1]![0], right]] as const) drawTicks(pen, [a, y], [b, y], [0, 1], 9, 9, -0.8);
  for (const x of [dots[0]![0], dots[1]![0]]) {
    const roof = frame.cut.filter(({ kind }) => kind === 'plane').flatMap(({ path }) => path.map((p) => pen.at(p))).filter((p) => Math.abs(p[0] - x) < 30);
    const top = Math.min(...roof.map((p) => p[1]));
    if (Number.isFinite(top)) pen.line([[x, top], [x, y]], { width: 1.2, colour: pen.paper.ink, dash: [7, 5] });
  }
}

/** Heights of a section are counted from the ground of the first building it cuts. */
export function sectionDatum(frame: InkFrame): Datum {
  const id = frame.cut.find(({ kind }) => kind === 'ground')?.id;
  return datumOf(frame, frame.scene?.buildings.find((building) => building.id === id)?.ground);
}

/** Heights of every end of a cut plane. */
function levelsOf(frame: InkFrame): Level[] {
  const levels: Level[] = [];
  for (const piece of frame.cut) {
    if (piece.kind !== 'plane') continue;
    const plane = frame.scene?.planes.find(({ id }) => id === piece.id)?.plane;
    if (!plane) continue;
    const target = { ...plane, name: piece.name, evidence: plane.evidence ?? null };
    for (const at of piece.path) {
      const edge = edgeAt(frame, piece, at);
      levels.push({ name: levelName(frame, piece, edge), z: at[2], u95: () => planeHeightSigma(target, at, { spacingM: 0, noiseM: frame.noiseM }) * SIGMAS_IN_95, rank: edge?.kind === 'ridge' ? 3 : edge?.kind === 'eave' ? 2 : 1 });
    }
  }
  return levels;
}

/** The edge the section passes here. */
const edgeAt = (frame: InkFrame, piece: CutPiece, at: Vector3): SceneEdge | undefined =>
  frame.scene?.edges.find(({ planes, from, to }) => planes.includes(piece.id) && distanceToSegment(at, from, to) < SAME_PLACE_M);

/** The edge by its name, else the plane that ends. */
function levelName(frame: InkFrame, piece: CutPiece, edge: SceneEdge | undefined): string {
  const other = edge && frame.building !== null && edge.building !== frame.building ? `${edge.building} ` : '';
  return edge ? `${other}${edge.kind} ${edge.name}` : `end of ${piece.name}`;
}

function distanceToSegment(at: Vector3, from: Vector3, to: Vector3): number {
  const along = subtract(to, from);
  const share = Math.min(1, Math.max(0, dot(subtract(at, from), along) / Math.max(dot(along, along), 1e-12)));
  return length(subtract(at, add(from, scale(along, share))));
}

/** Samples of what a section is drawn in, at the lower right. */
export function drawSectionLegend(pen: Pen, frame: InkFrame): void {
  if (frame.compact || frame.view.width < 760) return;
  const { ink, mid } = pen.paper;
  const y = frame.view.height - 48;
  const samples = [
    ['fitted plane', (x: number) => pen.line([[x, y], [x + 40, y]], { width: 2.6, colour: ink, cap: 'round' })],
    ['inferred, few points', (x: number) => pen.line([[x, y], [x + 40, y]], { width: 1.2, colour: ink, dash: [7, 5] })],
    ['measured points', (x: number) => pen.line([[x, y], [x + 40, y]], { width: 1.9, colour: mid, dash: [0, 4], cap: 'round' })],
  ] as const;
  let right = frame.view.width - 24;
  for (const [name, draw] of samples.toReversed()) {
    const text = [figure(name, 12.5)];
    right -= pen.widthOf(text);
    draw(right);
    pen.write(text, [right, y + 21], { halo: pen.paper.sheet });
    right -= 26;
  }
}

/** Thick ground under an elevation, no cut; nothing where no ground was seen. */
export function drawElevationGround(pen: Pen, frame: InkFrame): void {
  if (!frame.scene) return;
  for (const { ground, groundM, bounds } of frame.scene.buildings) {
    if (ground.value === null) continue;
    const corners: Vector3[] = [[bounds.min[0], bounds.min[1], groundM], [bounds.max[0], bounds.min[1], groundM], [bounds.max[0], bounds.max[1], groundM], [bounds.min[0], bounds.max[1], groundM]];
    const xs = corners.map((corner) => pen.at(corner)[0]);
    const y = pen.at(corners[0]!)[1];
    pen.line([[Math.min(...xs) - 20, y], [Math.max(...xs) + 20, y]], { width: 2.6, colour: pen.paper.ink });
  }
}
