import { isKnown, measured, type Measured, type MeasuredValue, type UncertaintyPart } from '../units/measured.ts';
import type { Assumptions } from './assumptions.ts';
import { SIGMAS_95, type PlaneEstimate } from './plane-uncertainty.ts';

/**
 * One sigma of an area by what it comes of, independent of one another: where edges were seen each for itself, what all outer
 * sides have alike, and the fits of planes. [m²]
 */
export interface AreaScatter {
  readonly edges: number;
  readonly rim: number;
  readonly planes: number;
}

export interface AreaInput {
  /** [m²] */
  readonly planArea: number;
  readonly plan: AreaScatter;
  /** Of the slope area: a plane's fit moves its borders with its neighbours and stretches it, both at once. */
  readonly slope: AreaScatter;
  /** Plan area that may lie behind what stands before its corners. Default 0. [m²] */
  readonly hidden?: number;
}

/** How many times a plane's surface is its plan area. [-] */
export const stretchOf = ({ slopeX, slopeY }: Pick<PlaneEstimate, 'slopeX' | 'slopeY'>): number => Math.sqrt(1 + slopeX * slopeX + slopeY * slopeY);

/** Change of a plane's slope area with its two slopes: d(A sqrt(1 + p² + q²)) = A (p dp + q dq) / sqrt(1 + p² + q²). [m²] */
export function slopeAreaGradient({ slopeX, slopeY }: PlaneEstimate, planArea: number): { slopeX: number; slopeY: number } {
  const share = planArea / stretchOf({ slopeX, slopeY });
  return { slopeX: share * slopeX, slopeY: share * slopeY };
}

/** A plane alone has no border that its fit could move. */
const scatterParts = ({ edges, rim, planes }: AreaScatter): UncertaintyPart[] => [
  { name: 'edge', u95: SIGMAS_95 * edges }, { name: 'rim', u95: SIGMAS_95 * rim }, { name: 'fit', u95: SIGMAS_95 * planes },
].filter(({ u95 }) => u95 > 0);

/**
 * A model that stands aslant leaves every surface as large as it is; what it covers in plan changes by A tan θ a radian along
 * the fall. Planes that fall apart make up for each other.
 */
function tiltPart(x: number, y: number, tiltDeg: number): UncertaintyPart[] {
  const u95 = Math.hypot(x, y) * ((tiltDeg * Math.PI) / 180);
  return u95 > 0 ? [{ name: 'tilt', u95 }] : [];
}

const hiddenPart = (u95: number): UncertaintyPart[] => (u95 > 0 ? [{ name: 'hidden corner', u95 }] : []);

/** Plan and slope area (methods E): edges and planes as they were adjusted together, scale and tilt. */
export function areaReadings(plane: PlaneEstimate, { planArea, plan, slope, hidden = 0 }: AreaInput, { scale, tiltDeg }: Assumptions): { plan: MeasuredValue; slope: MeasuredValue } {
  const slopeArea = planArea * stretchOf(plane);
  return {
    plan: measured(planArea, [...scatterParts(plan), { name: 'scale', u95: 2 * planArea * scale }, ...tiltPart(planArea * plane.slopeX, planArea * plane.slopeY, tiltDeg), ...hiddenPart(hidden)]),
    slope: measured(slopeArea, [...scatterParts(slope), { name: 'scale', u95: 2 * slopeArea * scale }, ...hiddenPart(hidden * stretchOf(plane))]),
  };
}

/**
 * Area of several bordering planes together.
 *
 * @param scatter  Of the sum of plan areas, and of slope areas.
 */
export function togetherReadings(
  all: readonly { readonly plane: PlaneEstimate; readonly planArea: number; readonly hidden?: number }[],
  scatter: { readonly plan: AreaScatter; readonly slope: AreaScatter },
  { scale, tiltDeg }: Assumptions,
): { plan: MeasuredValue; slope: MeasuredValue } {
  let [plan, slope, tiltX, tiltY, hiddenPlan, hiddenSlope] = [0, 0, 0, 0, 0, 0];
  for (const { plane, planArea, hidden = 0 } of all) {
    const slopeArea = planArea * stretchOf(plane);
    plan += planArea;
    slope += slopeArea;
    // Whether a corner goes on behind a tree is the same question for all of them, or may be: they add up.
    hiddenPlan += hidden;
    hiddenSlope += hidden * stretchOf(plane);
    tiltX += planArea * plane.slopeX;
    tiltY += planArea * plane.slopeY;
  }
  return {
    plan: measured(plan, [...scatterParts(scatter.plan), { name: 'scale', u95: 2 * plan * scale }, ...tiltPart(tiltX, tiltY, tiltDeg), ...hiddenPart(hiddenPlan)]),
    slope: measured(slope, [...scatterParts(scatter.slope), { name: 'scale', u95: 2 * slope * scale }, ...hiddenPart(hiddenSlope)]),
  };
}

/** A length (power 1) or an area (power 2) with what the scale of the whole model may change it by; nothing is added to nothing. */
export function withScale(number: Measured, power: 1 | 2, { scale }: Assumptions): Measured {
  if (!isKnown(number) || number.value === 0) return number;
  return measured(number.value, [...(number.parts ?? [{ name: 'as found', u95: number.u95 }]), { name: 'scale', u95: power * Math.abs(number.value) * scale }]);
}

/**
 * Length between two places whose positions along the length are known to one sigma each.
 *
 * @param hidden  How much farther it may go on behind what stands before its ends, 95 %. Default 0. [m]
 */
export function lengthReading(length: number, sigmaFrom: number, sigmaTo: number, { scale }: Assumptions, hidden = 0): Measured {
  return measured(length, [
    { name: 'ends', u95: SIGMAS_95 * Math.hypot(sigmaFrom, sigmaTo) },
    { name: 'scale', u95: length * scale },
    ...hiddenPart(hidden),
  ]);
}
