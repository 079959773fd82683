import { chiSquareQuantile, normalQuantile } from '../../src/geometry/distributions.ts';
import { quantile } from '../../src/survey/score/statistics.ts';
import { angleBetween, areBeside } from './compare-faces.ts';
import { measureSharedNoise, testHalves, testLine, type LineTest, type SharedNoise } from './dividing-lines.ts';
import { heightAbove, planeThrough, trimmedPlane } from './face-points.ts';
import type { ListedFace } from './published-faces.ts';

/** Neighbours that differ by more are two planes to anybody. [deg], [m] */
const SHALLOW = 3;
const LOW_STEP = 0.15;
/** Of an error of the first kind. [-] */
const LEVEL = 0.001;
const CHI_SQUARED = chiSquareQuantile(1 - LEVEL, 3);
const STEP_SIGMAS = normalQuantile(1 - LEVEL / 2);

/** Two published faces of nearly one plane that touch, and what the points say with the published line taken as known. */
export interface NeighbourLine {
  readonly first: ListedFace;
  readonly second: ListedFace;
  readonly test: LineTest;
}

export interface NeighbourLines {
  readonly pairs: readonly NeighbourLine[];
  /** Single faces cut in their middle: what one roof differs by from itself. */
  readonly halves: readonly LineTest[];
  readonly noise: SharedNoise;
}

/** All pairs of neighbours in nearly one plane, and every face against itself. */
export function neighboursOf(faces: readonly ListedFace[]): NeighbourLines {
  const noise = measureSharedNoise(faces.map((f) => f.trimmed));
  const pairs = faces.flatMap((first, i) => faces.slice(0, i).flatMap((second): NeighbourLine[] => {
    if (angleBetween(first.trimmed.normal, second.trimmed.normal) > SHALLOW || stepBetween(first, second) > LOW_STEP || !areBeside(first, second)) return [];
    const test = testLine(first, second, first.trimmed, second.trimmed, noise);
    return test ? [{ first, second, test }] : [];
  }));
  return { pairs, noise, halves: faces.flatMap((f) => testHalves(f.trimmed, noise) ?? []) };
}

/** Greater distance of the middle of one from the plane of the other. [m] */
const stepBetween = ({ trimmed: a }: ListedFace, { trimmed: b }: ListedFace): number => Math.max(Math.abs(heightAbove(a, b.middle)), Math.abs(heightAbove(b, a.middle)));

/** What may tell two planes from one: their noise alone, noise and the unevenness of single roofs, or a step in height. */
export function tellings({ halves }: NeighbourLines): readonly { readonly by: string; readonly tells: (test: LineTest) => boolean }[] {
  const uneven = (quantile(halves.map((h) => h.chiSquared), 0.5) ?? 0) / chiSquareQuantile(0.5, 3);
  return [
    { by: 'the noise of the points alone (chi-square)', tells: ({ chiSquared }) => chiSquared > CHI_SQUARED },
    { by: 'noise and unevenness (chi-square over that of halves of single faces)', tells: ({ chiSquared }) => chiSquared > Math.max(1, uneven) * CHI_SQUARED },
    { by: 'a step in height at the line', tells: ({ step, stepSd }) => Math.abs(step) > STEP_SIGMAS * stepSd },
  ];
}

/** Faces with the neighbours joined that are alike. */
export function joinAlike(faces: readonly ListedFace[], alike: readonly NeighbourLine[]): ListedFace[] {
  return componentsOf(faces, alike).map((group) => {
    if (group.length === 1) return group[0]!;
    const points = group.flatMap((one) => one.points);
    const plain = planeThrough(group.flatMap((one) => one.plain.points))!;
    return {
      ...group[0]!, points, plain, trimmed: trimmedPlane(points, plain) ?? plain, normal: plain.normal, middle: plain.middle,
      name: group.map((one) => one.name).join(' + '), rings: group.flatMap((one) => one.rings), areaM2: group.reduce((sum, one) => sum + one.areaM2, 0),
    };
  });
}

function componentsOf(faces: readonly ListedFace[], edges: readonly NeighbourLine[]): ListedFace[][] {
  const owner = new Map(faces.map((f) => [f, f]));
  const find = (f: ListedFace): ListedFace => (owner.get(f) === f ? f : find(owner.get(f)!));
  for (const { first, second } of edges) owner.set(find(first), find(second));
  const groups = new Map<ListedFace, ListedFace[]>();
  for (const f of faces) groups.set(find(f), [...(groups.get(find(f)) ?? []), f]);
  return [...groups.values()];
}

/** How many faces of a group can each have a plane of its own, no two of them alike: the largest independent set, by trying all. */
function mostApart(group: readonly ListedFace[], edges: readonly NeighbourLine[]): number {
  const [face, ...rest] = group;
  if (!face) return 0;
  const beside = new Set(edges.flatMap(({ first, second }) => (first === face ? [second] : second === face ? [first] : [])));
  const with1 = 1 + mostApart(rest.filter((f) => !beside.has(f)), edges);
  return rest.some((f) => beside.has(f)) ? Math.max(with1, mostApart(rest, edges)) : with1;
}

/** What the points can say about the lines between published faces, and how many faces any method could match that sees points only. */
export function ceilingLines(faces: readonly ListedFace[], lines: NeighbourLines): string[] {
  const share = (count: number): string => `${count} (${((100 * count) / faces.length).toFixed(1)} %)`;
  const halves = (value: (test: LineTest) => number, q: number): string => (quantile(lines.halves.map(value), q) ?? 0).toFixed(2);
  return [
    `Can the points show the lines? ${lines.pairs.length} pairs of listed faces touch within ${SHALLOW}° and ${100 * LOW_STEP} cm. For each the published line is taken as known, and two planes are tested against one (p < ${LEVEL}); the noise is that of the faces themselves, and points share ${lines.noise.share.toFixed(2)} of it, less with distance by e every ${lines.noise.length.toFixed(2)} m, as measured on all faces (rather too little, as each plane took up a part). ` +
      `Single faces cut in their middle serve as a check: their halves differ by ${halves((t) => t.angle, 0.5)}° (median; 95 %: ${halves((t) => t.angle, 0.95)}°), chi-square ${halves((t) => t.chiSquared, 0.5)} (95 %: ${halves((t) => t.chiSquared, 0.95)}; noise alone says 2.37 and 7.81), step over its sigma ${halves((t) => Math.abs(t.step) / t.stepSd, 0.5)} (95 %: ${halves((t) => Math.abs(t.step) / t.stepSd, 0.95)}; noise says 0.67 and 1.96). So roofs bend by themselves more than neighbours differ, and only a step is evidence of a line.`,
    '', '| what tells two planes from one | pairs told apart | halves of single faces told apart | faces left when alike neighbours are joined | most faces matched one to one by a method that sees only points |', '| - | - | - | - | - |',
    ...tellings(lines).map(({ by, tells }) => {
      const alike = lines.pairs.filter(({ test }) => !tells(test));
      const groups = componentsOf(faces, alike);
      const most = groups.reduce((sum, group) => sum + mostApart(group, alike), 0);
      return `| ${by} | ${lines.pairs.length - alike.length} of ${lines.pairs.length} | ${lines.halves.filter(tells).length} of ${lines.halves.length} | ${share(groups.length)} | ${share(most)} |`;
    }), '',
    'The last column is a bound, not a forecast: of a row of like houses every other one would have to be cut out by luck.',
  ];
}
