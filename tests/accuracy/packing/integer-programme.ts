import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { LONG, SHORT, type Face } from './faces.ts';

export interface Optimum {
  /** Modules in the best layout found. */
  readonly count: number;
  /** True when the solver proved that no layout holds more. */
  readonly proved: boolean;
}

/**
 * Most modules on a face, by integer programming with GLPK: one 0-1 unknown per place, each free square covered at most
 * once. Modules and rims have whole coordinates, and modules pushed down and left until they touch keep whole
 * coordinates, so the optimum over whole places is the optimum over all places square to the face.
 */
export function solveFace(face: Face, secondsLimit: number): Optimum {
  const places = allPlaces(face);
  if (places.length === 0) return { count: 0, proved: true };
  const folder = mkdtempSync(join(tmpdir(), 'packing-'));
  try {
    const model = join(folder, 'face.lp');
    const answer = join(folder, 'face.sol');
    writeFileSync(model, modelText(face, places));
    execFileSync('glpsol', ['--lp', model, '--cuts', '--fpump', '--tmlim', String(secondsLimit), '--write', answer], { stdio: 'pipe' });
    // Solution line: s mip <rows> <columns> <status> <objective>; status o: optimal, f: feasible only.
    const line = readFileSync(answer, 'utf8').split('\n').find((one) => one.startsWith('s mip'))!.split(/\s+/);
    return { count: Math.round(Number(line[5])), proved: line[4] === 'o' };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

interface Place {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

function allPlaces({ columns, rows, free }: Face): Place[] {
  const places: Place[] = [];
  for (const [width, height] of [[SHORT, LONG], [LONG, SHORT]] as const) {
    for (let y = 0; y + height <= rows; y++) {
      for (let x = 0; x + width <= columns; x++) {
        let fits = true;
        for (let b = y; b < y + height && fits; b++) for (let a = x; a < x + width && fits; a++) fits = free[b * columns + a] === 1;
        if (fits) places.push({ x, y, width, height });
      }
    }
  }
  return places;
}

function modelText({ columns, rows }: Face, places: readonly Place[]): string {
  const covering = new Map<number, number[]>();
  places.forEach((place, i) => {
    for (let y = place.y; y < place.y + place.height; y++) {
      for (let x = place.x; x < place.x + place.width; x++) {
        const at = y * columns + x;
        covering.set(at, [...(covering.get(at) ?? []), i]);
      }
    }
  });
  // Squares covered by exactly the same places give one condition, and one contained in another gives none.
  const conditions = [...new Set([...covering.values()].filter((of) => of.length > 1).map((of) => of.join(' ')))];
  const bound = Math.floor(columns * rows / (SHORT * LONG));
  const sum = (of: readonly number[]): string => of.map((i) => `p${i}`).join(' + ').replace(/(.{200}\S*) /g, '$1\n ');
  return [
    'Maximize', ` count: ${sum(places.map((_, i) => i))}`, 'Subject To',
    ...conditions.map((of, n) => ` c${n}: ${sum(of.split(' ').map(Number))} <= 1`),
    ` total: ${sum(places.map((_, i) => i))} <= ${bound}`,
    'Binary', ...places.map((_, i) => ` p${i}`), 'End',
  ].join('\n');
}
