import type { FaceFit } from '../faces/fit-faces.ts';
import { cellCentre } from '../raster/roof-raster.ts';
import type { RaisedPatch } from './find-obstructions.ts';
import { grown, type ObstructionContext } from './patch-points.ts';

/** A cell with less than this share of the roof's usual density shows no roof. */
const BARE_SHARE = 0.5;
/** Points nearer to the roof than this are its own. [sigmas] */
const OWN_SIGMAS = 2;
/** How far beyond a patch its thing may reach: its width, in cells, and this at least. */
const LEAST_REACH = 3;
/** Less of its patch is bare where the roof is seen through the thing. */
const LEAST_OF_PATCH = 0.5;

/**
 * Cells of a patch, and of what goes on beside it, in which the roof's own points are missing. Points of glass are few and scatter
 * widely, so that what is raised of it is a part of it; the roof it hides is all of it.
 *
 * @param offset  Of the roof about the patch from its plane. [m]
 * @returns Centres of the cells, or null where they do not show the thing: the roof is seen through it, or missing far around it.
 */
export function bareCells(patch: RaisedPatch, offset: number, fit: FaceFit, { raster, points, fits }: ObstructionContext): { x: Float64Array; y: Float64Array } | null {
  const reach = Math.max(LEAST_REACH, Math.ceil(Math.sqrt(patch.cells.length)));
  const cells = grown(raster, patch.cells, reach);
  const { x, y, z, from } = points.gather(cells);
  const fewest = BARE_SHARE * fit.density * raster.step * raster.step;
  const bare = new Set<number>();
  cells.forEach((k, c) => {
    const { elevation, slopeX, slopeY, centroid, noise } = raster.face[k] ? fits[raster.face[k]! - 1]! : fit;
    let own = 0;
    for (let i = from[c]!; i < from[c + 1]!; i++) {
      const above = z[i]! - (elevation + slopeX * (x[i]! - centroid[0]) + slopeY * (y[i]! - centroid[1])) - offset;
      if (Math.abs(above) <= OWN_SIGMAS * noise) own++;
    }
    if (own < fewest) bare.add(k);
  });
  const found = patch.cells.filter((k) => bare.has(k));
  if (found.length < LEAST_OF_PATCH * patch.cells.length) return null;
  const { columns } = raster;
  const seen = new Set(found);
  for (let next = 0; next < found.length; next++) {
    for (const step of [-1, 1, -columns, columns]) {
      const k = found[next]! + step;
      if (!bare.has(k) || seen.has(k)) continue;
      seen.add(k);
      found.push(k);
    }
  }
  const inside = new Set(grown(raster, patch.cells, reach - 1));
  if (found.some((k) => !inside.has(k))) return null;
  const centres = found.sort((a, b) => a - b).map((k) => cellCentre(raster, k));
  return { x: Float64Array.from(centres, (p) => p[0]), y: Float64Array.from(centres, (p) => p[1]) };
}
