import type { Measured } from '../../units/measured.ts';
import { writeReading, type UnitChoice } from '../../units/written-reading.ts';
import { readingPieces, type Dot, type Pen, type TextPlace } from './pen.ts';

export interface DimensionLook {
  readonly colour: string;
  /** How far outside the measured line the dimension stands. [px] */
  readonly offset: number;
  readonly size?: number;
}

/** Where along its line the number stands: in the middle, or as near to it as nothing is covered. */
const SHARES = [0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82] as const;

/**
 * A dimension: extension lines, a line with slash ticks, and the number along it.
 *
 * @param outward  Unit direction in the picture in which the dimension stands off.
 */
export function drawDimension(pen: Pen, from: Dot, to: Dot, outward: Dot, length: Measured, units: UnitChoice, look: DimensionLook): void {
  const run = Math.hypot(to[0] - from[0], to[1] - from[1]);
  const written = writeReading(length, 'length', units);
  if (!written || run < 30) return;
  const off = (dot: Dot, by: number): Dot => [dot[0] + outward[0] * by, dot[1] + outward[1] * by];
  const [a, b] = [off(from, look.offset), off(to, look.offset)];
  const thin = { width: 1, colour: look.colour };
  pen.line([off(from, 8), off(from, look.offset + 6)], thin);
  pen.line([off(to, 8), off(to, look.offset + 6)], thin);
  pen.line([a, b], thin);
  const [ux, uy] = [(to[0] - from[0]) / run, (to[1] - from[1]) / run];
  for (const end of [a, b]) drawSlash(pen, end, [ux, uy], look.colour);
  const turn = Math.atan2(uy, ux);
  const text = readingPieces(written, pen.paper, look.size ?? 15);
  const place: TextPlace = { align: 'centre', turn, halo: pen.paper.sheet };
  const along = (share: number): Dot => off([from[0] + (to[0] - from[0]) * share, from[1] + (to[1] - from[1]) * share], look.offset + 12);
  pen.write(text, along(SHARES.find((share) => pen.hasRoom(text, along(share), place)) ?? 0.5), place);
}

/** A tick at 45° to the line. */
export function drawSlash(pen: Pen, [x, y]: Dot, [ux, uy]: Dot, colour: string): void {
  const [dx, dy] = [(ux - uy) * 4.5, (uy + ux) * 4.5];
  pen.line([[x - dx, y - dy], [x + dx, y + dy]], { width: 1.9, colour });
}
