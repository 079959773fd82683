import { makeRandom, type Random } from './random.ts';
import { writeColour } from './paint.ts';
import { inner, minus, normalOf, outer, unit, type P3 } from './points.ts';
import { blurLift, roundedSides, type RoundedSide } from './rounding.ts';
import { makeSmoothField, type SmoothField } from './smooth-field.ts';
import type { SceneOptions } from './scene-options.ts';
import type { Surface } from './surface.ts';
import { makeView, type View } from './visibility.ts';

/** Points in local metres, growing as needed. */
export interface PointList {
  count: number;
  positions: Float64Array;
  colours: Uint8Array;
}

type Settings = Required<Omit<SceneOptions, 'sourceOrigin' | 'blocks'>>;

/** Sideways reach of the oblique flights per metre of height (about 39 degrees off the vertical). */
const OBLIQUE = 0.8;
/** Turn of the flight lines against the scene's axes, so that no wall is seen edge-on by all. [rad] */
const FLIGHT_TURN = 0.35;
/** A place is reconstructed when this many of the five views see it. */
const VIEWS_NEEDED = 2;
const VIEW_CELL = 0.06;
const SUN: P3 = unit([0.45, -0.6, 0.85]);

interface Darkroom {
  readonly views: readonly View[];
  readonly sun: View;
  readonly fields: readonly { readonly sigma: number; readonly upward: SmoothField; readonly upright: SmoothField }[];
  readonly holes: readonly { readonly x: number; readonly y: number; readonly radius: number }[];
  readonly middle: readonly [number, number];
  readonly reach: number;
}

/** Turns surfaces into the points a reconstruction from photographs would give. */
export function photograph(surfaces: readonly Surface[], seed: number, settings: Settings): PointList {
  const random = makeRandom(seed);
  const room = prepare(surfaces, random, settings);
  const sides = roundedSides(surfaces);
  const points: PointList = { count: 0, positions: new Float64Array(3 << 16), colours: new Uint8Array(3 << 16) };
  surfaces.forEach((s, index) => sampleSurface(points, s, index, sides[index]!, room, random.fork(), settings));
  addStrays(points, random.fork(), settings.outlierShare);
  return points;
}

function prepare(surfaces: readonly Surface[], random: Random, settings: Settings): Darkroom {
  const corners = surfaces.flatMap((s) => s.ring);
  const xs = corners.map((p) => p[0]);
  const ys = corners.map((p) => p[1]);
  const bounds = { minX: Math.min(...xs) - 1, minY: Math.min(...ys) - 1, maxX: Math.max(...xs) + 1, maxY: Math.max(...ys) + 1 };
  const views = [makeView(surfaces, 0, 0, VIEW_CELL)];
  for (let k = 0; k < 4; k++) {
    const bearing = FLIGHT_TURN + (k * Math.PI) / 2;
    views.push(makeView(surfaces, OBLIQUE * Math.cos(bearing), OBLIQUE * Math.sin(bearing), VIEW_CELL));
  }
  const span = bounds.maxX - bounds.minX + bounds.maxY - bounds.minY;
  const fields = settings.correlated.map(({ sigma, length }) => ({
    sigma,
    upward: makeSmoothField(random.fork(), bounds, length),
    // Walls: along the wall and up; a strip of this size wraps around.
    upright: makeSmoothField(random.fork(), { minX: 0, minY: 0, maxX: Math.min(span, 60), maxY: 15 }, length),
  }));
  const holes = Array.from({ length: settings.coverageHoles }, () => ({
    x: random.between(bounds.minX + 4, bounds.maxX - 4), y: random.between(bounds.minY + 4, bounds.maxY - 4), radius: random.between(0.3, 0.8),
  }));
  return {
    views, sun: makeView(surfaces, SUN[0] / SUN[2], SUN[1] / SUN[2], VIEW_CELL), fields, holes,
    middle: [(bounds.minX + bounds.maxX) / 2, (bounds.minY + bounds.maxY) / 2],
    reach: Math.hypot(bounds.maxX - bounds.minX, bounds.maxY - bounds.minY) / 2,
  };
}

/** Points per area over those on a level surface: a camera above sees steep surfaces foreshortened, walls only in oblique pictures. */
const incidenceShare = (upward: number): number => 0.22 + 0.78 * Math.max(0, upward);

