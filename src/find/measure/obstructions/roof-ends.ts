import { log } from '../../../geometry/same-math.ts';
import type { Side } from './count-side.ts';

/** Roof about a rough side: where its density is taken, from and to. [of the reach] */
const OUTSIDE = [0.6, 1.5] as const;
const INSIDE = 0.4;
const FEWEST_OUTSIDE = 8;
/** More of the roof than this seen through a thing shows no border. [share] */
const MOST_SEEN_THROUGH = 0.5;
/** What strays and noise leave of it at least. [share] */
const LEAST_SEEN_THROUGH = 0.02;
/** Scatter of the likeliest step, in mean distances between points across it: of 60 simulated steps from a tenth to the whole. */
const BORDER_SCATTER = 2.5;

/** How far beyond a rough side points are wanted. [of the reach] */
export const ROOF_SEEN = OUTSIDE[1];

/**
 * Where the roof's own points cease: likeliest step between two densities (change point of a Poisson process: Raftery & Akman
 * 1986, Biometrika 73:85). Glass scatters so much that its points say little of where it ends; the roof about it does not.
 *
 * @param away  Of the roof's own points, outward of the thing's middle. [m]
 * @param about  Where the side is thought to be. [m] @param reach  How far it may be off. [m]
 * @returns null where the roof is seen through the thing, or nowhere beside it.
 */
export function roofEnds(away: readonly number[], about: number, reach: number): Side | null {
  const own = Float64Array.from(away.filter((d) => d >= 0 && d <= about + OUTSIDE[1] * reach)).sort();
  const countIn = (from: number, to: number): number => own.reduce((n, d) => n + (d >= from && d < to ? 1 : 0), 0);
  const [from, end] = [about + OUTSIDE[0] * reach, about + OUTSIDE[1] * reach];
  const outside = countIn(from, end);
  if (outside < FEWEST_OUTSIDE) return null;
  const roof = outside / (end - from);
  const core = Math.max(INSIDE * about, about - reach);
  const through = Math.max(LEAST_SEEN_THROUGH * roof, countIn(0, core) / core);
  if (through > MOST_SEEN_THROUGH * roof) return null;
  const perPoint = log(roof / through);
  let [best, at] = [-Infinity, about];
  own.forEach((d, before) => {
    const gain = d * (roof - through) - before * perPoint;
    if (gain > best) [best, at] = [gain, d];
  });
  return at > core && at < end ? { at, sigma: BORDER_SCATTER / (roof - through) } : null;
}
