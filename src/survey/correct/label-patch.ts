import type { LabelledCloudCell } from '../../find/remeasure-building.ts';
import type { DrawnBorder } from '../../find/measure/borders/drawn-border.ts';
import type { Plane } from '../../geometry/plane.ts';
import { InputError } from '../../units/input-error.ts';

/** Points of a building with their labels, flat, for edits that change the labels in place. */
export interface LabelPatch {
  /** Local frame. [m] */
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
  readonly labels: Uint16Array;
  /** normal x, y, z, offset of every label, label 0 included. */
  readonly planes: (readonly [number, number, number, number])[];
  /** Borders drawn between labels of one plane. */
  readonly drawn: DrawnBorder[];
  /** Labels that a person parted from others. */
  readonly madeLabels: Set<number>;
  /** Labels of the building. */
  readonly own: Set<number>;
  /** One sigma of points about their plane. [m] */
  readonly noise: number;
}

/** Copies the points of cells side by side, in their order. */
export function patchOf(cells: readonly LabelledCloudCell[], planes: Float64Array, ownLabels: Iterable<number>, noise: number): LabelPatch {
  const count = cells.reduce((sum, { labels }) => sum + labels.length, 0);
  const [x, y, z, labels] = [new Float64Array(count), new Float64Array(count), new Float64Array(count), new Uint16Array(count)];
  let at = 0;
  for (const cell of cells) {
    labels.set(cell.labels, at);
    for (let i = 0; i < cell.labels.length; i++, at++) {
      x[at] = cell.positions[3 * i]! + cell.origin[0];
      y[at] = cell.positions[3 * i + 1]! + cell.origin[1];
      z[at] = cell.positions[3 * i + 2]! + cell.origin[2];
    }
  }
  const rows: [number, number, number, number][] = [];
  for (let row = 0; row < planes.length; row += 4) rows.push([planes[row]!, planes[row + 1]!, planes[row + 2]!, planes[row + 3]!]);
  return { x, y, z, labels, planes: rows, drawn: [], madeLabels: new Set(), own: new Set(ownLabels), noise };
}

/** The cells with the patch's labels. */
export function cellsOf({ labels }: LabelPatch, cells: readonly LabelledCloudCell[]): LabelledCloudCell[] {
  let at = 0;
  return cells.map((cell) => ({ ...cell, labels: labels.slice(at, (at += cell.labels.length)) }));
}

export const planeRows = ({ planes }: LabelPatch): Float64Array => Float64Array.from(planes.flat());

/** Distance of a point above a plane, along its normal. [m] */
export const residualAt = ({ x, y, z }: LabelPatch, { normal, offset }: Plane, i: number): number => normal[0] * x[i]! + normal[1] * y[i]! + normal[2] * z[i]! + offset;

/** Gives points a label of their own. @throws InputError when no label is left. */
export function relabel(patch: LabelPatch, members: Uint32Array, { normal, offset }: Plane): number {
  const label = patch.planes.length;
  if (label > 65_535) throw new InputError('planes', 'there are more than 65 535 of them.');
  patch.planes.push([...normal, offset]);
  patch.own.add(label);
  for (const i of members) patch.labels[i] = label;
  return label;
}
