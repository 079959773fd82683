import { alongLine, besideLine, onLine, type PlanLine } from '../../../geometry/plan-line.ts';
import type { Vector2, Vector3 } from '../../../geometry/vector.ts';
import { upperMedian } from '../../../geometry/order-statistic.ts';
import { heightVariance } from '../../../reading/plane-uncertainty.ts';
import { eachCellBeside } from '../raster/cells-beside.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { elevationAt } from '../borders/intersections.ts';
import type { PointLookup } from '../raster/point-lookup.ts';
import { covarianceAt, type Correlation } from '../faces/residual-correlation.ts';
import type { RoofRaster } from '../raster/roof-raster.ts';

/** How far outward from the inner face a parapet is looked for. [m] */
const WIDEST = 1.1;
/** Length along a parapet over which its top is taken as one height. [m] */
const BIN = 0.6;
/** Share of the top's points left out at each rim before their extent is taken. */
const TAIL = 0.05;
/** Points at these shares of the height stand on a side of the parapet, clear of the roof and of the rounded rim. */
const SIDE_HEIGHTS = [0.25, 0.75] as const;
/** A side is looked for so far from where the top seems to end. [m] */
const SIDE_REACH = 0.06;
const FEWEST_ON_SIDE = 10;
/** A rim by the top alone errs by so much: of the spacing, and of the noise, about which reconstructions round an edge. */
const RIM_SPACINGS = 0.15;
const RIM_NOISES = 1.25;
/** A side's points lean by so much of the noise, at its foot and at its rim. */
const SIDE_NOISES = 0.25;

/** A straight leg of a parapet; height and thickness are 0 where too few points show them. [m] */
export interface ParapetLeg {
  readonly from: Vector3;
  readonly to: Vector3;
  readonly length: number;
  readonly height: number;
  readonly heightSigma: number;
  /** What was added to the height for the rounding of the rims, and how far it may be off. [m] */
  readonly rounding: number;
  readonly thickness: number;
  readonly thicknessSigma: number;
}

type Ends = Pick<ParapetLeg, 'from' | 'to'>;

/** Points that rise beside a leg. */
interface Strip {
  readonly rise: number[];
  readonly outward: number[];
  readonly bin: number[];
  readonly bins: number;
}

const lengthOf = ({ from, to }: Ends): number => Math.hypot(to[0] - from[0], to[1] - from[1]);

export function lineOfLeg(leg: Ends): PlanLine {
  const size = lengthOf(leg);
  return { at: [leg.from[0], leg.from[1]], direction: [(leg.to[0] - leg.from[0]) / size, (leg.to[1] - leg.from[1]) / size] };
}

/** What rises outward (to the right of the direction) of a straight inner face. */
export function measureLeg(leg: Ends, fit: FaceFit, raster: RoofRaster, points: PointLookup): ParapetLeg {
  const length = lengthOf(leg);
  const strip = pointsBeside(leg, fit, raster, points);
  const band = Math.max(0.02, 2.5 * fit.noise);
  const tops = topsOf(strip, band);
  const onTop = strip.outward.filter((_, i) => tops[strip.bin[i]!]! > 0 && Math.abs(strip.rise[i]! - tops[strip.bin[i]!]!) <= band);
  const middle: Vector2 = [(leg.from[0] + leg.to[0]) / 2, (leg.from[1] + leg.to[1]) / 2];
  const sides = thicknessOf(strip, tops, onTop, fit, length);
  const rounding = topRounding(sides.thickness, 1 / Math.sqrt(Math.max(1e-6, fit.density)));
  const top = upperMedian(tops.filter((height) => height > 0));
  return {
    from: leg.from,
    to: leg.to,
    length,
    height: top > 0 ? top + rounding : top,
    rounding,
    heightSigma: Math.hypot(stripSigma(fit.correlation, onTop.length, length, sides.thickness), Math.sqrt(heightVariance(fit, middle))),
    ...sides,
  };
}

/** One sigma of the mean of points spread over a strip, which waves shorter than its length do not move as a whole. [m] */
function stripSigma(correlation: Correlation, count: number, length: number, width: number): number {
  const first = correlation.distances[0] ?? 1;
  const across = Math.max(1, Math.min(MOST_ACROSS, Math.round(width / first)));
  const along = Math.max(1, Math.min(MOST_ALONG, Math.round(length / first)));
  const [dx, dy] = [length / along, width / across];
  let sum = 0;
  for (let i = 0; i < along; i++) {
    for (let j = 0; j < across; j++) {
      const times = (i === 0 ? 1 : 2) * (j === 0 ? 1 : 2) * (along - i) * (across - j);
      sum += times * covarianceAt(correlation, Math.hypot(i * dx, j * dy));
    }
  }
  return Math.sqrt(Math.max(0, sum / (along * across) ** 2) + correlation.alone / Math.max(1, count));
}

