import type { SourceToLocal } from './local-frame.ts';

/**
 * Turns points of a y-up source (x right, y up, z towards the viewer) to z up, so that x stays east and north is −z.
 *
 * @param positions  x, y, z, `n × 3`; changed.
 */
export function turnUpInPlace(positions: Float64Array, up: 'z' | 'y'): void {
  if (up === 'z') return;
  for (let i = 0; i < positions.length; i += 3) {
    const y = positions[i + 1]!;
    positions[i + 1] = -positions[i + 2]!;
    positions[i + 2] = y;
  }
}

/**
 * Turns z-up source coordinates into local metres.
 *
 * @param positions  x, y, z, `n × 3`, source unit; changed.
 */
export function toLocalInPlace(positions: Float64Array, { unitToMetre, verticalUnitToMetre, frame }: SourceToLocal): void {
  const [x0, y0, z0] = frame.origin;
  for (let i = 0; i < positions.length; i += 3) {
    positions[i] = positions[i]! * unitToMetre - x0;
    positions[i + 1] = positions[i + 1]! * unitToMetre - y0;
    positions[i + 2] = positions[i + 2]! * verticalUnitToMetre - z0;
  }
}
