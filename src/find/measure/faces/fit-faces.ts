import { tan } from '../../../geometry/same-math.ts';
import { studentQuantile } from '../../../geometry/distributions.ts';
import { upperMedian } from '../../../geometry/order-statistic.ts';
import { nearDistanceSquaredRaster } from '../../../geometry/distance-raster.ts';
import { SIGMAS_95, type PlaneEstimate } from '../../../reading/plane-uncertainty.ts';
import { planeElevationAt, type Plane } from '../../../geometry/plane.ts';
import { lagProducts } from './lag-products.ts';
import { correlations, type Correlation, type LagSums } from './residual-correlation.ts';
import { NONE_RUN_ON, type RunOn } from '../raster/pool-cells.ts';
import { cellCentre, isPure, type Face, type RoofRaster } from '../raster/roof-raster.ts';
import { fitCells, type CellFit, type FitSums } from './fit-cells.ts';
import { fitCovariance } from './fit-covariance.ts';

/** A face's plane fitted away from its rim, with covariance and the residuals' correlation. */
export interface FaceFit extends PlaneEstimate {
  readonly correlation: Correlation;
  /** Root mean square of point residuals along the normal. [m] */
  readonly noise: number;
  /** Points used. */
  readonly pointCount: number;
  /** Points per square metre of plan. */
  readonly density: number;
  readonly notes: readonly string[];
}

/** Planes whose slopes differ by less than this have no well-determined line between them (methods B: 3°). [-] */
export const POOR_STEEPNESS = tan((3 * Math.PI) / 180);

/** Up to twice that the noise moves a line by centimetres: planes and corners are then adjusted together. [-] */
const SHALLOW_STEEPNESS = tan((6 * Math.PI) / 180);
export const meetShallowly = (a: FaceFit, b: FaceFit): boolean => Math.hypot(a.slopeX - b.slopeX, a.slopeY - b.slopeY) < SHALLOW_STEEPNESS;

/** Reconstruction may round edges off over this many cells (of two spacings each); a fit starts away from them. */
const MARGINS = [3, 2, 1, 0] as const;
const ENOUGH_CELLS = 60;
/** Cells at the rim itself hold points of what lies beyond: they count only where there is too little else. */
const LEAST_TESTED_MARGIN = 1;
/**
 * A ring of cells nearer to the edge joins the fit where its median lies this near to the plane fitted inside it, as a share
 * of the points' noise. The outermost cells weigh most in a slope: on a face ten cells wide, three left out on either side
 * double its scatter.
 */
export const ROUNDED_SHARE = 0.5;

/**
 * Fits every face to its interior cells.
 *
 * @param runOn  Faces whose cells at their border are whole: no margin is left there.
 * @returns One fit a face, in order.
 */
export function fitFaces(raster: RoofRaster, faces: readonly Face[], runOn: RunOn = NONE_RUN_ON): FaceFit[] {
  return finishFits(raster, faces, fitInside(raster, faces, runOn).map(({ fit }) => fit));
}

/**
 * Cells with so many loose points below for each of their own stand over a wall; more of these than the share below and what
 * lies there is no exception.
 */
const CROWDED = 0.3;
const MOST_CROWDED = 0.4;

/** A face fitted away from its rim. */
export interface InsideFit {
  readonly fit: CellFit;
  /** Cells away from the rim that were left out since a wall's topmost points may pass for the face's own in them. */
  readonly crowded: readonly number[];
  /** Cells it was fitted to, clutter included, in the order of the raster. */
  readonly given: readonly number[];
  /** True where the surface keeps to its plane as far out as was looked, or there was too little inside to ask. */
  readonly reachesRim: boolean;
}

export const fitInside = (raster: RoofRaster, faces: readonly Face[], runOn: RunOn): InsideFit[] => cellsByMargin(raster, faces.length, runOn).map((byMargin, i) => fitFace(raster, faces[i]!.plane, byMargin));

/** Gives fitted faces the correlation of their residuals, found from all of them together, and with it their covariance. */
export function finishFits(sums: FitSums, faces: readonly Face[], fits: readonly CellFit[]): FaceFit[] {
  const residual = residualsOf(sums, fits);
  const lags = lagSums(sums, fits, residual);
  giveVariance(lags);
  const found = correlations(lags, sums.step);
  return faces.map((face, i) => finishFit(sums, face, fits[i]!, found[i]!, lags[i]!));
}

