import type { Vector2, Vector3 } from '../geometry/vector.ts';
import { boxCorners, fitPoints, freeAxes, planAxes, sectionAxes, type Bounds, type Margins, type Projection, type ViewName } from './projection.ts';
import type { SectionLine } from './section-cut.ts';

/** Where the eye of the free and the elevation view stands. */
export interface EyePlace {
  /** Grid bearing from the roof to the eye. [deg] */
  readonly bearingDeg: number;
  /** Height above the level. [deg] */
  readonly tiltDeg: number;
}

export interface CameraSetting {
  readonly name: ViewName;
  readonly gridToTrueDeg: number;
  readonly free: EyePlace;
  readonly elevationBearingDeg: number;
  readonly section: SectionLine | null;
}

/** The first view of a roof: from the south-east, high enough to see all of it. */
export const FIRST_EYE: EyePlace = { bearingDeg: 150, tiltDeg: 38 };

export function axesOf(setting: CameraSetting): Pick<Projection, 'right' | 'up' | 'toward'> {
  switch (setting.name) {
    case 'plan':
      return planAxes(setting.gridToTrueDeg);
    case 'free':
      return freeAxes(setting.free.bearingDeg, setting.free.tiltDeg);
    case 'elevation':
      return freeAxes(setting.elevationBearingDeg, 0);
    case 'section':
      return setting.section ? sectionAxes([...setting.section.from, 0], [...setting.section.to, 0]) : freeAxes(180, 0);
  }
}

/** Turns the eye; it never goes below the level nor over the top. */
export function turnedEye(eye: EyePlace, byBearingDeg: number, byTiltDeg: number): EyePlace {
  return { bearingDeg: (((eye.bearingDeg + byBearingDeg) % 360) + 360) % 360, tiltDeg: Math.min(89.5, Math.max(0, eye.tiltDeg + byTiltDeg)) };
}

/** Room kept for title, scale bar, dimensions and legend round a drawing. [px] */
export function marginsFor(name: ViewName, compact: boolean): Margins {
  if (compact) return name === 'section' || name === 'elevation' ? { left: 96, right: 16, top: 84, bottom: 48 } : { left: 34, right: 34, top: 56, bottom: 82 };
  return name === 'section' || name === 'elevation' ? { left: 150, right: 60, top: 136, bottom: 100 } : { left: 70, right: 70, top: 92, bottom: 96 };
}

/** Points a view should show: the section's own line and heights, else the whole box. */
export function pointsToFit(bounds: Bounds, section: SectionLine | null): Vector3[] {
  if (!section) return boxCorners(bounds);
  return [bounds.min[2], bounds.max[2]].flatMap((z): Vector3[] => [[...section.from, z], [...section.to, z]]);
}

export function fitted(view: Projection, bounds: Bounds, setting: CameraSetting, compact: boolean): Projection {
  const turned = { ...view, ...axesOf(setting) };
  const points = pointsToFit(bounds, setting.name === 'section' ? setting.section : null);
  return fitPoints(turned, points, marginsFor(setting.name, compact));
}

/** A line in plan through a place, long enough to leave the box on both sides. */
export function lineAcross({ min, max }: Bounds, through: Vector2, along: Vector2, thicknessM: number): SectionLine {
  const shares = [min, max].flatMap(([x]) => [min, max].map(([, y]) => (x - through[0]) * along[0] + (y - through[1]) * along[1]));
  const [low, high] = [Math.min(...shares) - 1, Math.max(...shares) + 1];
  return {
    from: [through[0] + along[0] * low, through[1] + along[1] * low],
    to: [through[0] + along[0] * high, through[1] + along[1] * high],
    thicknessM,
  };
}
