import { addBuilding, type Thing } from './building.ts';
import type { P2, P3 } from './points.ts';
import { makeRandom } from './random.ts';
import { fallsToDrains, gable, hip, withDormer, type RoofShape } from './roof-shape.ts';
import { addGround, addTree, addVan } from './surroundings.ts';
import { addPrism, emptyModel, surface, type Model } from './surface.ts';

/** How far apart copies of the town stand. [m] */
const BLOCK_PITCH = 42;

/**
 * The invented harbour town: a flat-roofed bakery hall with parapets, units, flues, skylights and drains; a hipped
 * office; a row of gabled cottages with party walls, chimneys and dormers; quay, water, trees, parked vans.
 */
export function harbour(seed: number, blocks: number): Model {
  const model = emptyModel();
  for (let block = 0; block < blocks; block++) addTown(model, seed + block, block);
  return model;
}

function addTown(model: Model, seed: number, block: number): void {
  const random = makeRandom(seed);
  const start = emptyModel();
  const quayZ = 1.6;
  const name = (id: string) => (block === 0 ? id : `block ${block + 1} ${id}`);
  addHall(start, name('hall'), random.between(0.015, 0.02), quayZ);
  addOffice(start, name('office'), quayZ);
  addCottages(start, name, quayZ);
  addGround(start, [-1, -2], [35, 27], quayZ, 'quay');
  start.surfaces.push(surface([[-1, -6, 0], [35, -6, 0], [35, -2, 0], [-1, -2, 0]], 'water', { keep: 0.12, extraSigma: 0.05 }));
  start.surfaces.push(surface([[-1, -2, 0], [35, -2, 0], [35, -2, quayZ], [-1, -2, quayZ]], 'quay'));
  addTree(start, random, [18.5, 14], quayZ, 5.5, 1.5);
  addTree(start, random, [31.5, 14.2], quayZ, 6.5, 1.7);
  addVan(start, [20.5, 1.2], 0.1, quayZ, 'white van');
  addVan(start, [27.5, 0.6], 3.2, quayZ, 'blue van');
  addPrism(start, [[30, 11.2, quayZ], [31.2, 11.2, quayZ], [31.2, 12, quayZ], [30, 12, quayZ]], quayZ + 1, 'timber');
  for (const key of Object.keys(start) as (keyof Model)[]) (model[key] as unknown[]).push(...moved<unknown>(start[key], block * BLOCK_PITCH));
}

/** Copies of everything with x shifted; only coordinates are touched. */
function moved<T>(list: readonly T[], dx: number): T[] {
  if (dx === 0) return [...list];
  const isPoint = (value: unknown): value is number[] => Array.isArray(value) && value.length >= 2 && value.every((c) => typeof c === 'number');
  const move = (value: unknown, key: string): unknown => {
    if (isPoint(value)) return key === 'normal' ? value : [value[0]! + dx, ...value.slice(1)];
    if (Array.isArray(value)) return value.map((inside) => move(inside, key));
    if (value && typeof value === 'object') return Object.fromEntries(Object.entries(value).map(([k, inside]) => [k, move(inside, k)]));
    return value;
  };
  return list.map((item) => move(item, '') as T);
}

function addHall(model: Model, id: string, fall: number, groundZ: number): void {
  const shape = fallsToDrains(14.4, 10, 2, 1, fall);
  const at: P2 = [8, 6.2];
  const eaveHeight = 4.4;
  const things: Thing[] = [
    { class: 'air unit', shape: 'box', plane: 'bay 1.1 south', at: [-3.6, -3.4], size: [1.8, 1.2], height: 1.1, paint: 'metal' },
    { class: 'air unit', shape: 'box', plane: 'bay 2.1 south', at: [3.9, -3.5], size: [1.4, 1.2], height: 0.9, paint: 'metal' },
    { class: 'skylight', shape: 'box', plane: 'bay 1.1 north', at: [-3.6, 3.2], size: [1.6, 1.6], height: 0.35, paint: 'metal', lid: 'glass', lidKeep: 0.4 },
    { class: 'skylight', shape: 'box', plane: 'bay 2.1 north', at: [3.6, 3.2], size: [1.6, 1.6], height: 0.35, paint: 'metal', lid: 'glass', lidKeep: 0.4 },
    { class: 'flue', shape: 'cylinder', plane: 'bay 1.1 west', at: [-6, 0.4], size: [0.6, 0.6], height: 1, paint: 'metal' },
    { class: 'flue', shape: 'cylinder', plane: 'bay 2.1 east', at: [6, -0.6], size: [0.3, 0.3], height: 0.7, paint: 'metal' },
    { class: 'hatch', shape: 'box', plane: 'bay 2.1 west', at: [1.2, 0.3], size: [0.9, 0.9], height: 0.3, paint: 'metal' },
    { class: 'conduit', shape: 'line', plane: 'bay 2.1 south', at: [3.8, -2.3], size: [2.4, 0.12], height: 0.12, paint: 'metal' },
  ];
  addBuilding(model, {
    id, shape, at, turn: 0, groundZ, eaveHeight, roofPaint: 'membrane', wallPaint: 'brick',
    overhang: () => 0, parapet: { height: 0.55, thickness: 0.3 }, things,
  });
  shape.drains.forEach((d, i) => model.drains.push({ id: `${id} drain ${i + 1}`, at: [d[0] + at[0], d[1] + at[1], d[2] + groundZ + eaveHeight] }));
}

