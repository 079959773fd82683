import { alongLine, besideLine, type PlanLine } from '../../geometry/plan-line.ts';
import type { Vector2, Vector3 } from '../../geometry/vector.ts';
import { heightVariance, SIGMAS_95 } from '../../reading/plane-uncertainty.ts';
import type { Parapet } from '../../roof/record.ts';
import { measured, missing, type Measured } from '../../units/measured.ts';
import { eachCellBeside } from './cells-beside.ts';
import type { FaceFit } from './fit-faces.ts';
import { elevationAt } from './intersections.ts';
import type { PointLookup } from './point-lookup.ts';
import { meanHeightU95 } from './residual-correlation.ts';
import type { FoundEdge } from './roof-edges.ts';
import type { RoofRaster } from './roof-raster.ts';
import type { SolvedCorners } from './solve-corners.ts';
import type { RoofMap } from './split-arcs.ts';

/** How far outward from the inner face a parapet is looked for. [m] */
const WIDEST = 1.1;
/** Length along a parapet over which its top is taken as one height. [m] */
const BIN = 0.6;
/** Chains are broken where the top steps by more than this. [m] */
const STEP = 0.2;
const TAIL = 0.05;

/** A straight leg of a parapet; height and thickness are 0 where too few points show them. [m] */
export interface ParapetLeg {
  readonly from: Vector3;
  readonly to: Vector3;
  readonly length: number;
  readonly height: number;
  readonly heightSigma: number;
  readonly thickness: number;
  readonly thicknessSigma: number;
}

interface Measurement extends ParapetLeg {
  readonly vertices: readonly [number, number];
}

/** Measures the raised strip behind every parapet edge and joins neighbours into parapets. */
export function roofParapets(
  edges: readonly FoundEdge[],
  map: RoofMap,
  solved: SolvedCorners,
  fits: readonly FaceFit[],
  raster: RoofRaster,
  points: PointLookup,
): Omit<Parapet, 'id'>[] {
  const found = edges.filter(({ kind }) => kind === 'parapet');
  const measurements = found.map((edge): Measurement => {
    const { from, to } = map.pieces[edge.piece]!;
    const [a, b] = [solved.standsFor[from]!, solved.standsFor[to]!];
    const forward = map.pieces[edge.piece]!.left === edge.faces[0];
    return { ...measureLeg(edge, fits[edge.faces[0]! - 1]!, raster, points), vertices: forward ? [a, b] : [b, a] };
  });
  return chains(measurements).map(joinChain);
}

type Leg = Pick<FoundEdge, 'from' | 'to'>;

const lengthOf = ({ from, to }: Leg): number => Math.hypot(to[0] - from[0], to[1] - from[1]);
const lineOf = (edge: Leg): PlanLine => {
  const size = lengthOf(edge);
  return { at: [edge.from[0], edge.from[1]], direction: [(edge.to[0] - edge.from[0]) / size, (edge.to[1] - edge.from[1]) / size] };
};

/** What rises outward (to the right of the direction) of a straight inner face. */
export function measureLeg(edge: Leg, fit: FaceFit, raster: RoofRaster, points: PointLookup): ParapetLeg {
  const line = lineOf(edge);
  const length = lengthOf(edge);
  const least = Math.max(0.08, 5 * fit.noise);
  const bins = Math.max(1, Math.round(length / BIN));
  const rises: number[][] = Array.from({ length: bins }, () => []);
  const places: number[][] = Array.from({ length: bins }, () => []);
  eachCellBeside(raster, line, 0, length, raster.step, WIDEST, (k) => {
    points.each(k, (x, y, z, label) => {
      if (label !== 0) return;
      const at: Vector2 = [x, y];
      const along = alongLine(line, at);
      const outward = -besideLine(line, at);
      if (along < 0 || along >= length || outward < -raster.step || outward > WIDEST) return;
      const rise = z - elevationAt(fit, at);
      if (rise < least) return;
      const bin = Math.min(bins - 1, Math.floor((along / length) * bins));
      rises[bin]!.push(rise);
      places[bin]!.push(outward);
    });
  });
  const band = Math.max(0.02, 2.5 * fit.noise);
  const tops: number[] = [];
  const across: number[] = [];
  rises.forEach((values, bin) => {
    if (values.length < 5) return;
    const top = topOf(values, band);
    tops.push(top);
    values.forEach((rise, i) => {
      if (Math.abs(rise - top) <= band) across.push(places[bin]![i]!);
    });
  });
  const thickness = middleExtent(across);
  const middle: Vector2 = [(edge.from[0] + edge.to[0]) / 2, (edge.from[1] + edge.to[1]) / 2];
  const spacing = 1 / Math.sqrt(Math.max(1e-6, fit.density));
  return {
    from: edge.from,
    to: edge.to,
    length,
    height: median(tops),
    heightSigma: Math.hypot(meanHeightU95(fit.correlation, Math.max(1, across.length), Math.min(1, length)) / SIGMAS_95, Math.sqrt(heightVariance(fit, middle))),
    thickness,
    thicknessSigma: thickness * Math.sqrt((2 * TAIL) / Math.max(4, across.length)) + 0.2 * spacing,
  };
}

