import type { RoofKind } from '../../src/survey/score/truth.ts';
import { minus, type P2, type P3 } from './points.ts';

/** A roof plane as a shape has it: corners at every place where another plane's corner touches its sides. */
export interface ShapePlane {
  readonly name: string;
  readonly ring: P3[];
  readonly holes: P3[][];
  readonly roof: RoofKind;
}

/** How a free side of the roof ends; `open` is decided by its lie (eave, rake, unknown). */
export type FreeSide = 'open' | 'parapet' | 'abutment';

/** A roof in its own frame: eaves near z = 0. */
export interface RoofShape {
  readonly planes: ShapePlane[];
  /** Says of the middle of a free side what stops the roof there. */
  readonly freeSide: (mid: P3) => FreeSide;
}

const open = (): FreeSide => 'open';
const plane = (name: string, roof: RoofKind, ring: P3[]): ShapePlane => ({ name, ring, holes: [], roof });

/** Ridge along x. `south` and `north` are the plan widths of its sides; they share the ridge, and each its own eave height. */
export function gable(length: number, south: number, north: number, slopeSouth: number, slopeNorth: number): RoofShape {
  const h = length / 2;
  const top = south * slopeSouth;
  const northEave = top - north * slopeNorth;
  return {
    freeSide: open,
    planes: [
      plane('south', 'gable', [[-h, -south, 0], [h, -south, 0], [h, 0, top], [-h, 0, top]]),
      plane('north', 'gable', [[h, north, northEave], [-h, north, northEave], [-h, 0, top], [h, 0, top]]),
    ],
  };
}

export function hip(length: number, width: number, slope: number): RoofShape {
  const h = length / 2;
  const a = width / 2;
  const top = a * slope;
  const r = h - a;
  if (r < 0.2) return pyramid(width, slope);
  return {
    freeSide: open,
    planes: [
      plane('south', 'hip', [[-h, -a, 0], [h, -a, 0], [r, 0, top], [-r, 0, top]]),
      plane('east', 'hip', [[h, -a, 0], [h, a, 0], [r, 0, top]]),
      plane('north', 'hip', [[h, a, 0], [-h, a, 0], [-r, 0, top], [r, 0, top]]),
      plane('west', 'hip', [[-h, a, 0], [-h, -a, 0], [-r, 0, top]]),
    ],
  };
}

export function pyramid(width: number, slope: number): RoofShape {
  const a = width / 2;
  const top: P3 = [0, 0, a * slope];
  const corners: P3[] = [[-a, -a, 0], [a, -a, 0], [a, a, 0], [-a, a, 0]];
  const names = ['south', 'east', 'north', 'west'];
  return {
    freeSide: open,
    planes: corners.map((c, i) => plane(names[i]!, 'pyramid', [[...c], [...corners[(i + 1) % 4]!], [...top]])),
  };
}

/** Falls to the south. */
export function shed(length: number, width: number, slope: number): RoofShape {
  const h = length / 2;
  const a = width / 2;
  const top = width * slope;
  return { freeSide: open, planes: [plane('slope', 'shed', [[-h, -a, 0], [h, -a, 0], [h, a, top], [-h, a, top]])] };
}

/** Two wings of one span, outer corner at the origin: a hip outside, a valley inside. */
export function lShape(legX: number, legY: number, span: number, slope: number): RoofShape {
  const a = span / 2;
  const top = a * slope;
  return {
    freeSide: open,
    planes: [
      plane('south', 'gable', [[0, 0, 0], [legX, 0, 0], [legX, a, top], [a, a, top]]),
      plane('north', 'gable', [[legX, span, 0], [span, span, 0], [a, a, top], [legX, a, top]]),
      plane('west', 'gable', [[0, legY, 0], [0, 0, 0], [a, a, top], [a, legY, top]]),
      plane('east', 'gable', [[span, span, 0], [span, legY, 0], [a, legY, top], [a, a, top]]),
    ],
  };
}

