import { heightVariance, SIGMAS_95 } from '../../../reading/plane-uncertainty.ts';
import { detectionRatio, judgeFeature, LOWEST } from '../../../reading/resolvability.ts';
import { normalCumulative } from '../../../geometry/distributions.ts';
import type { Obstruction, ObstructionShape } from '../../../roof/record.ts';
import { measured } from '../../../units/measured.ts';
import type { RaisedPatch } from './find-obstructions.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { refineFootprint } from './footprint-sides.ts';
import { elevationAt } from '../borders/intersections.ts';
import { liftedShare, TALL_SIGMAS } from './lifted-share.ts';
import { findTop, markTopAndRoof, middleOfTop, topAbove, type Top, type TopHeight } from './obstruction-top.ts';
import { bareCells } from './bare-cells.ts';
import { roofBeneath } from './roof-beneath.ts';
import { patchPoints, pointsAround, roofAround, type ObstructionContext } from './patch-points.ts';
import { footprintArea, footprintCorners, footprintOf, type Footprint } from './top-shape.ts';

/** Shallow things that follow the roof: skylights, modules, hatches. [m] */
const FLUSH_HEIGHT = 0.13;
/** At the roof's rim, narrower things are what a wall's foot or top leaves in the raster. [cells, and m at most] */
const RIM_CELLS = 2.5;
const RIM_WIDTH = 0.25;
const LINE_ASPECT = 4;
const LINE_WIDTH = 0.6;
/** A top rougher than this many sigmas is no lid: leaves, a heap, a figure. */
const ROUGH_SIGMAS = 4;
/** Height lost on small things by smoothing, as a share of itself at a width of one sample, falling with its square. */
const ATTENUATION = 0.5;
/** A low thing hides so many times more roof than its points would cover: glass. */
const THIN_SHARE = 1.3;
/** Times the limit of detection that a low thing must reach, and share up that a rough one must. */
const LOW_RATIO = 1.8;
const ROUGH_SHARE = 0.6;

export type MeasuredObstruction = Omit<Obstruction, 'id' | 'onPlane'> & { readonly face: number };

/** How far below a top points of its sides are taken for it. [sigmas] */
const SIDES_TAKEN = 2.5;

const perimeterOf = ({ size }: Footprint): number => 2 * (size[0] + size[1]);

/**
 * Sides scatter inward across the rim of what is averaged and lie below it, the more the smaller the top. At most as many
 * points stand on them as on the top, by area.
 *
 * @param sigma  Of the points. [m]
 * @returns 95 % half width. [m]
 */
function sidesInTop({ area, inset, roughness }: TopHeight, rise: number, sigma: number): number {
  const depth = Math.min(rise, SIDES_TAKEN * roughness * sigma);
  const taken = perimeterOf(area) * depth * (1 - normalCumulative(inset / sigma));
  return ((depth / 2) * taken) / (footprintArea(area) + taken);
}

/**
 * Footprint, height and shape of one raised patch from its points: the top is where most points of the upper part lie
 * level, or at one height above the roof; the footprint is the top's; the height is taken above the roof around it.
 *
 * @returns null when no top can be made out.
 */