function sampleSurface(
  points: PointList, s: Surface, index: number, sides: readonly RoundedSide[], room: Darkroom, random: Random, settings: Settings,
): void {
  const n = normalOf(s.ring);
  if (n[2] < -0.3) return;
  const upright = n[2] < 0.3;
  const u: P3 = Math.hypot(n[0], n[1]) < 1e-3 ? [1, 0, 0] : unit([-n[1], n[0], 0]);
  const v = outer(n, u);
  const o = s.ring[0]!;
  const flat = [s.ring, ...s.holes].map((ring) => ring.map((p): [number, number] => [inner(minus(p, o), u), inner(minus(p, o), v)]));
  const us = flat[0]!.map((p) => p[0]);
  const vs = flat[0]!.map((p) => p[1]);
  const minU = Math.min(...us);
  const minV = Math.min(...vs);
  const isGround = s.paint === 'quay' || s.paint === 'grass' || s.paint === 'water';
  const share = incidenceShare(n[2]) * s.keep * (isGround ? settings.groundKeep : 1);
  const step = settings.spacing / Math.sqrt(share);
  const columns = Math.ceil((Math.max(...us) - minU) / step);
  const rows = Math.ceil((Math.max(...vs) - minV) / step);
  const white = settings.whiteSigma;
  const blur = settings.groundSampleDistance;
  const foot = Math.min(...s.ring.map((p) => p[2]));
  const sunward = Math.max(0, inner(n, SUN));
  const glassNoise = s.paint === 'glass' || s.paint === 'water' ? 4 : 1;
  const p: P3 = [0, 0, 0];
  const q: P3 = [0, 0, 0];
  const local = sides.map((side) => {
    const d = minus(side.through, o);
    return { side, u0: inner(d, u), v0: inner(d, v), iu: inner(side.inward, u), iv: inner(side.inward, v), au: inner(side.along, u), av: inner(side.along, v) };
  });
  for (let j = 0; j < rows; j++) {
    for (let i = 0; i < columns; i++) {
      // One point at a random place in each square: as even as a depth picture, without its grid.
      const pu = minU + (i + random.next()) * step;
      const pv = minV + (j + random.next()) * step;
      if (!insideRings(flat, pu, pv)) continue;
      for (let k = 0; k < 3; k++) p[k] = o[k]! + pu * u[k]! + pv * v[k]!;
      if (!isSeen(room.views, p, index) || inHole(room, p)) continue;
      q[0] = p[0];
      q[1] = p[1];
      q[2] = p[2];
      for (const l of local) {
        const distance = (pu - l.u0) * l.iu + (pv - l.v0) * l.iv;
        const x = (distance * l.side.foreshorten) / blur;
        if (x > 4 || x < 0) continue;
        const along = (pu - l.u0) * l.au + (pv - l.v0) * l.av;
        if (along < 0 || along > l.side.sideLength) continue;
        const lift = blurLift(x) * blur;
        for (let k = 0; k < 3; k++) q[k]! += l.side.push[k]! * lift;
      }
      let along = white * glassNoise * random.normal() + s.extraSigma * random.normal();
      const wallU = upright ? p[0] * u[0] + p[1] * u[1] : 0;
      for (const f of room.fields) along += f.sigma * glassNoise * (upright ? f.upright.at(wallU, p[2]) : f.upward.at(p[0], p[1]));
      const sideU = 0.5 * white * random.normal();
      const sideV = 0.5 * white * random.normal();
      for (let k = 0; k < 3; k++) q[k]! += along * n[k]! + sideU * u[k]! + sideV * v[k]!;
      q[2] += dome(room, settings.dome, q[0], q[1]);
      const light = sunward > 0 && room.sun.sees(p[0], p[1], p[2], index) ? sunward : 0;
      append(points, q);
      writeColour(points.colours, 3 * (points.count - 1), s.paint, upright, upright ? wallU : pu, pv, p[2] - foot, light, random.normal());
    }
  }
}

const dome = (room: Darkroom, rise: number, x: number, y: number): number =>
  rise === 0 ? 0 : rise * (1 - ((x - room.middle[0]) ** 2 + (y - room.middle[1]) ** 2) / room.reach ** 2);

function isSeen(views: readonly View[], p: P3, index: number): boolean {
  let seen = 0;
  for (const view of views) if (view.sees(p[0], p[1], p[2], index) && ++seen === VIEWS_NEEDED) return true;
  return false;
}

const inHole = (room: Darkroom, p: P3): boolean =>
  room.holes.some((hole) => (p[0] - hole.x) ** 2 + (p[1] - hole.y) ** 2 < hole.radius ** 2);

function insideRings(rings: readonly (readonly [number, number])[][], x: number, y: number): boolean {
  let inside = false;
  for (const ring of rings) {
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [xi, yi] = ring[i]!;
      const [xj, yj] = ring[j]!;
      if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) inside = !inside;
    }
  }
  return inside;
}

/** Stray points: most near a surface, as mismatched texture gives them, some anywhere up to a few metres off. */
function addStrays(points: PointList, random: Random, share: number): void {
  const good = points.count;
  const strays = Math.round((good * share) / (1 - share));
  const q: P3 = [0, 0, 0];
  for (let i = 0; i < strays; i++) {
    const from = random.whole(0, good - 1);
    const far = random.next() < 0.3;
    const reach = (far ? 2 : 0.25) * -Math.log(1 - random.next());
    const up = random.between(-1, 1);
    const bearing = random.between(0, 2 * Math.PI);
    const level = Math.sqrt(1 - up * up);
    q[0] = points.positions[3 * from]! + reach * level * Math.cos(bearing);
    q[1] = points.positions[3 * from + 1]! + reach * level * Math.sin(bearing);
    q[2] = points.positions[3 * from + 2]! + reach * up;
    append(points, q);
    for (let k = 0; k < 3; k++) points.colours[3 * (points.count - 1) + k] = Math.min(255, 160 + random.whole(0, 90));
  }
}

function append(points: PointList, p: P3): void {
  const at = 3 * points.count;
  if (at === points.positions.length) {
    const positions = new Float64Array(2 * at);
    positions.set(points.positions);
    points.positions = positions;
    const colours = new Uint8Array(2 * at);
    colours.set(points.colours);
    points.colours = colours;
  }
  points.positions[at] = p[0];
  points.positions[at + 1] = p[1];
  points.positions[at + 2] = p[2];
  points.count++;
}
