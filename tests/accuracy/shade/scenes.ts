import type { Vector2, Vector3 } from '../../../src/geometry/vector.ts';
import type { Building, Obstruction, Parapet, RoofRecord } from '../../../src/roof/record.ts';
import { planeOf } from '../../fixtures/record-harbour.ts';
import { boxOn, buildingOf, known, recordOf, rim } from '../../fixtures/record-roofs.ts';
import type { TrueScene } from './true-scene.ts';

export interface ShadeCase {
  readonly name: string;
  readonly latitudeDeg: number;
  readonly record: RoofRecord;
  readonly truth: TrueScene;
  readonly ground: number;
}

const box = (x: number, y: number, width: number, depth: number): Vector2[] => [[x, y], [x + width, y], [x + width, y + depth], [x, y + depth]];
const crown = (x: number, y: number, radius: number): Vector2[] =>
  Array.from({ length: 20 }, (_, i) => [x + radius * Math.cos((i * Math.PI) / 10), y + radius * Math.sin((i * Math.PI) / 10)] as const);
const shift = ([x, y]: Vector2, base: number): Vector3 => [x, y, base];

/** Upper face of an upright body, so that its truth holds from above as well. */
const asPrism = (one: Obstruction, roof: (x: number, y: number) => number) => {
  const x = one.footprint.reduce((sum, at) => sum + at[0], 0) / one.footprint.length;
  const y = one.footprint.reduce((sum, at) => sum + at[1], 0) / one.footprint.length;
  return { footprint: one.footprint, top: roof(x, y) + one.heightAboveRoofM.value! };
};

/** Gabled cottage with a chimney and a vent; a taller neighbour and a tree that the record knows nothing of. */
function cottage(): ShadeCase {
  const slope = Math.tan((38 * Math.PI) / 180);
  const height = (_: number, y: number): number => 5 + (4 - Math.abs(y - 4)) * slope;
  const corner = (x: number, y: number): Vector3 => [x, y, height(x, y)];
  const south = [corner(0, 0), corner(11, 0), corner(11, 4), corner(0, 4)];
  const north = [corner(0, 4), corner(11, 4), corner(11, 8), corner(0, 8)];
  const obstructions = [boxOn('chimney', 'b1.p1', 6, 2.6, 0.7, 0.5, 1.6), boxOn('vent', 'b1.p1', 2.5, 1.4, 0.3, 0.3, 0.5)];
  const edges = [rim('e1', 'eave', 'b1.p1', south[0]!, south[1]!), rim('e2', 'ridge', 'b1.p1', south[2]!, south[3]!), rim('e3', 'rake', 'b1.p1', south[1]!, south[2]!), rim('e4', 'rake', 'b1.p1', south[3]!, south[0]!)];
  const building = buildingOf([planeOf('b1.p1', south), planeOf('b1.p2', north)], edges, obstructions, { outline: box(0, 0, 11, 8) });
  return {
    name: 'cottage with chimney, tree and taller neighbour', latitudeDeg: 52, record: recordOf([building]), ground: 0,
    truth: {
      prisms: [...obstructions.map((one) => asPrism(one, height)), { footprint: box(14, -6, 8, 9), top: 11 }, { footprint: crown(3, -8, 2.4), top: 10 }],
      walls: [], faces: [south, north],
    },
  };
}

/** Flat hall with parapets, two units, a flue and a stair head. */
function hall(): ShadeCase {
  const plan = box(0, 0, 24, 14);
  const corners = plan.map((at) => shift(at, 8));
  const obstructions = [
    boxOn('unit', 'b1.p1', 5, 5, 2.4, 1.6, 1.5), boxOn('unit 2', 'b1.p1', 15, 3, 1.8, 1.2, 1.1),
    boxOn('flue', 'b1.p1', 11, 8, 0.5, 0.5, 2.2), boxOn('stair', 'b1.p1', 19, 9, 3, 3.5, 2.6),
  ];
  const parapet: Parapet = { id: 'r1', path: [...corners, corners[0]!], heightAboveRoofM: known(0.8, 0.03), thicknessM: known(0.3, 0.03) };
  const edges = corners.map((corner, i) => rim(`e${i + 1}`, 'parapet', 'b1.p1', corner, corners[(i + 1) % 4]!));
  const building: Building = buildingOf([planeOf('b1.p1', corners)], edges, obstructions, { parapets: [parapet] });
  return {
    name: 'flat hall with parapets and units', latitudeDeg: 43, record: recordOf([building]), ground: 0,
    truth: {
      prisms: obstructions.map((one) => asPrism(one, () => 8)),
      walls: plan.map((from, i) => ({ from, to: plan[(i + 1) % 4]!, top: 8.8 })), faces: [],
    },
  };
}

/** Hipped office with a chimney under a tower block, a row of trees to the west. */
function office(): ShadeCase {
  const slope = Math.tan((28 * Math.PI) / 180);
  const rise = 5 * slope;
  const low: Vector3[] = [[0, 0, 6], [16, 0, 6], [16, 10, 6], [0, 10, 6]];
  const [left, right]: [Vector3, Vector3] = [[5, 5, 6 + rise], [11, 5, 6 + rise]];
  const faces = [[low[0]!, low[1]!, right, left], [low[1]!, low[2]!, right], [low[2]!, low[3]!, left, right], [low[3]!, low[0]!, left]];
  const chimney = boxOn('chimney', 'b1.p1', 8, 3, 0.8, 0.8, 2);
  const kinds = ['eave', 'hip', 'ridge', 'hip'] as const;
  const edges = faces[0]!.map((corner, i) => rim(`e${i + 1}`, kinds[i]!, 'b1.p1', corner, faces[0]![(i + 1) % 4]!));
  const building = buildingOf(faces.map((face, i) => planeOf(`b1.p${i + 1}`, face)), edges, [chimney], { outline: box(0, 0, 16, 10) });
  return {
    name: 'hipped office under a tower', latitudeDeg: 37, record: recordOf([building]), ground: 0,
    truth: {
      prisms: [
        asPrism(chimney, (_, y) => 6 + y * slope), { footprint: box(20, -14, 12, 12), top: 24 },
        ...[-6, 0, 6].map((y) => ({ footprint: crown(-7, y, 2), top: 11 })),
      ],
      walls: [], faces,
    },
  };
}

export const SHADE_CASES: readonly ShadeCase[] = [cottage(), hall(), office()];
