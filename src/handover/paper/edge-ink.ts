import type { Vector2 } from '../../geometry/vector.ts';
import type { EdgeKind } from '../../roof/record.ts';
import { INK, MID, polyline, type Mark } from './mark.ts';

/** Soft colour band under the ink, after Okabe and Ito (2008); it may be lost without losing meaning. */
const BAND: Readonly<Partial<Record<EdgeKind, string>>> = {
  eave: '#0072b2',
  ridge: '#d55e00',
  hip: '#009e73',
  valley: '#56b4e9',
  rake: '#cc79a7',
  parapet: '#e69f00',
  abutment: '#7d8a84',
};
const BAND_WIDTH = 2.2;

/** The band of an edge, drawn before any ink. Positions on paper. [mm] */
export function edgeBand(kind: EdgeKind, from: Vector2, to: Vector2): Mark[] {
  const stroke = BAND[kind];
  return stroke === undefined ? [] : [polyline([from, to], { stroke, width: BAND_WIDTH, opacity: 0.34 })];
}

/**
 * The ink of an edge: every kind has a pattern of its own.
 *
 * @param outward  Unit vector on paper that points away from the roof, for ticks and hachures.
 */
export function edgeInk(kind: EdgeKind, from: Vector2, to: Vector2, outward: Vector2): Mark[] {
  const aside = (distance: number): [Vector2, Vector2] => [along(from, outward, distance), along(to, outward, distance)];
  switch (kind) {
    case 'eave':
      return [polyline([from, to], { stroke: INK, width: 0.8 })];
    case 'ridge':
      return [polyline(aside(0.6), { stroke: INK, width: 0.34 }), polyline(aside(-0.6), { stroke: INK, width: 0.34 })];
    case 'hip':
      return [polyline([from, to], { stroke: INK, width: 0.48, dash: [4.2, 1.1, 0.7, 1.1] })];
    case 'valley':
      return [polyline([from, to], { stroke: INK, width: 0.5, dash: [1.9, 1.1] })];
    case 'rake':
      return [polyline([from, to], { stroke: INK, width: 0.4 }), ticks(from, to, outward, 2.4, 1.6, 0)];
    case 'abutment':
      return [polyline([from, to], { stroke: INK, width: 0.45 }), ticks(from, to, outward, 1.6, 1.8, 1.2)];
    case 'parapet':
      return [polyline([from, to], { stroke: INK, width: 0.45 }), polyline(aside(1.6), { stroke: INK, width: 0.25 }), ticks(from, to, outward, 1.8, 1.6, 1.1)];
    case 'unknown':
      return [polyline([from, to], { stroke: INK, width: 0.63, dash: [0, 1.3], roundEnds: true })];
  }
}

const along = (at: Vector2, direction: Vector2, distance: number): Vector2 => [at[0] + direction[0] * distance, at[1] + direction[1] * distance];

/** Short strokes away from a line, `lean` along it. All in millimetres. */
function ticks(from: Vector2, to: Vector2, outward: Vector2, every: number, size: number, lean: number): Mark {
  const run = Math.hypot(to[0] - from[0], to[1] - from[1]);
  const direction: Vector2 = run > 0 ? [(to[0] - from[0]) / run, (to[1] - from[1]) / run] : [1, 0];
  const parts = [];
  for (let at = every / 2; at < run; at += every) {
    const foot = along(from, direction, at);
    parts.push({ points: [foot, along(along(foot, outward, size), direction, lean)], closed: false });
  }
  return { kind: 'path', parts, stroke: lean === 0 ? INK : MID, width: 0.25 };
}