function addOffice(model: Model, id: string, groundZ: number): void {
  addBuilding(model, {
    id, shape: hip(10.5, 7.4, Math.tan((24 * Math.PI) / 180)), at: [26.2, 6.6], turn: 0.12, groundZ, eaveHeight: 5.6,
    roofPaint: 'slate', wallPaint: 'plaster', overhang: () => 0.4,
    things: [{ class: 'chimney', shape: 'box', plane: 'north', at: [0.8, 1.5], size: [0.8, 0.6], height: 1.2, paint: 'brick' }],
  });
}

/** Four cottages in a row; ridges step, and one pair shares a party wall that stands above both roofs. */
function addCottages(model: Model, name: (id: string) => string, groundZ: number): void {
  const span = 3.6;
  const y = 21;
  const slope = Math.tan((42 * Math.PI) / 180);
  const wall = 0.3;
  const width = 6.2;
  const start = 3.4;
  // Eave heights: 1 and 2 level with a party wall between, 3 higher, 4 lower.
  const eaves = [3, 3, 3.7, 3];
  eaves.forEach((eaveHeight, i) => {
    const left = start + i * width + (i === 1 ? wall / 2 : 0);
    const right = start + (i + 1) * width - (i === 0 ? wall / 2 : 0);
    const length = right - left;
    const ends = [endOf(eaves, i, -1), endOf(eaves, i, 1)] as const;
    const plain = gable(length, span, span, slope, slope);
    const withEnds: RoofShape = {
      ...plain,
      freeSide: (mid) => (Math.abs(mid[0]) < length / 2 - 1e-6 ? 'open' : ends[mid[0] < 0 ? 0 : 1]),
    };
    const dormer = i % 2 === 0
      ? { kind: 'gabled' as const, slope, halfWidth: 1.25, frontY: -2.9, eaveZ: (span - 2.9) * slope + 1.1 }
      : { kind: 'shed' as const, slope: Math.tan((12 * Math.PI) / 180), halfWidth: 1.3, frontY: -2.85, eaveZ: (span - 2.85) * slope + 1.25 };
    const { shape, walls } = withDormer(withEnds, { plane: 'south', x: -0.6, ...dormer });
    const outerEnd = (mid: P3) => (i === 0 && mid[0] < -length / 2 + 1e-6) || (i === 3 && mid[0] > length / 2 - 1e-6);
    addBuilding(model, {
      id: name(`cottage ${i + 1}`), shape, at: [(left + right) / 2, y], turn: 0, groundZ, eaveHeight,
      roofPaint: i === 2 ? 'slate' : 'clay tile', wallPaint: 'plaster',
      overhang: (mid) => (Math.abs(mid[0]) < length / 2 - 1e-6 || outerEnd(mid) ? 0.3 : 0),
      upperWalls: walls.map((ring) => ({ ring, paint: 'timber' as const })),
      things: [{ class: 'chimney', shape: 'box', plane: 'north', at: [1.5, 0.85], size: [0.75, 0.6], height: 1.1, paint: 'brick' }],
    });
  });
  addPartyWall(model, name('cottage 1'), start + width, y, wall, span - 0.3, slope, groundZ + 3, 0.35);
}

/** How a cottage's side ends: against the party wall, below the higher neighbour, or free. */
function endOf(eaves: readonly number[], i: number, step: number): 'open' | 'parapet' | 'abutment' {
  const j = i + step;
  if (Math.min(i, j) === 0 && Math.max(i, j) === 1) return 'parapet';
  return j >= 0 && j < eaves.length && eaves[j]! > eaves[i]! ? 'abutment' : 'open';
}

function addPartyWall(model: Model, building: string, x: number, y: number, thickness: number, reach: number, slope: number, eaveZ: number, height: number): void {
  const half = thickness / 2;
  const roofZ = (dy: number) => eaveZ + (3.6 - Math.abs(dy)) * slope;
  const at = (dx: number, dy: number, up: number): P3 => [x + dx, y + dy, roofZ(dy) + up];
  const side = (dx: number): P3[] => [at(dx, -reach, 0), at(dx, 0, 0), at(dx, reach, 0), at(dx, reach, height), at(dx, 0, height), at(dx, -reach, height)];
  model.surfaces.push(surface(side(half), 'brick'), surface(side(-half).reverse(), 'brick'));
  model.surfaces.push(surface([at(-half, -reach, height), at(half, -reach, height), at(half, 0, height), at(-half, 0, height)], 'zinc'));
  model.surfaces.push(surface([at(-half, 0, height), at(half, 0, height), at(half, reach, height), at(-half, reach, height)], 'zinc'));
  model.surfaces.push(surface([at(-half, -reach, -0.5), at(half, -reach, -0.5), at(half, -reach, height), at(-half, -reach, height)], 'brick'));
  model.surfaces.push(surface([at(half, reach, -0.5), at(-half, reach, -0.5), at(-half, reach, height), at(half, reach, height)], 'brick'));
  model.parapets.push({
    id: `${building} party wall`, path: [at(-half, -reach, 0), at(-half, 0, 0), at(-half, reach, 0)], heightAboveRoofM: height, topElevationM: null, thicknessM: thickness,
  });
}
