import { alongLine, besideLine } from '../../../geometry/plan-line.ts';
import type { Vector3 } from '../../../geometry/vector.ts';
import { upperMedian } from '../../../geometry/order-statistic.ts';
import { SIGMAS_95 } from '../../../reading/plane-uncertainty.ts';
import type { Parapet } from '../../../roof/record.ts';
import { measured, missing, type Measured } from '../../../units/measured.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { lineOfLeg, measureLeg, type ParapetLeg } from './parapet-leg.ts';
import type { PointLookup } from '../raster/point-lookup.ts';
import type { FoundEdge } from './roof-edges.ts';
import type { RoofRaster } from '../raster/roof-raster.ts';
import type { SolvedCorners } from '../corners/solve-corners.ts';
import type { RoofMap } from '../borders/split-arcs.ts';

/** Chains are broken where the top steps by more than this. [m] */
const STEP = 0.2;
/** Flashings at the foot hide where the roof is. 95 %. [m: common practice, no source] */
const TOP_U95 = 0.005;
/** A chain is the far side of another where this share of its length lies there. */
const SAME_WALL = 0.7;
/** Sines of the angle between the two sides of one wall, and how far a side may lie from where the thickness puts it. [m] */
const SAME_DIRECTION = 0.1;
const SAME_SIDE = 0.15;

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
  return withoutFarSides(chains(measurements)).map(joinChain);
}

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

/** A wall between two planes is seen from both: the shorter chain of the two is left out. */
function withoutFarSides(all: readonly Measurement[][]): Measurement[][] {
  const size = (chain: readonly Measurement[]): number => chain.reduce((sum, { length }) => sum + length, 0);
  const kept: Measurement[][] = [];
  for (const chain of [...all].sort((a, b) => size(b) - size(a))) {
    const legs = kept.flat();
    const onFarSides = chain.filter((leg) => legs.some((other) => isFarSide(leg, other)));
    if (size(onFarSides) < SAME_WALL * size(chain)) kept.push(chain);
  }
  return all.filter((chain) => kept.includes(chain));
}

/** True where a leg runs back along the far side of another's wall, under the same top. */
function isFarSide(leg: Measurement, other: Measurement): boolean {
  const [line, back] = [lineOfLeg(other), lineOfLeg(leg)];
  const sine = line.direction[0] * back.direction[1] - line.direction[1] * back.direction[0];
  const cosine = line.direction[0] * back.direction[0] + line.direction[1] * back.direction[1];
  if (cosine > 0 || Math.abs(sine) > SAME_DIRECTION) return false;
  const middle: Vector3 = [(leg.from[0] + leg.to[0]) / 2, (leg.from[1] + leg.to[1]) / 2, (leg.from[2] + leg.to[2]) / 2];
  const along = alongLine(line, [middle[0], middle[1]]);
  if (along < 0 || along > other.length) return false;
  const outward = -besideLine(line, [middle[0], middle[1]]);
  if (Math.abs(outward - other.thickness) > SAME_SIDE) return false;
  const share = along / other.length;
  const top = other.from[2] + share * (other.to[2] - other.from[2]) + other.height;
  return Math.abs(middle[2] + leg.height - top) < STEP;
}

/** Legs end to end as one parapet; at least one of them must have a height. */
export function joinChain(chain: readonly ParapetLeg[]): Omit<Parapet, 'id'> {
  const path: Vector3[] = chain.map(({ from }) => from);
  path.push(chain.at(-1)!.to);
  let [length, height, variance, rounding] = [0, 0, 0, 0];
  for (const one of chain) {
    length += one.length;
    height += one.length * one.height;
    variance += (one.length * one.heightSigma) ** 2;
    rounding += one.length * one.rounding;
  }
  const mean = height / length;
  // Heights along one parapet differ for real where the roof falls; their spread is no error of the mean.
  const thick = chain.filter(({ thickness }) => thickness > 0);
  const thickness: Measured =
    thick.length === 0
      ? missing('too few points on top')
      : measured(upperMedian(thick.map((one) => one.thickness)), [{ name: 'rim', u95: SIGMAS_95 * Math.max(...thick.map((one) => one.thicknessSigma)) }]);
  return {
    path: closed(path),
    heightAboveRoofM: measured(mean, [{ name: 'fit', u95: (SIGMAS_95 * Math.sqrt(variance)) / length }, { name: 'top', u95: Math.hypot(TOP_U95, rounding / length) }]),
    thicknessM: thickness,
  };
}

/** A ring's last corner is made exactly its first. */
function closed(path: Vector3[]): Vector3[] {
  const [first, last] = [path[0]!, path.at(-1)!];
  const isRing = path.length > 3 && Math.hypot(first[0] - last[0], first[1] - last[1]) < 1e-6;
  return isRing ? [...path.slice(0, -1), first] : path;
}