/** Main gable along x with lower wings to the south, and to the north when `both`. */
export function crossGable(length: number, span: number, wingSpan: number, wingReach: number, slope: number, both: boolean): RoofShape {
  const h = length / 2;
  const a = span / 2;
  const b = wingSpan / 2;
  const top = a * slope;
  const wingTop = b * slope;
  // South side; the north side is the same turned by half a turn.
  const main: P3[] = [[-h, -a, 0], [-b, -a, 0], [0, b - a, wingTop], [b, -a, 0], [h, -a, 0], [h, 0, top], [-h, 0, top]];
  const plain: P3[] = [[-h, -a, 0], [h, -a, 0], [h, 0, top], [-h, 0, top]];
  const end = -a - wingReach;
  const west: P3[] = [[-b, -a, 0], [-b, end, 0], [0, end, wingTop], [0, b - a, wingTop]];
  const east: P3[] = [[b, end, 0], [b, -a, 0], [0, b - a, wingTop], [0, end, wingTop]];
  const turned = (ring: P3[]): P3[] => ring.map((p) => [-p[0], -p[1], p[2]]);
  const planes = [
    plane('south', 'gable', main),
    plane('south wing west', 'gable', west),
    plane('south wing east', 'gable', east),
    plane('north', 'gable', turned(both ? main : plain)),
  ];
  if (both) planes.push(plane('north wing east', 'gable', turned(west)), plane('north wing west', 'gable', turned(east)));
  return { freeSide: open, planes };
}

/** Steep lower sides of plan width `run`, a hipped top. */
export function mansard(length: number, width: number, run: number, steep: number, flat: number): RoofShape {
  const h = length / 2;
  const a = width / 2;
  const rise = run * steep;
  const lower: P3[] = [[-h, -a, 0], [h, -a, 0], [h, a, 0], [-h, a, 0]];
  const upper: P3[] = lower.map((p) => [p[0] - Math.sign(p[0]) * run, p[1] - Math.sign(p[1]) * run, rise]);
  const names = ['south', 'east', 'north', 'west'];
  const sides = names.map((name, i) => plane(`${name} lower`, 'mansard', [
    [...lower[i]!], [...lower[(i + 1) % 4]!], [...upper[(i + 1) % 4]!], [...upper[i]!],
  ]));
  const top = hip(length - 2 * run, width - 2 * run, flat).planes.map((p) => ({
    ...p, name: `${p.name} upper`, roof: 'mansard' as const, ring: p.ring.map((q): P3 => [q[0], q[1], q[2] + rise]),
  }));
  return { freeSide: open, planes: [...sides, ...top] };
}

/**
 * Flat roof in bays, each falling on four sides to a drain in its middle, inside parapets.
 * @param fall  Rise over run of the wider facets. [-]
 */
export function fallsToDrains(length: number, width: number, baysX: number, baysY: number, fall: number): RoofShape & { drains: P3[] } {
  const bx = length / baysX;
  const by = width / baysY;
  const depth = (fall * Math.max(bx, by)) / 2;
  const planes: ShapePlane[] = [];
  const drains: P3[] = [];
  for (let j = 0; j < baysY; j++) {
    for (let i = 0; i < baysX; i++) {
      const x = -length / 2 + i * bx;
      const y = -width / 2 + j * by;
      const corners: P3[] = [[x, y, depth], [x + bx, y, depth], [x + bx, y + by, depth], [x, y + by, depth]];
      const drain: P3 = [x + bx / 2, y + by / 2, 0];
      drains.push(drain);
      ['south', 'east', 'north', 'west'].forEach((name, k) => planes.push(
        plane(`bay ${i + 1}.${j + 1} ${name}`, 'flat', [[...corners[k]!], [...corners[(k + 1) % 4]!], [...drain]]),
      ));
    }
  }
  return { freeSide: () => 'parapet', planes, drains };
}

/** Flat roof of two planes falling to a channel along x, inside parapets; drains stand at the channel's thirds. */
export function fallsToChannel(length: number, width: number, fall: number): RoofShape & { drains: P3[] } {
  const h = length / 2;
  const a = width / 2;
  const top = a * fall;
  return {
    freeSide: () => 'parapet',
    // The channel itself is level, so nothing tells where along it the water leaves: no drain is promised.
    drains: [],
    planes: [
      plane('south', 'flat', [[-h, -a, top], [h, -a, top], [h, 0, 0], [-h, 0, 0]]),
      plane('north', 'flat', [[h, a, top], [-h, a, top], [-h, 0, 0], [h, 0, 0]]),
    ],
  };
}

