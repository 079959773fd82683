import { measured, type Measured } from '../units/measured.ts';
import type { Assumptions } from './assumptions.ts';
import { SIGMAS_95, slopeSigmas, type PlaneEstimate } from './plane-uncertainty.ts';

/** One side of an outline and how well its sideways position is known. */
export interface SideUncertainty {
  /** [m] */
  readonly planLength: number;
  /** One sigma, independent of the other sides. [m] */
  readonly sigma: number;
}

export interface AreaInput {
  /** [m²] */
  readonly planArea: number;
  readonly sides: readonly SideUncertainty[];
  /** What every side may be off by in common (which edge was seen, blur). 95 % half width. [m] */
  readonly edgeU95: number;
}

/**
 * Plan and slope area (methods E): u² = Σ (L u)² over independent sides + (perimeter × common edge)² + (2 A scale)²,
 * and for the slope area + (A tan θ u_θ)².
 */
export function areaReadings(plane: PlaneEstimate, { planArea, sides, edgeU95 }: AreaInput, { scale, tiltDeg }: Assumptions): { plan: Measured; slope: Measured } {
  let [squares, perimeter] = [0, 0];
  for (const side of sides) {
    squares += (side.planLength * side.sigma) ** 2;
    perimeter += side.planLength;
  }
  const edges = SIGMAS_95 * Math.sqrt(squares);
  const plan = [
    { name: 'edge', u95: Math.hypot(edges, perimeter * edgeU95) },
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
