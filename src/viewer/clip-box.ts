import type { Vector3 } from '../geometry/vector.ts';

/** Points outside are neither drawn nor picked; local frame. [m] */
export interface ClipBox {
  readonly min: Vector3;
  readonly max: Vector3;
}

export const isInside = ({ min, max }: ClipBox, x: number, y: number, z: number): boolean =>
  x >= min[0] && x <= max[0] && y >= min[1] && y <= max[1] && z >= min[2] && z <= max[2];

/** A box between two places of the plan, as high as the one before. */
export function boxBetween(a: readonly [number, number, ...number[]], b: readonly [number, number, ...number[]], heights: ClipBox): ClipBox {
  return {
    min: [Math.min(a[0], b[0]), Math.min(a[1], b[1]), heights.min[2]],
    max: [Math.max(a[0], b[0]), Math.max(a[1], b[1]), heights.max[2]],
  };
}

/** The box with one of its six sides moved; a side never passes the opposite one. */
export function withSide(box: ClipBox, end: 'min' | 'max', axis: 0 | 1 | 2, value: number): ClipBox {
  const bounded = end === 'min' ? Math.min(value, box.max[axis]) : Math.max(value, box.min[axis]);
  return { ...box, [end]: box[end].map((old, i) => (i === axis ? bounded : old)) as unknown as Vector3 };
}
