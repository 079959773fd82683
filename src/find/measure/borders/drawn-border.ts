import type { PlanLine } from '../../../geometry/plan-line.ts';
import type { Face } from '../raster/roof-raster.ts';

/** A border that a person drew between two parts of what the points show as one plane: no measurement can say where it is better. */
export interface DrawnBorder {
  readonly labels: readonly [number, number];
  /** Local frame. [m] */
  readonly line: PlanLine;
}

/** The line drawn between two faces, by number; null where none was. */
export type DrawnLineOf = (a: number, b: number) => PlanLine | null;

export const NONE_DRAWN: DrawnLineOf = () => null;

export function drawnLines(borders: readonly DrawnBorder[], faces: readonly Face[]): DrawnLineOf {
  if (borders.length === 0) return NONE_DRAWN;
  return (a, b) => {
    const [one, other] = [faces[a - 1]?.label, faces[b - 1]?.label];
    return borders.find(({ labels: [p, q] }) => (p === one && q === other) || (p === other && q === one))?.line ?? null;
  };
}
