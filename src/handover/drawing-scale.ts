/** Usual drawing scales, largest first. ISO 5455:1979, table of reduction scales, with 1 : 25 and 1 : 250 of building practice. */
export const SCALES: readonly number[] = [20, 25, 50, 100, 200, 250, 500, 1000, 2000, 5000, 10_000];

/**
 * The largest usual scale at which something fits a sheet.
 *
 * @param widthM, depthM  Size of the thing. [m]
 * @param roomWidthMm, roomDepthMm  Free paper. [mm]
 * @returns The denominator: 100 for 1 : 100.
 */
export function fittingScale(widthM: number, depthM: number, roomWidthMm: number, roomDepthMm: number): number {
  const needed = Math.max((widthM * 1000) / roomWidthMm, (depthM * 1000) / roomDepthMm);
  for (const scale of SCALES) if (scale >= needed) return scale;
  return Math.ceil(needed / 10_000) * 10_000;
}