export function measureObstruction(patch: RaisedPatch, context: ObstructionContext): MeasuredObstruction | null {
  const { fits, groundSampleDistance } = context;
  const fit = fits[patch.face - 1]!;
  const raised = patchPoints(patch, fit, context);
  const spacing = 1 / Math.sqrt(Math.max(1e-6, fit.density));
  const top = findTop(raised, fit, Math.max(0.02, 0.35 * patch.height));
  if (!top) return null;
  const base = roofAround(patch, fit, context);
  const hidden = patch.height < TALL_SIGMAS * fit.noise ? bareCells(patch, base.offset, fit, context) : null;
  const bare = hidden && hidden.x.length * context.raster.step ** 2 > THIN_SHARE * (top.z.length / Math.max(1, fit.density)) ? hidden : null;
  const rough = bare ? footprintOf(bare.x, bare.y, context.raster.step) : footprintOf(top.x, top.y, spacing);
  const roughRise = topAbove(rough.centre, top) - elevationAt(fit, rough.centre) - base.offset;
  if (!(roughRise > 0)) return null;
  const around = pointsAround(patch, fit, context);
  const footprint = refineFootprint(rough, { ...markTopAndRoof(around, top, base.offset, fit.noise), isThin: bare !== null }, { spacing, noise: fit.noise, correlation: fit.correlation });
  const at = footprint.centre;
  const middle = middleOfTop(around, top, footprint, spacing, roughRise, fit);
  const beneath = roofBeneath(patch, middle, fit, context);
  const planeSigma = Math.sqrt(heightVariance(fit, at));
  const rise = middle.height - elevationAt(fit, at) - beneath.offset;
  if (!(rise >= LOWEST)) return null;
  const width = Math.min(...footprint.size);
  const samples = width / Math.max(spacing, groundSampleDistance ?? 0);
  const lost = rise * Math.min(1, ATTENUATION / (samples * samples));
  const height = measured(rise, [
    { name: 'top', u95: SIGMAS_95 * beneath.sigma },
    { name: 'roof', u95: SIGMAS_95 * (1 - beneath.ringShare) * planeSigma },
    // On a slope a level top's height above the roof hangs on where its middle is.
    { name: 'place', u95: (SIGMAS_95 * footprint.sigma * Math.hypot(fit.slopeX - top.slopeX, fit.slopeY - top.slopeY)) / 2 },
    { name: 'smoothing', u95: lost },
    { name: 'sides', u95: sidesInTop(middle, rise, fit.noise) },
  ]);
  const area = footprintArea(footprint);
  const sides = footprint.round ? area * 2 * (footprint.sigma / footprint.size[0]) : Math.hypot(footprint.size[0], footprint.size[1]) * footprint.sigma;
  const verdict = judgeFeature({
    height: rise, width, length: Math.max(...footprint.size), noise: fit.noise, correlationLength: fit.correlation.length, spacing, groundSampleDistance,
  });
  // What lies below the limit at its whole area cannot be told from noise, whatever the test on squares said.
  if (detectionRatio({ height: rise, width: Math.sqrt(area), noise: fit.noise, correlationLength: fit.correlation.length, spacing }) < 1) return null;
  const shareUp = liftedShare(footprint, rise, base, patch, context);
  if (shareUp === null) return null;
  const { shape, note } = shapeOf(footprint, rise, top, fit, patch);
  // Rough heaps of points among as many of the roof are strays and pieces of wall.
  if (shape === 'unknown' && shareUp < ROUGH_SHARE) return null;
  // A line gathers evidence along its length; anything else must pass at its width, and clearly where it is low.
  const ratio = detectionRatio({ height: rise, width, noise: fit.noise, correlationLength: fit.correlation.length, spacing });
  if (shape !== 'line' && ratio < (rise < TALL_SIGMAS * fit.noise ? LOW_RATIO : 1)) return null;
  if (patch.beyondRim > 0 && width < Math.min(RIM_CELLS * context.raster.step, RIM_WIDTH)) return null;
  return {
    face: patch.face,
    footprint: footprintCorners(footprint),
    planAreaM2: measured(area, [{ name: 'sides', u95: SIGMAS_95 * sides }, { name: 'edge', u95: perimeterOf(footprint) * footprint.common }]),
    heightAboveRoofM: height,
    shape,
    resolvability: verdict.resolvability,
    evidence: {
      ring: { points: beneath.points, widthM: beneath.width, aboveM: beneath.offset, u95M: SIGMAS_95 * Math.hypot(beneath.offsetSigma, (1 - beneath.ringShare) * planeSigma) },
      top: { points: middle.points, roughness: middle.roughness, alongRoof: top.follows },
      samplesAcross: samples, smoothedM: lost, shareUp, roughAreaM2: footprintArea(rough),
      timesLimit: detectionRatio({ height: rise, width, length: Math.max(...footprint.size), noise: fit.noise, correlationLength: fit.correlation.length, spacing }),
    },
    note: note ? `${note}; ${verdict.why}` : verdict.why,
  };
}

function shapeOf({ size, round }: Footprint, rise: number, top: Top, fit: FaceFit, patch: RaisedPatch): { shape: ObstructionShape; note?: string } {
  const across = patch.cells.length > 0 && patch.beyondRim > Math.sqrt(patch.cells.length) ? 'reaches beyond the roof' : null;
  const rough = top.roughness > ROUGH_SIGMAS * fit.noise || top.share < 0.25;
  const note = across ? { note: across } : {};
  if (rough) return { shape: 'unknown', note: across ? `${across}; its top is rough` : 'its top is rough' };
  if (size[0] >= LINE_ASPECT * size[1] && size[1] <= LINE_WIDTH) return { shape: 'line', ...note };
  if (top.follows && rise <= FLUSH_HEIGHT) return { shape: 'flush', ...note };
  return { shape: round ? 'cylinder' : 'box', ...note };
}
