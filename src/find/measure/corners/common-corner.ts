import { chiSquareTail } from '../../../geometry/distributions.ts';
import { alongLine, besideLine, type PlanLine } from '../../../geometry/plan-line.ts';
import type { Vector2 } from '../../../geometry/vector.ts';
import { heightVariance } from '../../../reading/plane-uncertainty.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { elevationAt } from '../borders/intersections.ts';
import type { Piece } from '../borders/split-arcs.ts';

/** Corners are one unless the scatter of planes and lines makes that less likely than this: lines of one deck that miss its drain are commoner than drains that are none. */
const REFUSED_BELOW = 0.001;
/** Nor do corners lie farther than this from the piece between them. [m] */
const FARTHEST = 3;
/** Lines closer than this in direction do not fix a corner between them. [-] */
const LEAST_SINE = 0.1;
/** Points near a border that count for the wrong plane lift it by this share of the noise. */
const SMEAR = 0.1;
const STEPS = 4;

/** Normal equations for a step in plan: `xx`, `xy`, `yy` of the matrix, `bx`, `by` of the right side, and what is left of squares. */
interface Step {
  xx: number;
  xy: number;
  yy: number;
  bx: number;
  by: number;
  squares: number;
  spare: number;
}

/**
 * The position that planes and lines around a corner share; null where their own scatter speaks against one, or where two
 * lines alone would fix it. Planes that meet must have one height there, each with the scatter of its own fit: two valleys
 * with a plane in common err together, so their lines say less against each other than two lines would. Tested by chi-square.
 */
export function commonCorner(pieces: readonly Piece[], fits: readonly FaceFit[], guess: Vector2): Vector2 | null {
  const sheets = meetingFaces(pieces).map((faces) => faces.map((face) => fits[face - 1]!));
  const lines = pieces.filter(({ meets, drawn }) => !meets || drawn);
  if (sheets.reduce((sum, { length }) => sum + length - 1, lines.length) < 3 || sharpestCrossing(pieces.map(({ line }) => line)) < LEAST_SINE) return null;
  let at = guess;
  for (let round = 0; round < STEPS; round++) {
    const { xx, xy, yy, bx, by } = stepFrom(at, sheets, lines);
    const determinant = xx * yy - xy * xy;
    if (!(determinant > LEAST_SINE ** 2 * xx * yy * 1e-2)) return null;
    at = [at[0] + (yy * bx - xy * by) / determinant, at[1] + (xx * by - xy * bx) / determinant];
    if (!(Math.hypot(at[0] - guess[0], at[1] - guess[1]) <= FARTHEST)) return null;
  }
  const { squares, spare } = stepFrom(at, sheets, lines);
  return chiSquareTail(squares, spare - 2) < REFUSED_BELOW ? null : at;
}

function stepFrom(at: Vector2, sheets: readonly (readonly FaceFit[])[], lines: readonly Piece[]): Step {
  const step: Step = { xx: 0, xy: 0, yy: 0, bx: 0, by: 0, squares: 0, spare: lines.length };
  // The scatter of a line or plane grows away from its middle, so the weights settle with the corner.
  for (const piece of lines) {
    const { direction } = piece.line;
    add(step, -direction[1], direction[0], besideLine(piece.line, at), 1 / lineVariance(piece, at));
  }
  for (const fits of sheets) {
    const weights = fits.map((fit) => 1 / (heightVariance(fit, at) + (SMEAR * fit.noise) ** 2 + 1e-8));
    const total = weights.reduce((sum, w) => sum + w, 0);
    const mean = (of: (fit: FaceFit) => number): number => fits.reduce((sum, fit, i) => sum + weights[i]! * of(fit), 0) / total;
    const [height, slopeX, slopeY] = [mean((fit) => elevationAt(fit, at)), mean((fit) => fit.slopeX), mean((fit) => fit.slopeY)];
    fits.forEach((fit, i) => add(step, fit.slopeX - slopeX, fit.slopeY - slopeY, elevationAt(fit, at) - height, weights[i]!));
    step.spare += fits.length - 1;
  }
  return step;
}

function add(step: Step, x: number, y: number, off: number, weight: number): void {
  step.xx += weight * x * x;
  step.xy += weight * x * y;
  step.yy += weight * y * y;
  step.bx -= weight * x * off;
  step.by -= weight * y * off;
  step.squares += weight * off * off;
}

/** Faces joined by the intersections of their planes, group by group. */
function meetingFaces(pieces: readonly Piece[]): number[][] {
  let groups: number[][] = [];
  for (const { left, right } of pieces.filter(({ meets, drawn }) => meets && !drawn)) {
    const touched = groups.filter((group) => group.includes(left) || group.includes(right));
    groups = [...groups.filter((group) => !touched.includes(group)), [...new Set([...touched.flat(), left, right])].sort((a, b) => a - b)];
  }
  return groups;
}

const lineVariance = ({ sigma, sigmaAngle, line }: Piece, at: Vector2): number => sigma ** 2 + (sigmaAngle * alongLine(line, at)) ** 2 + 1e-8;

function sharpestCrossing(lines: readonly PlanLine[]): number {
  let best = 0;
  for (const a of lines) for (const b of lines) best = Math.max(best, Math.abs(a.direction[0] * b.direction[1] - a.direction[1] * b.direction[0]));
  return best;
}
