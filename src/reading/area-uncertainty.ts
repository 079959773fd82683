import { measured, type Measured, type MeasuredValue } from '../units/measured.ts';
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
export function areaReadings(plane: PlaneEstimate, { planArea, edgeSigma }: AreaInput, { scale, tiltDeg }: Assumptions): { plan: MeasuredValue; slope: MeasuredValue } {
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

/** Reconstructions round edges off, and counting meets them with this bias, the same along all outer sides: 95 %. [m], [spacings] */
const RIM_BIAS_M = 0.008;
const RIM_BIAS_SPACINGS = 0.1;

/**
 * Area of several bordering planes together.
 *
 * @param edgeSigma  One sigma of the sum of plan areas, and of slope areas, from where edges were seen. [m²]
 * @param outer  Sides with no roof beyond: length on the surface, and the spacing of points. [m]
 */
export function togetherReadings(
  all: readonly { readonly plane: PlaneEstimate; readonly planArea: number }[],
  edgeSigma: { readonly plan: number; readonly slope: number },
  outer: { readonly length: number; readonly spacing: number },
  assumptions: Assumptions,
): { plan: MeasuredValue; slope: MeasuredValue } {
  let [plan, slope, tilt, fitSquared] = [0, 0, 0, 0];
  for (const { plane, planArea } of all) {
    const own = areaReadings(plane, { planArea, edgeSigma: 0 }, assumptions).slope;
    const part = (name: string): number => own.parts?.find((one) => one.name === name)?.u95 ?? 0;
    plan += planArea;
    slope += own.value;
    tilt += part('tilt');
    fitSquared += part('fit') ** 2;
  }
  const rim = { name: 'rim', u95: outer.length * Math.max(RIM_BIAS_M, RIM_BIAS_SPACINGS * outer.spacing) };
  return {
    plan: measured(plan, [{ name: 'edge', u95: SIGMAS_95 * edgeSigma.plan }, rim, { name: 'scale', u95: 2 * plan * assumptions.scale }]),
    slope: measured(slope, [
      { name: 'edge', u95: SIGMAS_95 * edgeSigma.slope }, rim, { name: 'fit', u95: Math.sqrt(fitSquared) },
      { name: 'scale', u95: 2 * slope * assumptions.scale }, { name: 'tilt', u95: tilt },
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
