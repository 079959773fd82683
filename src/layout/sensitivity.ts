import { seededRandom } from '../geometry/seeded-random.ts';
import type { CountSensitivity } from '../roof/record.ts';
import type { BuildingFit, PlaneFit } from './fit-building.ts';
import type { FitOptions } from './fit-options.ts';
import { countInGroup, quickCount } from './place-modules.ts';
import type { PlaneSite } from './plane-site.ts';
import { usableRegion } from './usable-area.ts';
import { atan2 } from '../geometry/same-math.ts';

/** Below this correlation with the count, over the draws, a rim is not said to decide. [-] twice the chance value of 100 draws */
const DECIDES = 0.2;
/** 95 % half widths are this many sigmas. */
const SIGMAS = 1.96;

/**
 * How a building's module count answers to the error of the measurement: every edge and obstruction is moved by a draw
 * from its own position error, and the roof is filled again. Counts are differences to the same quick filling of the
 * roof as measured, so that the effort of the search cancels. A rim moved outward gives ground up to its setback and no
 * more, so where the error is larger than the setbacks the counts lean to the low side.
 */
export function countSensitivity(fit: BuildingFit, options: FitOptions, gridToTrueDeg: number): CountSensitivity {
  const random = seededRandom(options.seed);
  const base = fit.planes.map((plane) => refilled(plane, options, gridToTrueDeg, () => 0, () => 0));
  const count = fit.planes.reduce((sum, { layout }) => sum + layout.modules.length, 0);
  const rims = fit.planes.map(({ usable }) => rimsOf(usable.site));
  const counts: number[] = [];
  const moves: number[][] = [];
  for (let draw = 0; draw < options.draws; draw++) {
    let changed = count;
    const row: number[] = [];
    fit.planes.forEach((plane, p) => {
      const shifts = new Map(rims[p]!.map((rim) => [rim.key, (random.normal() * rim.u95) / SIGMAS]));
      row.push(...rims[p]!.map((rim) => shifts.get(rim.key)!));
      const now = refilled(plane, options, gridToTrueDeg,
        (id, index) => shifts.get(edgeKey(id, index)) ?? 0, (id) => shifts.get(`obstruction ${id}`) ?? 0);
      changed += now - base[p]!;
    });
    counts.push(changed);
    moves.push(row);
  }
  return summed(count, counts, moves, rims.flat(), fit.planes, gridToTrueDeg);
}

interface Rim {
  readonly key: string;
  /** Name for people. */
  readonly name: (gridToTrueDeg: number) => string;
  readonly id: string;
  readonly u95: number;
}

const edgeKey = (id: string | null, index: number): string => (id === null ? `rim ${index}` : `edge ${id}`);

function rimsOf(site: PlaneSite): Rim[] {
  const rims = new Map<string, Rim>();
  site.edges.forEach((edge, index) => {
    const key = edgeKey(edge.id, index);
    if (edge.positionU95M <= 0 || rims.has(key)) return;
    const id = edge.id ?? `${site.plane.id} rim piece ${index + 1}`;
    rims.set(key, {
      key, id, u95: edge.positionU95M,
      name: (gridToTrueDeg) => `the ${side(site, index, gridToTrueDeg)} ${edge.kind === 'unknown' ? 'edge' : edge.kind} ${id}`,
    });
  });
  for (const one of site.obstructions) {
    if (one.positionU95M > 0) rims.set(`obstruction ${one.id}`, { key: `obstruction ${one.id}`, id: one.id, u95: one.positionU95M, name: () => `obstruction ${one.id}` });
  }
  return [...rims.values()];
}

const SIDES = ['north', 'north-east', 'east', 'south-east', 'south', 'south-west', 'west', 'north-west'];

/** Which side of its plane an edge lies on, by the bearing of its outward normal. */
function side(site: PlaneSite, index: number, gridToTrueDeg: number): string {
  const { from, to } = site.edges[index]!;
  // Rings run counter-clockwise about outer rims: outward is to the right.
  const u = to[1] - from[1];
  const v = -(to[0] - from[0]);
  const x = u * site.frame.u[0] + v * site.frame.v[0];
  const y = u * site.frame.u[1] + v * site.frame.v[1];
  const bearing = (atan2(x, y) * 180) / Math.PI + gridToTrueDeg;
  return SIDES[Math.round((((bearing % 360) + 360) % 360) / 45) % 8]!;
}

function refilled(
  plane: PlaneFit, options: FitOptions, gridToTrueDeg: number,
  edge: (id: string | null, index: number) => number, obstruction: (id: string) => number,
): number {
  const { usable, rack, context, shaded } = plane;
  const region = usableRegion(usable.site, options.rules.rules, context, shaded, { edge, obstruction });
  return countInGroup(quickCount({ site: usable.site, region }, options.module, options.style, rack, gridToTrueDeg), options.leastGroup);
}

function summed(
  count: number, counts: readonly number[], moves: readonly (readonly number[])[], rims: readonly Rim[],
  planes: readonly PlaneFit[], gridToTrueDeg: number,
): CountSensitivity {
  const sorted = counts.toSorted((a, b) => a - b);
  const draws = counts.length;
  const at = (share: number): number => Math.max(0, sorted[Math.min(draws - 1, Math.floor(share * draws))] ?? count);
  const same = counts.filter((one) => one === count).length / Math.max(1, draws);
  let decides: Rim | null = null;
  let strongest = DECIDES;
  rims.forEach((rim, r) => {
    const correlation = Math.abs(correlationOf(counts, moves.map((row) => row[r]!)));
    if (correlation > strongest) {
      strongest = correlation;
      decides = rim;
    }
  });
  const found = decides as Rim | null;
  const range: readonly [number, number] = [at(0.025), at(0.975)];
  const head = planes.length === 0 ? 'no roof planes' : `${count} modules in ${Math.round(same * 100)} % of draws`;
  const spread = range[0] === range[1] ? '' : ` (${range[0]} to ${range[1]} in 95 %)`;
  const tail = found ? `; ${found.name(gridToTrueDeg)} decides: measure there` : '';
  return { draws, sameShare: same, range, decidedBy: found?.id ?? null, says: `${head}${spread}${tail}` };
}

function correlationOf(a: readonly number[], b: readonly number[]): number {
  const meanA = a.reduce((sum, x) => sum + x, 0) / a.length;
  const meanB = b.reduce((sum, x) => sum + x, 0) / b.length;
  let ab = 0;
  let aa = 0;
  let bb = 0;
  a.forEach((x, i) => {
    ab += (x - meanA) * (b[i]! - meanB);
    aa += (x - meanA) ** 2;
    bb += (b[i]! - meanB) ** 2;
  });
  return aa > 0 && bb > 0 ? ab / Math.sqrt(aa * bb) : 0;
}
