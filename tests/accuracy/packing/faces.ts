import { seededRandom } from '../../../src/geometry/seeded-random.ts';
import type { Ring } from '../../../src/geometry/region.ts';

/** Side of the squares faces are built of. [m] Modules are 4 × 6 squares, so every optimum has whole coordinates. */
export const SQUARE = 0.3;
/** Module in squares: 1.2 × 1.8 m, gaps included. */
export const SHORT = 4;
export const LONG = 6;

/** A roof face as free squares, row by row from below: outline and obstructions with their clearance taken out. */
export interface Face {
  readonly kind: string;
  readonly columns: number;
  readonly rows: number;
  readonly free: Uint8Array;
}

const KINDS = ['rectangle', 'hip', 'triangle', 'L', 'valley'] as const;

/** A face of one of five kinds, 7 to 13 by 4 to 7.5 m, one to four obstructions. Slanting rims become stairs. */
export function seededFace(seed: number): Face {
  const random = seededRandom(seed * 7919 + 17);
  const whole = (from: number, to: number): number => from + Math.floor(random.uniform() * (to - from));
  const kind = KINDS[seed % KINDS.length]!;
  const columns = whole(23, 44);
  const rows = whole(14, 26);
  const free = new Uint8Array(columns * rows);
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) free[y * columns + x] = inside(kind, x + 0.5, y + 0.5, columns, rows) ? 1 : 0;
  }
  const obstructions = whole(1, 5);
  for (let k = 0; k < obstructions; k++) {
    const width = whole(1, 6);
    const height = whole(1, 6);
    const left = whole(0, columns - width);
    const low = whole(0, rows - height);
    for (let y = low; y < low + height; y++) for (let x = left; x < left + width; x++) free[y * columns + x] = 0;
  }
  return { kind, columns, rows, free };
}

function inside(kind: (typeof KINDS)[number], x: number, y: number, columns: number, rows: number): boolean {
  switch (kind) {
    case 'rectangle': return true;
    case 'hip': return x > 0.55 * y && x < columns - 0.55 * y;
    case 'triangle': return x > (0.4 * y * columns) / rows && x < columns - (0.4 * y * columns) / rows;
    case 'L': return y < rows * 0.55 || x < columns * 0.6;
    case 'valley': return x + 0.9 * y < columns * 1.05;
  }
}

/** Free squares as rings in metres, one per run of squares in a row; unite them to get the face. */
export function faceRuns({ columns, rows, free }: Face): Ring[] {
  const runs: Ring[] = [];
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      if (!free[y * columns + x]) continue;
      const from = x;
      while (x < columns && free[y * columns + x]) x++;
      runs.push([[from, y], [x, y], [x, y + 1], [from, y + 1]].map(([a, b]) => [a! * SQUARE, b! * SQUARE] as const));
    }
  }
  return runs;
}
