import { addBuilding, type BuildingOptions, type Thing } from './building.ts';
import { insetRing, type P2, type P3 } from './points.ts';
import { makeRandom, type Random } from './random.ts';
import {
  crossGable, fallsToChannel, fallsToDrains, gable, hip, lShape, mansard, pyramid, sawtooth, shed, withDormer, type RoofShape,
} from './roof-shape.ts';
import { addGround, addTree, addVan } from './surroundings.ts';
import { emptyModel, surface, type Model } from './surface.ts';

export const ROOF_KINDS = [
  'gable', 'hip', 'l', 't', 'cross-gable', 'dormers', 'shed', 'pyramid', 'mansard', 'flat', 'sawtooth', 'barrel-vault',
] as const;
export type SingleRoofKind = (typeof ROOF_KINDS)[number];

type Built = Pick<BuildingOptions, 'shape' | 'roofPaint' | 'wallPaint'> &
  Partial<Pick<BuildingOptions, 'parapet' | 'upperWalls' | 'things' | 'overhang'>> & { readonly drains?: readonly P3[] };

const slopeOf = (pitchDeg: number): number => Math.tan((pitchDeg * Math.PI) / 180);

/** One building of the kind on level ground, every size drawn from the seed. */
export function singleRoof(kind: SingleRoofKind, seed: number): Model {
  const random = makeRandom(seed * 31 + ROOF_KINDS.indexOf(kind));
  const model = emptyModel();
  const groundZ = 2 + random.between(0, 3);
  const eaveHeight = random.between(2.6, 6.5);
  const turn = random.between(0, 2 * Math.PI);
  if (kind === 'barrel-vault') addVault(model, random, groundZ, eaveHeight, turn);
  else {
    const built = BUILD[kind](random);
    const overhang = random.between(0.2, 0.5);
    addBuilding(model, { id: 'house', at: [0, 0], turn, groundZ, eaveHeight, overhang: () => overhang, ...built });
    built.drains?.forEach((d, i) => model.drains.push({ id: `house drain ${i + 1}`, at: turned(d, turn, groundZ + eaveHeight) }));
  }
  const reach = Math.max(...model.surfaces.flatMap((s) => s.ring.map((p) => Math.hypot(p[0], p[1]))));
  addGround(model, [-reach - 3, -reach - 3], [reach + 3, reach + 3], groundZ, random.pick(['grass', 'quay'] as const));
  const side = random.between(0, 2 * Math.PI);
  addTree(model, random, [(reach + 1) * Math.cos(side), (reach + 1) * Math.sin(side)], groundZ, random.between(4, 8), random.between(1.2, 1.8));
  addVan(model, [(reach + 0.5) * Math.cos(side + 2.5), (reach + 0.5) * Math.sin(side + 2.5)], side, groundZ, 'white van');
  return model;
}

const turned = (p: P3, turn: number, z: number): P3 => [
  p[0] * Math.cos(turn) - p[1] * Math.sin(turn), p[0] * Math.sin(turn) + p[1] * Math.cos(turn), p[2] + z,
];

const chimney = (random: Random, plane: string, at: P2): Thing => ({
  class: 'chimney', shape: 'box', plane, at, size: [random.between(0.5, 0.9), random.between(0.5, 0.9)], height: random.between(0.9, 1.6), paint: 'brick',
});
const roofWindow = (random: Random, plane: string, at: P2): Thing => ({
  class: 'roof window', shape: 'flush', plane, at, size: [0.8, 1], height: random.between(0.06, 0.1), followsRoof: true, paint: 'metal', lid: 'glass', lidKeep: 0.35,
});