/** Sums of the residuals of each cell's points. [m] */
function residualsOf(sums: FitSums, fits: readonly CellFit[]): Float32Array {
  const residual = new Float32Array(sums.count.length);
  for (const fit of fits) for (const k of fit.cells) residual[k] = sums.sum[k]! - sums.count[k]! * correctionAt(fit, meanPlace(sums, k));
  return residual;
}

/** Where the mean of a cell's points lies. [m] */
export function meanPlace(sums: FitSums, k: number): [number, number] {
  const [x, y] = cellCentre(sums, k);
  return sums.offsetX && sums.offsetY ? [x + sums.offsetX[k]!, y + sums.offsetY[k]!] : [x, y];
}

/** Height above the segment's plane, along its normal. [m] */
export const correctionAt = (fit: CellFit, [x, y]: readonly [number, number]): number =>
  fit.height + fit.slopeX * (x - fit.centroid[0]) + fit.slopeY * (y - fit.centroid[1]);

/** Pure cells of each face by their distance from its rim, one list a margin. */
function cellsByMargin(raster: RoofRaster, count: number, runOn: RunOn): number[][][] {
  const { face, columns, rows, filled } = raster;
  const rim = new Uint8Array(face.length);
  for (let k = 0; k < face.length; k++) {
    const here = face[k]!;
    if (here === 0 || filled[k] || !isPure(raster, k)) {
      rim[k] = 1;
      continue;
    }
    const ends = (n: number): boolean => face[n] !== here && (face[n] === 0 || !isPure(raster, n) || filled[n] !== 0 || !runOn(here, face[n]!, k));
    if (ends(k - 1) || ends(k + 1) || ends(k - columns) || ends(k + columns)) rim[k] = 1;
  }
  const distance = nearDistanceSquaredRaster(rim, columns, rows, MARGINS[0]);
  const levels: number[][][] = Array.from({ length: count }, () => MARGINS.map(() => []));
  for (let k = 0; k < face.length; k++) {
    if (face[k] === 0 || filled[k] || !isPure(raster, k)) continue;
    const away = distance[k]!;
    let level = 0;
    while (away < MARGINS[level]! * MARGINS[level]!) level++;
    levels[face[k]! - 1]![level]!.push(k);
  }
  return levels;
}

/** Without its crowded cells where the face still goes out to its rim then, else with them. */
function fitFace(raster: RoofRaster, plane: Plane, byMargin: readonly (readonly number[])[]): InsideFit {
  const { free, crowded } = partCrowded(raster, plane, byMargin);
  if (crowded.length > 0) {
    const inside = fitOutward(raster, free);
    if (inside.reachesRim) return { ...inside, crowded };
  }
  return { ...fitOutward(raster, byMargin), crowded: [] };
}

/** Fits the inside of a face, and then as far out as its surface keeps to that plane. */
function fitOutward(raster: RoofRaster, byMargin: readonly (readonly number[])[]): Omit<InsideFit, 'crowded'> {
  let level = 0;
  let cells = byMargin[0]!;
  while (cells.length < ENOUGH_CELLS && level + 1 < MARGINS.length) cells = cells.concat(byMargin[++level]!);
  let given = inOrder(cells);
  const inner = fitCells(raster, given);
  const start = level;
  while (level + 1 < MARGINS.length && MARGINS[level + 1]! >= LEAST_TESTED_MARGIN && keepsToPlane(raster, inner, byMargin[level + 1]!)) {
    cells = cells.concat(byMargin[++level]!);
  }
  if (level > start) given = inOrder(cells);
  return { fit: level === start ? inner : fitCells(raster, given), given, reachesRim: MARGINS[level]! <= LEAST_TESTED_MARGIN };
}

/** Crowded cells apart, down to the least margin that is tested; none where they are no exception, or leave too little. */
function partCrowded(raster: RoofRaster, plane: Plane, byMargin: readonly (readonly number[])[]): { free: readonly (readonly number[])[]; crowded: readonly number[] } {
  const { count, looseCount, looseMean } = raster;
  const isCrowded = (k: number): boolean => looseCount[k]! > CROWDED * count[k]! && looseMean[k]! < planeElevationAt(plane, cellCentre(raster, k));
  const free = byMargin.map((cells) => cells.filter((k) => !isCrowded(k)));
  const tested = (levels: readonly (readonly number[])[]): number[] => levels.filter((_, level) => MARGINS[level]! >= LEAST_TESTED_MARGIN).flat();
  const [all, left] = [tested(byMargin), tested(free)];
  const isException = left.length >= ENOUGH_CELLS && left.length >= (1 - MOST_CROWDED) * all.length;
  return { free, crowded: isException ? all.filter(isCrowded) : [] };
}

