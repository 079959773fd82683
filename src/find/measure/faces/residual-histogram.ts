import type { FaceFit } from './fit-faces.ts';
import { elevationAt } from '../borders/intersections.ts';
import { cellCentre, isPure, type Face, type RoofRaster } from '../raster/roof-raster.ts';

const BINS_EACH_SIDE = 15;

/**
 * Residuals of a face's raster cells (means of some four points) about its plane, along the normal. Bins are a third of
 * the noise wide; the outermost take everything beyond.
 */
export function residualHistogram(raster: RoofRaster, face: Face, fit: FaceFit): { binM: number; counts: number[] } | null {
  if (!(fit.noise > 0)) return null;
  const binM = fit.noise / 3;
  const counts = new Array<number>(2 * BINS_EACH_SIDE + 1).fill(0);
  const [a, b, c] = face.plane.normal;
  for (let k = 0; k < raster.face.length; k++) {
    if (raster.face[k] !== face.number || raster.label[k] !== face.label || !isPure(raster, k)) continue;
    const at = cellCentre(raster, k);
    const own = -(a * at[0] + b * at[1] + face.plane.offset) / c;
    const away = raster.sum[k]! / raster.count[k]! + (own - elevationAt(fit, at)) * c;
    const bin = Math.min(BINS_EACH_SIDE, Math.max(-BINS_EACH_SIDE, Math.round(away / binM)));
    counts[bin + BINS_EACH_SIDE]! += raster.count[k]!;
  }
  return { binM, counts };
}
