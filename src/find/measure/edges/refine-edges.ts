import { alongLine, onLine, type PlanLine } from '../../../geometry/plan-line.ts';
import type { Vector2 } from '../../../geometry/vector.ts';
import { upperMedian } from '../../../geometry/order-statistic.ts';
import { eachCellBeside } from '../raster/cells-beside.ts';
import { countEdge, leansOver, movedLine, type StripPoints, type StripShape } from './count-edge.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { elevationAt, runsInto } from '../borders/intersections.ts';
import type { PointGatherer } from '../raster/point-lookup.ts';
import type { Face, RoofRaster } from '../raster/roof-raster.ts';
import type { SolvedCorners } from '../corners/solve-corners.ts';
import type { Piece, RoofMap } from '../borders/split-arcs.ts';

/** Depth of the strip looked at inside an edge, and outside it. [spacings] */
const INSIDE = 18;
const OUTSIDE = 6;
/** Corners belong to two edges; this much of each end is left out. [spacings], and no more than this share of a short edge */
const CORNER = 3;
const CORNER_SHARE = 0.2;
/** Half height of the band about a plane whose points count as its own. [sigmas of noise, and least in spacings] */
const BAND_SIGMAS = 3.5;
const BAND_SPACINGS = 0.8;
/**
 * What a count cannot see of blur and density, alike on all sides of a roof: one sigma. [spacings], [sigmas of noise] On
 * simulated roofs with 2 cm of noise sides lie 1 mm too far in at 2 cm spacing and 2 mm at 5 cm, and the means of whole roofs
 * scatter by 1.5 and 2.5 mm beside what their counts do.
 */
const BIAS_SPACINGS = 0.05;
const BIAS_NOISES = 0.08;

interface Strip {
  readonly piece: number;
  /** Face the edge belongs to, the higher one at a step; it lies on the left of the line. */
  readonly face: number;
  readonly line: PlanLine;
  /** Along the line, corners left out. [m] */
  readonly from: number;
  readonly to: number;
}

/**
 * Moves every edge that is not an intersection of planes to where its points end. Pieces too short to be counted are
 * moved by the middle of what the others moved, since all raster rims lie out by about the same.
 */
export function refineEdges(
  map: RoofMap,
  solved: SolvedCorners,
  faces: readonly Face[],
  fits: readonly FaceFit[],
  raster: RoofRaster,
  points: PointGatherer,
): void {
  const strips = stripsOf(map, solved, fits);
  const spacingOf = (strip: Strip): number => 1 / Math.sqrt(Math.max(1e-6, fits[strip.face - 1]!.density));
  const moves: { face: number; offset: number }[] = [];
  const left: Strip[] = [];
  for (const strip of strips) {
    const fit = fits[strip.face - 1]!;
    const spacing = spacingOf(strip);
    const shape: StripShape = {
      length: strip.to - strip.from,
      spacing,
      band: Math.max(BAND_SIGMAS * fit.noise, BAND_SPACINGS * spacing),
      depths: depthsInside(raster, strip, spacing),
      lean: leanOver(fit, strip),
      upright: uprightOf(fit),
    };
    const counted = shape.length > 0 ? countEdge(stripPoints(raster, points, strip, fit, countedLabels(faces, fits, strip.face), shape), shape) : null;
    const limit = 4 * raster.step;
    if (!counted || Math.abs(counted.offset) > limit || Math.abs(counted.turn) * shape.length > 2 * limit) {
      left.push(strip);
      continue;
    }
    const piece = map.pieces[strip.piece]!;
    setLine(piece, strip.face, movedLine(strip.line, strip.from, counted));
    const bias = Math.hypot(counted.bias, BIAS_SPACINGS * spacing, BIAS_NOISES * fit.noise);
    piece.sigma = Math.hypot(counted.sigma, bias);
    // The face lies on the left of its strip's line, so out is right.
    piece.bias = piece.left === strip.face ? -bias : bias;
    piece.sigmaAngle = counted.sigmaTurn;
    piece.counted = true;
    moves.push({ face: strip.face, offset: counted.offset });
  }
  const usual = upperMedian(moves.map(({ offset }) => offset));
  for (const strip of left) {
    const { line } = strip;
    const at: Vector2 = [line.at[0] + usual * line.direction[1], line.at[1] - usual * line.direction[0]];
    setLine(map.pieces[strip.piece]!, strip.face, { at, direction: line.direction });
  }
}

function setLine(piece: Piece, face: number, line: PlanLine): void {
  const forward = piece.left === face;
  piece.line = forward ? line : { at: line.at, direction: [-line.direction[0], -line.direction[1]] };
}

