import { execFileSync } from 'node:child_process';
import { unite } from '../../../src/geometry/region.ts';
import { packAligned, packRows } from '../../../src/layout/pack/pack-grid.ts';
import { packMost } from '../../../src/layout/pack/pack-most.ts';
import type { PackProblem } from '../../../src/layout/pack/pack-types.ts';
import { faceRuns, LONG, seededFace, SHORT, SQUARE } from './faces.ts';
import { solveFace } from './integer-programme.ts';

/** Share of the proved optimum to be met on average and on the worst face; time a face may take. [-, -, ms] */
export const MEAN_SHARE = 0.97;
export const WORST_SHARE = 0.9;
export const FACE_MS = 50;
/** The solver proves every one of these faces in well under this. [s] */
const SOLVER_LIMIT = 120;
/** Part of the module's squares that is gap, so that whole squares fit whole modules. [m] */
const GAP = 0.005;

export function faceProblem(seed: number): PackProblem {
  const [short, long] = [SHORT * SQUARE - GAP, LONG * SQUARE - GAP];
  return {
    region: unite(faceRuns(seededFace(seed))), gapX: GAP, gapY: GAP,
    shapes: [{ width: short, height: long, modules: 1 }, { width: long, height: short, modules: 1 }],
  };
}

const hasSolver = (): boolean => {
  try {
    execFileSync('glpsol', ['--version'], { stdio: 'pipe' });
    return true;
  } catch {
    return false;
  }
};

/** Modules placed, and the least processor time of three equal runs: the engine's own tidying falls on one face or another. */
function timed(problem: PackProblem): { most: number; milliseconds: number } {
  let [most, milliseconds] = [0, Infinity];
  for (let run = 0; run < 3; run++) {
    const before = process.cpuUsage();
    most = packMost(problem).length;
    const { user, system } = process.cpuUsage(before);
    milliseconds = Math.min(milliseconds, (user + system) / 1000);
  }
  return { most, milliseconds };
}

/** Packs seeded faces and proves the optimum of each with GLPK: lines for people, and whether all limits were met. */
export function packingLines(faces: number): { lines: string[]; within: boolean } {
  if (!hasSolver()) return { lines: ['packing: left out, glpsol (GLPK) is not installed'], within: true };
  const sums = { aligned: 0, rows: 0, most: 0 };
  let [worst, worstSeed, count, unproved, slowest, total] = [1, -1, 0, 0, 0, 0];
  for (let seed = 0; seed < faces; seed++) {
    const optimum = solveFace(seededFace(seed), SOLVER_LIMIT);
    if (!optimum.proved) unproved++;
    if (!optimum.proved || optimum.count === 0) continue;
    const problem = faceProblem(seed);
    const { most, milliseconds } = timed(problem);
    slowest = Math.max(slowest, milliseconds);
    total += milliseconds;
    const share = most / optimum.count;
    sums.most += share;
    sums.rows += packRows(problem).length / optimum.count;
    sums.aligned += packAligned(problem).length / optimum.count;
    count++;
    if (share < worst) [worst, worstSeed] = [share, seed];
  }
  const percent = (sum: number): string => `${((100 * sum) / count).toFixed(1)} %`;
  return {
    lines: [
      `packing: ${count} faces with a proved optimum (${unproved} unproved); of the optimum: most ${percent(sums.most)}, rows ${percent(sums.rows)}, aligned ${percent(sums.aligned)}`,
      `packing: worst face ${(100 * worst).toFixed(1)} % (seed ${worstSeed}); ${(total / count).toFixed(1)} ms of processor a face, slowest ${slowest.toFixed(0)} ms`,
    ],
    within: unproved === 0 && sums.most / count >= MEAN_SHARE && worst >= WORST_SHARE && slowest < FACE_MS,
  };
}
