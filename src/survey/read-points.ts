import { binIntoCells } from '../cloud/bin-into-cells.ts';
import type { ByteSource } from '../io/byte-source.ts';
import type { PointBatch } from '../io/point-batch.ts';
import type { Bounds3 } from '../io/survey-file.ts';
import { readerFor } from '../io/readers.ts';
import { regionContains, type Region } from '../io/region.ts';
import { toLocalInPlace, turnUpInPlace } from '../site/to-local.ts';
import type { PartInput, PlacedPoints, Placement } from './tasks.ts';

/**
 * Reads one part of a file and turns it z up; source unit.
 *
 * @param region  Points outside may be left out already. In plan, so it says nothing while another axis points up.
 */
export async function readUpright(
  source: ByteSource, { description, part, up, attributes }: Omit<PartInput, 'file'>, region: Region | null = null,
): Promise<PointBatch> {
  const reader = await readerFor(source);
  const batch = await reader.readPoints(source, description, part, up === 'z' ? region : null, attributes);
  turnUpInPlace(batch.positions, up);
  return attributes ? batch : { pointCount: batch.pointCount, positions: batch.positions, colours: null, intensity: null, classification: null };
}

/** Least and greatest coordinates; null when there is no point. Source unit. */
export function boundsOf(positions: Float64Array): Bounds3 | null {
  if (positions.length === 0) return null;
  const min = [Infinity, Infinity, Infinity];
  const max = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < positions.length; i += 3) {
    for (let axis = 0; axis < 3; axis++) {
      const value = positions[i + axis]!;
      if (value < min[axis]!) min[axis] = value;
      if (value > max[axis]!) max[axis] = value;
    }
  }
  return { min: [min[0]!, min[1]!, min[2]!], max: [max[0]!, max[1]!, max[2]!] };
}

/** Keeps the region of interest, moves to the local frame, and sorts into cells. The batch's positions are changed. */
export function placePoints(batch: PointBatch, { toLocal, grid, region }: Placement): PlacedPoints {
  const kept = region ? keepInside(batch, region) : batch;
  toLocalInPlace(kept.positions, toLocal);
  return { fragments: binIntoCells(kept, grid), pointCount: kept.pointCount };
}

function keepInside(batch: PointBatch, region: Region): PointBatch {
  const { positions } = batch;
  const keep = new Uint32Array(batch.pointCount);
  let count = 0;
  for (let i = 0; i < batch.pointCount; i++) {
    if (regionContains(region, positions[3 * i]!, positions[3 * i + 1]!)) keep[count++] = i;
  }
  if (count === batch.pointCount) return batch;
  return takePoints(batch, keep.subarray(0, count));
}

function takePoints(batch: PointBatch, indices: Uint32Array): PointBatch {
  const positions = new Float64Array(indices.length * 3);
  const colours = batch.colours ? new Uint8Array(indices.length * 3) : null;
  indices.forEach((from, to) => {
    for (let axis = 0; axis < 3; axis++) {
      positions[3 * to + axis] = batch.positions[3 * from + axis]!;
      if (colours) colours[3 * to + axis] = batch.colours![3 * from + axis]!;
    }
  });
  return {
    pointCount: indices.length,
    positions,
    colours,
    intensity: batch.intensity ? Uint16Array.from(indices, (from) => batch.intensity![from]!) : null,
    classification: batch.classification ? Uint8Array.from(indices, (from) => batch.classification![from]!) : null,
  };
}

