import { planeHeightSigma } from '../../survey/measure/pick-sigma.ts';
import { add, dot, length, scale, subtract, type Vector3 } from '../../geometry/vector.ts';
import { writeReading } from '../../units/written-reading.ts';
import type { CutPiece } from '../section-cut.ts';
import { drawTicks } from './edge-lines.ts';
import type { InkFrame } from './frame.ts';
import { figure, letter, readingPieces, type Dot, type Pen } from './pen.ts';

const SIGMAS_IN_95 = 1.96;
/** Levels nearer than this are one mark. [m] */
const SAME_LEVEL_M = 0.12;

/** Cut roof planes thick, things and walls, ground with hachures, level marks with heights at the left. */
export function drawSection(pen: Pen, frame: InkFrame): void {
  const { ink, sheet } = pen.paper;
  drawLevels(pen, frame);
  for (const piece of frame.cut) {
    const dots = piece.path.map((p) => pen.at(p));
    if (piece.kind === 'ground') drawGround(pen, frame, dots);
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
  const middle: Dot = [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2 + 24];
  pen.write([letter(`${piece.name} `), ...(pitch && run > 130 ? readingPieces(pitch, pen.paper, 13) : [])], middle, { align: 'centre', yields: true, halo: pen.paper.sheet });
}

function drawGround(pen: Pen, frame: InkFrame, dots: readonly Dot[]): void {
  const [left, right] = [dots[0]![0] - 60, dots[1]![0] + 60];
  const y = dots[0]![1];
  if (y > frame.view.height + 10) return;
  pen.line([[left, y], [right, y]], { width: 2.4, colour: pen.paper.ink });
  for (const [a, b] of [[left, dots[0]![0]], [dots[1]![0], right]] as const) drawTicks(pen, [a, y], [b, y], [0, 1], 9, 9, -0.8);
  for (const x of [dots[0]![0], dots[1]![0]]) {
    const roof = frame.cut.filter(({ kind }) => kind === 'plane').flatMap(({ path }) => path.map((p) => pen.at(p))).filter((p) => Math.abs(p[0] - x) < 30);
    const top = Math.min(...roof.map((p) => p[1]));
    if (Number.isFinite(top)) pen.line([[x, top], [x, y]], { width: 1.2, colour: pen.paper.ink, dash: [7, 5] });
  }
}

interface Level {
  readonly name: string;
  readonly at: Vector3;
  readonly sigmaM: number | null;
}

/** Heights above the ground (or, where none was seen, elevations) of every end of a cut plane. */
function drawLevels(pen: Pen, frame: InkFrame): void {
  const datum = frame.cut.find(({ kind }) => kind === 'ground')?.path[0]![2] ?? 0;
  const left = frame.compact ? 8 : 18;
  let lastY = Infinity;
  for (const level of levelsOf(frame).sort((a, b) => a.at[2] - b.at[2])) {
    const y = pen.at(level.at)[1];
    if (lastY - y < 42 || y < (frame.compact ? 40 : 112)) continue;
    lastY = y;
    pen.line([[left + 20, y], [frame.view.width - 40, y]], { width: 1, colour: pen.paper.hair, dash: [10, 3, 2, 3] });
    pen.fill([[left + 30, y - 8], [left + 42, y - 8], [left + 36, y - 1]], pen.paper.ink);
    const u95 = level.sigmaM === null ? null : level.sigmaM * SIGMAS_IN_95;
    pen.write([figure(level.name, 12)], [left, y - 33], { halo: pen.paper.sheet });
    const written = u95 === null ? null : writeReading({ value: level.at[2] - datum, u95 }, 'length', frame.units);
    if (written) pen.write(readingPieces(written, pen.paper, 13), [left, y - 18], { halo: pen.paper.sheet });
  }
}

function levelsOf(frame: InkFrame): Level[] {
  const levels: Level[] = [];
  for (const piece of frame.cut) {
    if (piece.kind !== 'plane') continue;
    const plane = frame.scene?.planes.find(({ id }) => id === piece.id)?.plane;
    if (!plane) continue;
    const target = { ...plane, name: piece.name, evidence: plane.evidence ?? null };
    for (const at of piece.path) {
      if (levels.some((level) => Math.abs(level.at[2] - at[2]) < SAME_LEVEL_M)) continue;
      levels.push({ name: levelName(frame, piece, at), at, sigmaM: planeHeightSigma(target, at, { spacingM: 0, noiseM: frame.noiseM }) });
    }
  }
  return levels;
}

/** The edge the section passes here, else the plane that ends. */
function levelName(frame: InkFrame, piece: CutPiece, at: Vector3): string {
  const edge = frame.scene?.edges.find(({ planes, from, to }) => planes.includes(piece.id) && distanceToSegment(at, from, to) < SAME_LEVEL_M);
  const other = edge && frame.building !== null && edge.building !== frame.building ? `${edge.building} ` : '';
  return edge ? `${other}${edge.kind} ${edge.name}` : `end of ${piece.name}`;
}

function distanceToSegment(at: Vector3, from: Vector3, to: Vector3): number {
  const along = subtract(to, from);
  const share = Math.min(1, Math.max(0, dot(subtract(at, from), along) / Math.max(dot(along, along), 1e-12)));
  return length(subtract(at, add(from, scale(along, share))));
}

/** Thick ground under an elevation, no cut. */
export function drawElevationGround(pen: Pen, frame: InkFrame): void {
  if (!frame.scene) return;
  for (const { groundM, bounds } of frame.scene.buildings) {
    const corners: Vector3[] = [[bounds.min[0], bounds.min[1], groundM], [bounds.max[0], bounds.min[1], groundM], [bounds.max[0], bounds.max[1], groundM], [bounds.min[0], bounds.max[1], groundM]];
    const xs = corners.map((corner) => pen.at(corner)[0]);
    const y = pen.at(corners[0]!)[1];
    pen.line([[Math.min(...xs) - 20, y], [Math.max(...xs) + 20, y]], { width: 2.6, colour: pen.paper.ink });
  }
}
