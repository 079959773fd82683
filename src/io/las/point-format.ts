/**
 * Byte positions inside a point record, by record format (ASPRS LAS 1.4 R16, tables of section 2.6).
 * A position the format lacks is null; positions all formats of one family share are constants below.
 */
export interface PointFormat {
  /** Smallest record; what follows it is extra bytes. [bytes] */
  readonly length: number;
  /** Formats 6 to 10: whole byte for the class, 4 bits for the return numbers, 16 bits for the scan angle. */
  readonly extended: boolean;
  readonly gpsTime: number | null;
  /** Red, green, blue, 16 bits each. */
  readonly colour: number | null;
  readonly nearInfrared: number | null;
  /** Start of the 29 bytes that point into the waveform data. */
  readonly wavePacket: number | null;
}

const format = (
  length: number, gpsTime: number | null, colour: number | null, nearInfrared: number | null, wavePacket: number | null,
): PointFormat => ({ length, extended: length >= 30 && gpsTime === 22, gpsTime, colour, nearInfrared, wavePacket });

/** Index: record format. */
export const pointFormats: readonly PointFormat[] = [
  format(20, null, null, null, null),
  format(28, 20, null, null, null),
  format(26, null, 20, null, null),
  format(34, 20, 28, null, null),
  format(57, 20, null, null, 28),
  format(63, 20, 28, null, 34),
  format(30, 22, null, null, null),
  format(36, 22, 30, null, null),
  format(38, 22, 30, 36, null),
  format(59, 22, null, null, 30),
  format(67, 22, 30, 36, 38),
];

export const intensityAt = 12;
/** Class and flags together in formats 0 to 5; flags alone in the others. */
export const basicClassAt = 15;
export const extendedClassAt = 16;