const MOST_ALONG = 400;
const MOST_ACROSS = 12;

function pointsBeside(leg: Ends, fit: FaceFit, raster: RoofRaster, points: PointLookup): Strip {
  const line = lineOfLeg(leg);
  const length = lengthOf(leg);
  const least = Math.max(0.08, 5 * fit.noise);
  const bins = Math.max(1, Math.round(length / BIN));
  const strip: Strip = { rise: [], outward: [], bin: [], bins };
  eachCellBeside(raster, line, 0, length, raster.step, WIDEST, (k) => {
    points.each(k, (x, y, z, label) => {
      if (label !== 0) return;
      const at: Vector2 = [x, y];
      const along = alongLine(line, at);
      const outward = -besideLine(line, at);
      if (along < 0 || along >= length || outward < -raster.step || outward > WIDEST) return;
      // Above the roof where the wall meets it: a roof that falls from it goes on rising under the wall.
      const rise = z - elevationAt(fit, onLine(line, along));
      if (rise < least) return;
      strip.rise.push(rise);
      strip.outward.push(outward);
      strip.bin.push(Math.min(bins - 1, Math.floor((along / length) * bins)));
    });
  });
  return strip;
}

/** A cloud has about a point for every second pixel (common practice, no source), and a reconstruction blurs over a pixel. */
const BLUR_SPACINGS = 0.5;
/** A top hardly wider than the blur sinks by no more than this. [blurs] */
const MOST_ROUNDING = 0.5;

/**
 * How far the top of a wall sinks because both of its rims are rounded: a Gaussian blur b across a square rim takes b² / 2 from
 * the section below the top (the integral of 2 b (φ(t) − t Q(t)) over the distance from the rim), so a top of width w sinks by
 * b² / w in the mean.
 */
function topRounding(thickness: number, spacing: number): number {
  const blur = BLUR_SPACINGS * spacing;
  const most = MOST_ROUNDING * blur;
  return thickness > 0 ? Math.min(most, (blur * blur) / thickness) : most / 2;
}

/** Height of the top bin by bin; 0 where too few points rise. [m] */
function topsOf(strip: Strip, band: number): number[] {
  const rises: number[][] = Array.from({ length: strip.bins }, () => []);
  strip.rise.forEach((rise, i) => rises[strip.bin[i]!]!.push(rise));
  return rises.map((values) => (values.length < 5 ? 0 : topOf(values, band)));
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

/**
 * From side to side: where points stand on an upright side they fix it to millimetres. The top alone ends short of its
 * sides, by as much as the reconstruction rounds its rims.
 */
function thicknessOf(
  strip: Strip,
  tops: readonly number[],
  onTop: readonly number[],
  fit: FaceFit,
  length: number,
): Pick<ParapetLeg, 'thickness' | 'thicknessSigma'> {
  if (onTop.length < 10) return { thickness: 0, thicknessSigma: 0 };
  const sorted = [...onTop].sort((p, q) => p - q);
  const at = (share: number): number => sorted[Math.round(share * (sorted.length - 1))]!;
  const extent = (at(1 - TAIL) - at(TAIL)) / (1 - 2 * TAIL);
  const spacing = 1 / Math.sqrt(Math.max(1e-6, fit.density));
  const rim = { sigma: Math.hypot(RIM_SPACINGS * spacing, extent * Math.sqrt(TAIL / onTop.length)), rounding: RIM_NOISES * fit.noise };
  const height = upperMedian(tops.filter((top) => top > 0));
  const sideAt = (end: number): { at: number; sigma: number; rounding: number } => {
    const reach = Math.min(extent / 2, Math.max(SIDE_REACH, spacing));
    const places = strip.outward.filter((outward, i) => {
      const share = strip.rise[i]! / tops[strip.bin[i]!]!;
      return share >= SIDE_HEIGHTS[0] && share <= SIDE_HEIGHTS[1] && Math.abs(outward - end) <= reach;
    });
    if (places.length < FEWEST_ON_SIDE) return { at: end, ...rim };
    const seen = (SIDE_HEIGHTS[1] - SIDE_HEIGHTS[0]) * height;
    return { at: upperMedian(places), sigma: Math.hypot(stripSigma(fit.correlation, places.length, length, seen), SIDE_NOISES * fit.noise), rounding: 0 };
  };
  const [inner, outer] = [sideAt(at(TAIL) - TAIL * extent), sideAt(at(1 - TAIL) + TAIL * extent)];
  // Both rims are rounded alike, so what that leaves out adds up.
  return { thickness: outer.at - inner.at, thicknessSigma: Math.hypot(inner.sigma, outer.sigma, inner.rounding + outer.rounding) };
}
