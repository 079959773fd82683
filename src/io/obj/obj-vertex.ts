import { InputError } from '../../units/input-error.ts';
import type { PointCollector } from '../point-collector.ts';
import type { ObjLine } from './obj-lines.ts';

/** How the colours of a file's vertices are written, decided once for the whole file. */
export interface ObjColours {
  /** At least one vertex has a colour. */
  readonly some: boolean;
  /** Multiplies a written share to 0…255. */
  readonly factor: number;
}

const SLASH = 47;

/** Adds the vertex of a `v` line. */
export function addVertex(fileName: string, { tokens, lineNumber, at }: ObjLine, points: PointCollector, colours: ObjColours): void {
  const [x, y, z] = [1, 2, 3].map((index) => (index < tokens.count ? tokens.number(index) : NaN)) as [number, number, number];
  const bad = [x, y, z].findIndex(Number.isNaN);
  if (bad >= 0) {
    const found = bad + 1 < tokens.count ? `"${tokens.text(bad + 1)}"` : 'missing';
    throw new InputError(fileName, `line ${lineNumber} (byte ${at}): ${'xyz'[bad]} of a vertex is ${found}, expected a number.`);
  }
  points.position(x, y, z);
  if (!colours.some) return;
  if (hasColour(tokens.count)) {
    points.colour(tokens.number(4) * colours.factor, tokens.number(5) * colours.factor, tokens.number(6) * colours.factor);
  } else {
    points.colour(NaN, NaN, NaN);
  }
}

/** `v x y z r g b`, perhaps with more behind; `v x y z w` has a weight and no colour. */
export const hasColour = (wordCount: number): boolean => wordCount >= 7;

/**
 * Vertex numbers of an `f` line, from 0; texture and normal numbers behind a slash are left alone.
 *
 * @param vertexCount  Vertices before this line: a negative number counts back from the last of them.
 * @param into  Gets the numbers; @returns how many.
 */
export function faceCorners(fileName: string, { tokens, lineNumber, at }: ObjLine, vertexCount: number, into: number[]): number {
  const count = tokens.count - 1;
  for (let i = 0; i < count; i++) {
    const number = tokens.numberUpTo(SLASH, i + 1);
    const vertex = number < 0 ? vertexCount + number : number - 1;
    if (!Number.isInteger(number) || number === 0 || vertex < 0) {
      throw new InputError(fileName, `line ${lineNumber} (byte ${at}): "${tokens.text(i + 1)}" names no vertex, expected a number from 1 or a negative one back to −${vertexCount}.`);
    }
    into[i] = vertex;
  }
  return count;
}