function stripsOf(map: RoofMap, solved: SolvedCorners, fits: readonly FaceFit[]): Strip[] {
  const strips: Strip[] = [];
  map.pieces.forEach((piece, i) => {
    if (solved.vanished[i] || piece.meets) return;
    const [p, q] = [solved.positions[piece.from]!, solved.positions[piece.to]!];
    const middle: Vector2 = [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2];
    // Where one plane runs on into the next no points end.
    if (piece.left !== 0 && piece.right !== 0 && runsInto(fits[piece.left - 1]!, fits[piece.right - 1]!, middle)) return;
    const face =
      piece.left === 0 || piece.right === 0
        ? piece.left || piece.right
        : elevationAt(fits[piece.left - 1]!, middle) >= elevationAt(fits[piece.right - 1]!, middle)
          ? piece.left
          : piece.right;
    const forward = piece.left === face;
    const line: PlanLine = forward ? piece.line : { at: piece.line.at, direction: [-piece.line.direction[0], -piece.line.direction[1]] };
    const ends = [alongLine(line, p), alongLine(line, q)];
    const spacing = 1 / Math.sqrt(Math.max(1e-6, fits[face - 1]!.density));
    const corner = Math.min(CORNER * spacing, CORNER_SHARE * Math.abs(ends[1]! - ends[0]!));
    strips.push({ piece: i, face, line, from: Math.min(...ends) + corner, to: Math.max(...ends) - corner });
  });
  return strips;
}

function eachCell(raster: RoofRaster, { line, from, to }: Strip, spacing: number, visit: (cell: number) => void): void {
  eachCellBeside(raster, line, from, to, INSIDE * spacing, OUTSIDE * spacing, visit);
}

/** Planes whose slopes differ by more than this are no continuation of one another. [-] 5°. */
const CONTINUES = 0.0875;

/** Labels whose points may count for a face: its own, none, and those of planes that go on nearly as it does. */
function countedLabels(faces: readonly Face[], fits: readonly FaceFit[], own: number): Set<number> {
  const fit = fits[own - 1]!;
  const like = faces.filter((_, i) => Math.hypot(fits[i]!.slopeX - fit.slopeX, fits[i]!.slopeY - fit.slopeY) < CONTINUES);
  return new Set([0, ...like.map(({ label }) => label)]);
}

/** Places along an edge at which the plane's depth is looked at. */
const DEPTH_PLACES = 64;

/** How far each place of a strip's line lies from the far border of its face, up to the depth of the strip. [m] */
function depthsInside({ face, origin, step, columns, rows }: RoofRaster, { line, from, to, face: own }: Strip, spacing: number): Float64Array {
  const [dx, dy] = line.direction;
  // The raster's rim is no better than a cell or two at the near border.
  const start = 2 * step;
  return Float64Array.from({ length: DEPTH_PLACES }, (_, i) => {
    const [x, y] = onLine(line, from + ((i + 0.5) / DEPTH_PLACES) * (to - from));
    let depth = start;
    for (; depth < INSIDE * spacing; depth += step / 2) {
      const column = Math.floor((x - depth * dy - origin[0]) / step);
      const row = Math.floor((y + depth * dx - origin[1]) / step);
      if (column < 0 || row < 0 || column >= columns || row >= rows || face[row * columns + column] !== own) break;
    }
    return depth;
  });
}

const uprightOf = (fit: FaceFit): number => 1 / Math.sqrt(1 + fit.slopeX ** 2 + fit.slopeY ** 2);

/** Part of the plane's unit normal that points outward over the edge. */
function leanOver(fit: FaceFit, { line }: Strip): number {
  const [dx, dy] = line.direction;
  return (-fit.slopeX * dy + fit.slopeY * dx) * uprightOf(fit);
}

function stripPoints(raster: RoofRaster, points: PointGatherer, strip: Strip, fit: FaceFit, labels: ReadonlySet<number>, shape: StripShape): StripPoints {
  const upright = uprightOf(fit);
  const lean = leansOver(shape) ? shape.lean : 0;
  const { line, from } = strip;
  const [x0, y0] = line.at;
  const [ux, uy] = line.direction;
  const { elevation, slopeX, slopeY } = fit;
  const [cx, cy] = fit.centroid;
  const cells: number[] = [];
  eachCell(raster, strip, shape.spacing, (k) => cells.push(k));
  const { x, y, z, label } = points.gather(cells);
  const isOwn = new Uint8Array(Math.max(...labels) + 1);
  for (const own of labels) isOwn[own] = 1;
  const along = new Float64Array(x.length);
  const outward = new Float64Array(x.length);
  const above = new Float64Array(x.length);
  let count = 0;
  // Every point of a roof's rims comes by here a few times, so elevation, place along the line and beside it are written out.
  for (let i = 0; i < x.length; i++) {
    if (!isOwn[label[i]!]) continue;
    const away = (z[i]! - (elevation + slopeX * (x[i]! - cx) + slopeY * (y[i]! - cy))) * upright;
    along[count] = (x[i]! - x0) * ux + (y[i]! - y0) * uy - from;
    outward[count] = -((y[i]! - y0) * ux - (x[i]! - x0) * uy) - away * lean;
    above[count] = away;
    count++;
  }
  return { count, along, outward, above };
}