const BUILD: Record<Exclude<SingleRoofKind, 'barrel-vault'>, (random: Random) => Built> = {
  gable(random) {
    const pitch = slopeOf(random.between(15, 48));
    const south = random.between(3, 5.5);
    const length = random.between(8, 15);
    const uneven = random.next() < 0.3;
    const north = uneven ? south * random.between(0.7, 0.9) : south;
    const shape = gable(length, south, north, pitch, pitch);
    const things = [chimney(random, 'south', [random.between(-0.3, 0.3) * length, -random.between(0.8, 1.4)])];
    if (south > 4) things.push(roofWindow(random, 'north', [random.between(-0.2, 0.2) * length, north * 0.55]));
    return { shape, things, roofPaint: 'clay tile', wallPaint: 'plaster' };
  },
  hip(random) {
    const width = random.between(6, 10);
    const shape = hip(width + random.between(2, 7), width, slopeOf(random.between(18, 40)));
    return { shape, things: [chimney(random, 'south', [random.between(-0.4, 0.4), -width * 0.2])], roofPaint: 'slate', wallPaint: 'plaster' };
  },
  l(random) {
    const span = random.between(5, 8);
    const shape = lShape(span + random.between(4, 8), span + random.between(4, 8), span, slopeOf(random.between(20, 42)));
    const recentred = shifted(shape, [-span, -span, 0]);
    return { shape: recentred, roofPaint: 'clay tile', wallPaint: 'brick' };
  },
  t: (random) => crossing(random, false),
  'cross-gable': (random) => crossing(random, true),
  dormers(random) {
    const slope = slopeOf(random.between(36, 48));
    const south = random.between(4, 5);
    const length = random.between(10, 14);
    let shape = gable(length, south, south, slope, slope);
    const upperWalls: { ring: P3[]; paint: 'timber' }[] = [];
    const top = south * slope;
    [-0.25, 0.25].forEach((share, i) => {
      const kind = i === 0 ? 'gabled' : random.pick(['gabled', 'shed'] as const);
      const frontY = -south * random.between(0.72, 0.8);
      const eaveZ = (south + frontY) * slope + random.between(1, 1.25);
      const halfWidth = random.between(0.8, 1.15);
      const own = kind === 'gabled' ? Math.min(slope, (top - 0.35 - eaveZ) / halfWidth) : slopeOf(random.between(8, 14));
      const added = withDormer(shape, { plane: 'south', x: share * length, halfWidth, frontY, eaveZ, slope: own, kind });
      shape = added.shape;
      upperWalls.push(...added.walls.map((ring) => ({ ring, paint: 'timber' as const })));
    });
    return { shape, upperWalls, things: [chimney(random, 'north', [random.between(-1, 1), random.between(0.7, 1.2)])], roofPaint: 'clay tile', wallPaint: 'plaster' };
  },
  shed(random) {
    const shape = shed(random.between(7, 13), random.between(5, 8), slopeOf(random.between(6, 22)));
    const pipe: Thing = { class: 'flue', shape: 'cylinder', plane: 'slope', at: [random.between(-2, 2), random.between(-1, 1)], size: [0.5, 0.5], height: random.between(0.5, 0.9), paint: 'metal' };
    return { shape, things: [pipe], roofPaint: 'zinc', wallPaint: 'timber' };
  },
  pyramid: (random) => ({ shape: pyramid(random.between(6, 10), slopeOf(random.between(18, 40))), roofPaint: 'slate', wallPaint: 'brick' }),
  mansard(random) {
    const shape = mansard(random.between(10, 14), random.between(8, 10), random.between(0.9, 1.3), slopeOf(random.between(60, 68)), slopeOf(random.between(16, 26)));
    return { shape, roofPaint: 'slate', wallPaint: 'plaster', overhang: () => 0.15 };
  },
  flat(random) {
    const length = random.between(13, 20);
    const width = random.between(9, 13);
    const fall = random.between(0.015, 0.02);
    const toDrains = random.next() < 0.6;
    const shape = toDrains ? fallsToDrains(length, width, 2, 1, fall) : fallsToChannel(length, width, fall);
    const [south, north] = toDrains ? ['bay 1.1 south', 'bay 2.1 north'] : ['south', 'north'];
    const things: Thing[] = [
      { class: 'air unit', shape: 'box', plane: south!, at: [-length * 0.25, -width * 0.3], size: [random.between(1.2, 2), random.between(1, 1.5)], height: random.between(0.9, 1.5), paint: 'metal' },
      { class: 'skylight', shape: 'box', plane: north!, at: [length * 0.25, width * 0.3], size: [1.4, 1.4], height: random.between(0.25, 0.4), paint: 'metal', lid: 'glass', lidKeep: 0.35 },
      { class: 'flue', shape: 'cylinder', plane: north!, at: [length * 0.25 + 1.8, width * 0.36], size: [0.5, 0.5], height: random.between(0.5, 1), paint: 'metal' },
    ];
    const drains = 'drains' in shape ? (shape.drains as P3[]) : [];
    return { shape, things, drains, parapet: { height: random.between(0.35, 0.9), thickness: random.between(0.25, 0.4) }, roofPaint: 'membrane', wallPaint: 'concrete' };
  },
  sawtooth(random) {
    const bays = random.whole(3, 4);
    const bay = random.between(3.5, 5);
    const length = random.between(9, 14);
    const slope = slopeOf(random.between(20, 30));
    const h = length / 2;
    const upperWalls = Array.from({ length: bays - 1 }, (_, i) => {
      const y = (i + 1 - bays / 2) * bay;
      const top = bay * slope;
      return { ring: [[h, y, 0], [-h, y, 0], [-h, y, top], [h, y, top]] as P3[], paint: 'glass' as const, keep: 0.5 };
    });
    return { shape: sawtooth(bays, length, bay, slope), upperWalls, roofPaint: 'zinc', wallPaint: 'brick', overhang: () => 0 };
  },
};

