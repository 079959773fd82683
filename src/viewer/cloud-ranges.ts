import type { Cell, Cloud } from '../cloud/cloud.ts';

/** Points that tell what a cloud spans. */
const SAMPLE = 20_000;
/** Of each cell so many points are asked for their class: rare ones must not be missed. */
const CLASS_SAMPLE = 2_000;

/** What the colours of a cloud's points have to span. */
export interface CloudRanges {
  /** Local frame. [m] */
  readonly elevation: readonly [number, number];
  readonly intensity: readonly [number, number];
  /** Class numbers that occur, in order. */
  readonly classes: readonly number[];
}

/** Ranges leave out the lowest and highest two in a hundred, so that a stray point does not use them up. */
export function rangesOf(cloud: Cloud): CloudRanges {
  return {
    elevation: middleRange(cloud, ({ origin, positions }, i) => origin[2] + positions[3 * i + 2]!),
    intensity: middleRange(cloud, ({ intensity }, i) => intensity?.[i] ?? 0),
    classes: classesOf(cloud),
  };
}

function middleRange(cloud: Cloud, valueOf: (cell: Cell, index: number) => number): readonly [number, number] {
  const share = Math.min(1, SAMPLE / Math.max(1, cloud.pointCount));
  const sample = new Float32Array(cloud.cells.reduce((sum, cell) => sum + Math.ceil(cell.pointCount * share), 0));
  let count = 0;
  for (const cell of cloud.cells) {
    const end = count + Math.ceil(cell.pointCount * share);
    // The first points of a cell are an even sample of it.
    for (let i = 0; count < end; i++) sample[count++] = valueOf(cell, i);
  }
  sample.sort();
  const at = (part: number): number => sample[Math.min(sample.length - 1, Math.floor(part * sample.length))] ?? 0;
  return [at(0.02), at(0.98)];
}

function classesOf(cloud: Cloud): number[] {
  const found = new Set<number>();
  for (const { classification, pointCount } of cloud.cells) {
    for (let i = 0; classification && i < Math.min(pointCount, CLASS_SAMPLE); i++) found.add(classification[i]!);
  }
  return [...found].sort((a, b) => a - b);
}
