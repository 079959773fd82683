import { writeReading } from '../../units/written-reading.ts';
import type { Measured } from '../../units/measured.ts';
import type { InkFrame } from './frame.ts';
import { figure, letter, readingPieces, type Pen, type TextPiece } from './pen.ts';

/** A height worth reading off a drawing. */
export interface Level {
  readonly name: string;
  /** In the local frame. [m] */
  readonly z: number;
  /** Of the height itself, 95 %; worked out for heights that are written. [m] */
  readonly u95: () => number;
  /** Of marks too near each other the one of higher rank is written: ground, then ridges and eaves, then the rest. */
  readonly rank: number;
}

/** What heights are counted from. */
export interface Datum {
  readonly z: number;
  /** 95 %; 0 where it is the zero of the heights themselves. [m] */
  readonly u95: number;
  /** Null where no ground was seen: heights are then elevations. */
  readonly ground: { readonly name: string } | null;
}

/** The datum of one building: its ground where that was seen, else the zero of elevations. */
export function datumOf(frame: InkFrame, ground: Measured | undefined): Datum {
  if (ground && ground.value !== null) return { z: ground.value, u95: ground.u95, ground: { name: 'ground' } };
  return { z: -frame.zeroElevationM, u95: 0, ground: null };
}

/** Two lines of text and the mark under them. [px] */
const MARK_HEIGHT = 44;
/** Levels nearer than this are one mark. [m] */
const SAME_LEVEL_M = 0.12;

/**
 * Marks at the left, each with a level line across: a filled triangle on the line, name and signed height over it, as
 * heights stand in elevations and sections (common practice, no source). The ± holds the ground's share.
 */
export function drawLevelMarks(pen: Pen, frame: InkFrame, levels: readonly Level[], datum: Datum): void {
  const taken: number[] = [];
  const left = frame.compact ? 8 : 18;
  const top = frame.compact ? 40 : 118;
  const fits = (y: number): boolean => y > top && y < frame.view.height && taken.every((other) => Math.abs(other - y) >= MARK_HEIGHT);
  const mark = (y: number, name: string, height: readonly TextPiece[]): void => {
    const right = left + Math.max(46, pen.widthOf(height), pen.widthOf([figure(name, 12)])) + 6;
    pen.fill([[left - 6, y - 42], [right, y - 42], [right, y + 2], [left - 6, y + 2]], pen.paper.sheet, 0.9);
    pen.line([[left + 20, y], [frame.view.width - 40, y]], { width: 1, colour: pen.paper.hair, dash: [10, 3, 2, 3] });
    pen.fill([[left + 30, y - 8], [left + 42, y - 8], [left + 36, y - 1]], pen.paper.ink);
    pen.write([figure(name, 12)], [left, y - 33], { halo: pen.paper.sheet });
    pen.write(height, [left, y - 18], { halo: pen.paper.sheet });
    taken.push(y);
  };
  const at = (z: number): number => pen.at([frame.view.centre[0], frame.view.centre[1], z])[1];
  if (datum.ground && fits(at(datum.z))) mark(at(datum.z), datum.ground.name, [letter('±0', 13), figure(' datum', 12, 400, pen.paper.ink2)]);
  for (const { name, z, u95 } of ranked(levels)) {
    const y = at(z);
    if (!fits(y)) continue;
    const written = writeReading({ value: z - datum.z, u95: Math.hypot(u95(), datum.u95) }, 'length', frame.units);
    if (!written) continue;
    mark(y, name, [...(z > datum.z ? [figure('+', 13, 700)] : []), ...readingPieces(written, pen.paper, 13)]);
  }
}

/** Highest rank first, of equal rank the higher; one of each height. */
export function ranked(levels: readonly Level[]): Level[] {
  const kept: Level[] = [];
  for (const level of levels.toSorted((a, b) => b.rank - a.rank || b.z - a.z)) {
    if (!kept.some(({ z }) => Math.abs(z - level.z) < SAME_LEVEL_M)) kept.push(level);
  }
  return kept;
}