/** Bays along y, each rising to the north with an upright face behind it. */
export function sawtooth(bays: number, length: number, bay: number, slope: number): RoofShape {
  const h = length / 2;
  const top = bay * slope;
  const planes: ShapePlane[] = [];
  for (let i = 0; i < bays; i++) {
    const y = (i - bays / 2) * bay;
    planes.push(plane(`bay ${i + 1}`, 'sawtooth', [[-h, y, 0], [h, y, 0], [h, y + bay, top], [-h, y + bay, top]]));
  }
  const firstEave = (-bays / 2) * bay;
  return { freeSide: (mid) => (mid[2] < 1e-6 && mid[1] > firstEave + 1e-6 ? 'abutment' : 'open'), planes };
}

export interface DormerOptions {
  /** On the plane that falls to the south with its eave at y = -span, z = 0. */
  readonly plane: string;
  readonly x: number;
  readonly halfWidth: number;
  readonly frontY: number;
  readonly eaveZ: number;
  /** Rise over run of the dormer's own roof. */
  readonly slope: number;
  readonly kind: 'gabled' | 'shed';
}

/** Result: the shape with the dormer's planes and a hole for them, and the upright faces below its roof. */
export function withDormer(shape: RoofShape, options: DormerOptions): { shape: RoofShape; walls: P3[][] } {
  const host = shape.planes.find((p) => p.name === options.plane)!;
  const a = host.ring[0]!;
  const far = host.ring.find((p) => p[2] > a[2] + 1e-9)!;
  const slope = (far[2] - a[2]) / (far[1] - a[1]);
  const zAt = (y: number) => a[2] + (y - a[1]) * slope;
  const yAt = (z: number) => a[1] + (z - a[2]) / slope;
  const { x, halfWidth: b, frontY, eaveZ, slope: own } = options;
  const west = x - b;
  const east = x + b;
  const footWest: P3 = [west, frontY, zAt(frontY)];
  const footEast: P3 = [east, frontY, zAt(frontY)];
  const eaveWest: P3 = [west, frontY, eaveZ];
  const eaveEast: P3 = [east, frontY, eaveZ];
  const number = shape.planes.filter((p) => p.roof === 'dormer').length + 1;
  const added: ShapePlane[] = [];
  const walls: P3[][] = [];
  let hole: P3[];
  if (options.kind === 'gabled') {
    const ridgeZ = eaveZ + b * own;
    const ridge: P3 = [x, frontY, ridgeZ];
    const inWest: P3 = [west, yAt(eaveZ), eaveZ];
    const inEast: P3 = [east, yAt(eaveZ), eaveZ];
    const inRidge: P3 = [x, yAt(ridgeZ), ridgeZ];
    added.push(plane(`dormer ${number} west`, 'dormer', [eaveWest, ridge, inRidge, inWest]));
    added.push(plane(`dormer ${number} east`, 'dormer', [ridge, eaveEast, inEast, inRidge]));
    walls.push([footWest, footEast, eaveEast, ridge, eaveWest], [inWest, footWest, eaveWest], [footEast, inEast, eaveEast]);
    hole = [footWest, inWest, inRidge, inEast, footEast];
  } else {
    const meetY = (eaveZ - own * frontY - a[2] + slope * a[1]) / (slope - own);
    const inWest: P3 = [west, meetY, zAt(meetY)];
    const inEast: P3 = [east, meetY, zAt(meetY)];
    added.push(plane(`dormer ${number}`, 'dormer', [eaveWest, eaveEast, inEast, inWest]));
    walls.push([footWest, footEast, eaveEast, eaveWest], [inWest, footWest, eaveWest], [footEast, inEast, eaveEast]);
    hole = [footWest, inWest, inEast, footEast];
  }
  const planes = shape.planes.map((p) => (p === host ? { ...p, holes: [...p.holes, hole] } : p));
  return { shape: { ...shape, planes: [...planes, ...added] }, walls };
}

export const same = (p: P3, q: P3): boolean => Math.hypot(...minus(p, q)) < 1e-7;
export const plan = (p: P3): P2 => [p[0], p[1]];