export const inOrder = (cells: readonly number[]): number[] => [...cells].sort((a, b) => a - b);

function keepsToPlane(raster: RoofRaster, fit: CellFit, ring: readonly number[]): boolean {
  if (ring.length === 0) return true;
  const residuals = ring.map((k) => raster.sum[k]! / raster.count[k]! - correctionAt(fit, cellCentre(raster, k)));
  return Math.abs(upperMedian(residuals)) <= ROUNDED_SHARE * noiseOf(fit);
}

/** Root mean square of the residuals of a fit's points. [m] */
export const noiseOf = ({ squares, pointCount }: CellFit): number => Math.sqrt(squares / Math.max(1, pointCount));

function lagSums(sums: FitSums, fits: readonly CellFit[], residual: Float32Array): LagSums[] {
  const { count, step } = sums;
  return fits.map((fit) => {
    let [cellSquares, countSquares] = [0, 0];
    for (const k of fit.cells) {
      cellSquares += residual[k]! * residual[k]!;
      countSquares += count[k]! * count[k]!;
    }
    const points = fit.pointCount;
    return {
      ...lagProducts(sums, fit.cells, residual),
      cellVariance: points > PARAMETERS ? cellSquares / (points - PARAMETERS) : 0,
      pointVariance: points > PARAMETERS ? fit.squares / (points - PARAMETERS) : 0,
      pointCount: points,
      perCell: points > 0 ? countSquares / points : 0,
      area: fit.cells.length * step * step,
    };
  });
}

/** Three points show no scatter: a face of so few has that of the faces around it. */
function giveVariance(sums: LagSums[]): void {
  let [squares, freedom] = [0, 0];
  for (const { pointVariance, pointCount } of sums) {
    if (pointCount <= PARAMETERS) continue;
    squares += pointVariance * (pointCount - PARAMETERS);
    freedom += pointCount - PARAMETERS;
  }
  const common = freedom > 0 ? squares / freedom : 0;
  sums.forEach((sum, i) => {
    if (sum.pointCount <= PARAMETERS) sums[i] = { ...sum, pointVariance: common };
  });
}

/** Numbers of a plane. */
const PARAMETERS = 3;

/** What the points leave over beyond the plane's numbers; at least one, where the scatter is that of other faces. */
export const degreesOfFreedom = ({ pointCount }: Pick<FaceFit, 'pointCount'>): number => Math.max(1, pointCount - PARAMETERS);

/** 95 % in sigmas of a scatter known from so many degrees of freedom. */
export const sigmasFor95 = (freedom: number): number => (freedom >= MANY ? SIGMAS_95 : studentQuantile(0.975, freedom));

/** From here on Student's factor differs from the normal one by less than 2.5 %. */
const MANY = 50;

function finishFit(sums: FitSums, face: Face, fit: CellFit, correlation: Correlation, lags: LagSums): FaceFit {
  const [a, b, c] = face.plane.normal;
  const [x, y] = fit.centroid;
  // The correction is along the segment's normal: height along z is it over the normal's z, slopes likewise.
  const vertical = 1 / c;
  // A scatter known from few points is itself unsure: 95 % then takes more sigmas. The variance takes the square of that, so
  // that 1.96 sigmas hold wherever it is used (Student's distribution, GUM G.3).
  const widened = vertical * vertical * (sigmasFor95(degreesOfFreedom(fit)) / SIGMAS_95) ** 2;
  return {
    centroid: fit.centroid,
    elevation: -(a * x + b * y + face.plane.offset) / c + fit.height * vertical,
    slopeX: -a / c + fit.slopeX * vertical,
    slopeY: -b / c + fit.slopeY * vertical,
    covariance: fitCovariance(sums, fit, correlation, lags.pointVariance).map((value) => value * widened),
    correlation,
    noise: Math.sqrt(lags.pointVariance),
    pointCount: fit.pointCount,
    density: lags.area > 0 ? fit.pointCount / lags.area : 0,
    notes: fit.notes,
  };
}