function crossing(random: Random, both: boolean): Built {
  const span = random.between(7, 10);
  const wing = span * random.between(0.5, 0.8);
  const slope = slopeOf(random.between(22, 42));
  const shape = crossGable(wing + random.between(6, 9), span, wing, random.between(2, 4.5), slope, both);
  return { shape, things: [chimney(random, 'north', [wing / 2 + 1.6, span * 0.18])], roofPaint: 'clay tile', wallPaint: 'plaster' };
}

const shifted = (shape: RoofShape, by: P3): RoofShape => ({
  freeSide: (mid) => shape.freeSide([mid[0] - by[0], mid[1] - by[1], mid[2] - by[2]]),
  planes: shape.planes.map((p) => ({ ...p, ring: p.ring.map((q): P3 => [q[0] + by[0], q[1] + by[1], q[2] + by[2]]) })),
});

/** A barrel vault over a rectangle: no plane describes it, so the truth names none. */
function addVault(model: Model, random: Random, groundZ: number, eaveHeight: number, turn: number): void {
  const half = random.between(3.5, 5);
  const h = random.between(6, 9);
  const opening = random.between(0.9, 1.2);
  const radius = half / Math.sin(opening);
  const strips = 48;
  const at = (x: number, k: number): P3 => {
    const angle = opening * ((2 * k) / strips - 1);
    return turned([x, radius * Math.sin(angle), radius * (Math.cos(angle) - Math.cos(opening))], turn, groundZ + eaveHeight);
  };
  for (let k = 0; k < strips; k++) model.surfaces.push(surface([at(-h, k), at(h, k), at(h, k + 1), at(-h, k + 1)], 'zinc'));
  const corners: P3[] = [at(-h, 0), at(h, 0), at(h, strips), at(-h, strips)];
  model.buildings.push({ id: 'house', groundElevationM: groundZ });
  model.curved.push({ id: 'house vault', ring: corners.map((p): P2 => [p[0], p[1]]) });
  const feet = insetRing(corners.map((p): P2 => [p[0], p[1]]), [0, 0, 0, 0]);
  corners.forEach((p, i) => {
    const j = (i + 1) % 4;
    const end = i % 2 === 1;
    const arch = end ? Array.from({ length: strips - 1 }, (_, k) => at(i === 1 ? h : -h, i === 1 ? strips - 1 - k : k + 1)) : [];
    model.surfaces.push(surface([[...feet[i]!, groundZ], [...feet[j]!, groundZ], corners[j]!, ...arch, p], 'brick'));
  });
}
