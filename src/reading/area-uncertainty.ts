import { measured, type Measured } from '../units/measured.ts';
import type { Assumptions } from './assumptions.ts';
import { SIGMAS_95, slopeSigmas, type PlaneEstimate } from './plane-uncertainty.ts';

export interface AreaInput {
  /** [m²] */
  readonly planArea: number;
  /** One sigma of the plan area from where its edges were seen. [m²] */
  readonly edgeSigma: number;
}

/**
 * Plan and slope area (methods E): edges, pitch, scale and tilt. The scatter of the edges comes from the corners' common
 * adjustment; for independent sides it is the root of Σ (length × sideways sigma)².
 */
export function areaReadings(plane: PlaneEstimate, { planArea, edgeSigma }: AreaInput, { scale, tiltDeg }: Assumptions): { plan: Measured; slope: Measured } {
  const plan = [
    { name: 'edge', u95: SIGMAS_95 * edgeSigma },
    { name: 'scale', u95: 2 * planArea * scale },
  ];
  const fall = Math.hypot(plane.slopeX, plane.slopeY);
  const stretch = Math.sqrt(1 + fall * fall);
  const slopeArea = planArea * stretch;
  // d sqrt(1 + f²) = f / sqrt(1 + f²) df; in terms of pitch A tan θ dθ.
  const fit = ((planArea * fall) / stretch) * SIGMAS_95 * slopeSigmas(plane).along;
  const tilt = slopeArea * fall * ((tiltDeg * Math.PI) / 180);
  return {
    plan: measured(planArea, plan),
    slope: measured(slopeArea, [
      { name: 'edge', u95: plan[0]!.u95 * stretch },
      { name: 'fit', u95: fit },
      { name: 'scale', u95: plan[1]!.u95 * stretch },
      { name: 'tilt', u95: tilt },
    ]),
  };
}

/** Length between two places whose positions along the length are known to one sigma each. */
export function lengthReading(length: number, sigmaFrom: number, sigmaTo: number, { scale }: Assumptions): Measured {
  return measured(length, [
    { name: 'ends', u95: SIGMAS_95 * Math.hypot(sigmaFrom, sigmaTo) },
    { name: 'scale', u95: length * scale },
  ]);
}