/** Most common height among the upper values: the top; the wall's points spread over all heights below. */
function topOf(values: readonly number[], band: number): number {
  const sorted = [...values].sort((p, q) => p - q);
  let best = { centre: sorted[0]!, count: 0 };
  for (let i = 0, j = 0; i < sorted.length; i++) {
    while (sorted[i]! - sorted[j]! > 2 * band) j++;
    if (i - j + 1 >= best.count) best = { centre: sorted[(i + j) >> 1]!, count: i - j + 1 };
  }
  return best.centre;
}

function middleExtent(values: readonly number[]): number {
  if (values.length < 10) return 0;
  const sorted = [...values].sort((p, q) => p - q);
  const at = (share: number): number => sorted[Math.round(share * (sorted.length - 1))]!;
  return (at(1 - TAIL) - at(TAIL)) / (1 - 2 * TAIL);
}

const median = (values: readonly number[]): number => {
  const sorted = [...values].sort((p, q) => p - q);
  return sorted.length === 0 ? 0 : sorted[sorted.length >> 1]!;
};

/** Parapet edges that follow one another with one height. */
function chains(all: readonly Measurement[]): Measurement[][] {
  const usable = all.filter(({ height }) => height > 0);
  const left = new Set(usable);
  const result: Measurement[][] = [];
  for (const start of usable) {
    if (!left.has(start)) continue;
    left.delete(start);
    const chain = [start];
    const extend = (atEnd: boolean): boolean => {
      const last = atEnd ? chain.at(-1)! : chain[0]!;
      const vertex = last.vertices[atEnd ? 1 : 0];
      for (const next of usable) {
        if (!left.has(next) || next.vertices[atEnd ? 0 : 1] !== vertex || Math.abs(next.height - last.height) > STEP) continue;
        left.delete(next);
        if (atEnd) chain.push(next);
        else chain.unshift(next);
        return true;
      }
      return false;
    };
    while (extend(true));
    while (extend(false));
    result.push(chain);
  }
  return result;
}

/** Legs end to end as one parapet; at least one of them must have a height. */
export function joinChain(chain: readonly ParapetLeg[]): Omit<Parapet, 'id'> {
  const path: Vector3[] = chain.map(({ from }) => from);
  path.push(chain.at(-1)!.to);
  let [length, height, variance] = [0, 0, 0];
  for (const one of chain) {
    length += one.length;
    height += one.length * one.height;
    variance += (one.length * one.heightSigma) ** 2;
  }
  const mean = height / length;
  // Heights along one parapet differ for real where the roof falls; their spread is no error of the mean.
  const thick = chain.filter(({ thickness }) => thickness > 0);
  const thickness: Measured =
    thick.length === 0
      ? missing('too few points on top')
      : measured(median(thick.map((one) => one.thickness)), [{ name: 'rim', u95: SIGMAS_95 * Math.max(...thick.map((one) => one.thicknessSigma)) }]);
  return {
    path: closed(path),
    heightAboveRoofM: measured(mean, [{ name: 'fit', u95: (SIGMAS_95 * Math.sqrt(variance)) / length }, { name: 'top', u95: 0.01 }]),
    thicknessM: thickness,
  };
}

/** A ring's last corner is made exactly its first. */
function closed(path: Vector3[]): Vector3[] {
  const [first, last] = [path[0]!, path.at(-1)!];
  const isRing = path.length > 3 && Math.hypot(first[0] - last[0], first[1] - last[1]) < 1e-6;
  return isRing ? [...path.slice(0, -1), first] : path;
}
