import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Cloud } from '../../src/cloud/cloud.ts';
import { fitMoments, MOMENT_FIT_SIZE } from '../../src/geometry/fit-moments.ts';
import { ringContains } from '../../src/geometry/polygon.ts';
import type { Vector3 } from '../../src/geometry/vector.ts';
import type { RoofRecord } from '../../src/roof/record.ts';
import { quantile } from '../../src/survey/score/statistics.ts';
import type { SurveyResult } from '../../src/survey/survey-result.ts';
import { angleBetween, joinedFaces, largestShare, meetsFaces, shareCovered, type PublishedFace } from './compare-faces.ts';
import { areaAndNormal, readObj } from './model-faces.ts';

/** The faces asked for: slope area, and rms of their points about the plane of the list. [m²], [m] */
const LEAST_AREA = 10;
const GREATEST_RMS = 0.06;
/** How near the pieces of a published face lie to its plane. [deg], [m] */
const SAME_ANGLE = 1;
const SAME_LEVEL = 2.5;
const SAME_PLANE = 0.2;
/** Points this near the plane of the list are the face's. [m] */
const ON_FACE = 0.25;
/** No point this near is cut off. [m] */
const LEAST_TRIM = 0.03;
/** The list gives no azimuth to gentle planes; a plane through the same points that has its pitch has its azimuth too. [deg] */
const SAME_PITCH = 0.1;
/** A face whose points lie no higher than this above the lowest ones around is ground drawn with the model. [m], [m] */
const GROUND_HEIGHT = 1;
const AROUND = 8;

interface ListedFace extends PublishedFace {
  /** Pitch of the list less pitch of the plane through the same points, where the list has an azimuth. [deg] */
  readonly pitchDifference: number | null;
  readonly isGround: boolean;
}

/** Faces of published models of an old town, on the very points they were made from: one to one as listed, and with neighbours of one plane joined. */
export function publishedLines(folder: string, { record, cloud }: SurveyResult): string[] {
  const rows = readFileSync(join(folder, 'planes_published_vs_lsq.csv'), 'utf8').trim().split('\n').slice(1).map((line) => line.split(','));
  const listed = rows.filter((r) => Number(r[2]) >= LEAST_AREA && Number(r[11]) < GREATEST_RMS);
  const faces = listed.map((r) => readFace(folder, r, record, cloud));
  const planes = record.buildings.flatMap((b) => b.roofPlanes);
  const unclear = faces.filter((f, i) => Math.abs(f.areaM2 - Number(listed[i]![2])) > 0.1 * f.areaM2);
  const joined = joinedFaces(faces, (group) => ({ ...planeThrough(cloud, group), name: group.map((one) => one.name).join(' + ') }));
  const covered = faces.filter((f) => planes.some((p) => angleBetween(f.normal, p.normal) < 2 && shareCovered(f.rings, p) >= 0.5));
  const grounds = faces.filter((f) => f.isGround);
  const lost = faces.filter((f) => !covered.includes(f) && !f.isGround).map((f) => {
    const best = largestShare(f.rings, planes);
    return `${f.name} ${f.areaM2.toFixed(0)} m² (best share ${best.share.toFixed(2)}${best.plane ? `, ${angleBetween(f.normal, best.plane.normal).toFixed(1)}°` : ''})`;
  });
  const worst = quantile(faces.flatMap((f) => (f.pitchDifference === null ? [] : [Math.abs(f.pitchDifference)])), 1);
  return [
    `delft-west: ${planes.length} planes in ${record.buildings.length} buildings. Published faces of at least ${LEAST_AREA} m² with rms below ${100 * GREATEST_RMS} cm, matched where a plane of ours lies within 2° and covers half of the face:`,
    '', '| faces | number | matched one to one | share [%] | angle to plain least squares: median, 90 % [°] | to trimmed least squares: median, 90 % [°] | between those two: median [°] |', '| - | - | - | - | - | - | - |',
    row('as listed', faces), row('neighbours of one plane joined', joined), row('the same without ground', joined.filter((f) => !grounds.some((g) => g.name === f.name))), '',
    `The models end at property lines. ${faces.length - joined.length} faces go on into a neighbour within 2° and 10 cm, where nothing in the roof shows the line: one plane of ours then rightly covers several of theirs, and only one of them counts in the first row. ` +
      `${covered.length} of ${faces.length} are covered by some plane of ours. Reference is the list's plane through the points; where it has no azimuth, ours through the same points (pitches agree with the list within ${worst === null ? '–' : worst.toFixed(2)}°).`,
    ...(grounds.length > 0 ? [`Ground drawn with the model, no roof: ${grounds.map((f) => f.name).join(', ')}.`] : []),
    ...(unclear.length > 0 ? [`Area of the model's pieces differs from the list by more than a tenth: ${unclear.map((f) => f.name).join(', ')}.`] : []),
    ...(lost.length > 0 ? [`Not covered: ${lost.join('; ')}.`] : []),
  ];

  function row(title: string, wanted: readonly PublishedFace[]): string {
    const partner = meetsFaces(wanted, planes);
    const found = wanted.flatMap((f, i) => (partner[i] ? [{ ours: partner[i]!.normal, plain: f.normal, trimmed: trimmedNormal(cloud, f) }] : []));
    const share = wanted.length > 0 ? ((100 * found.length) / wanted.length).toFixed(1) : '–';
    const both = (angles: readonly number[]): string => `${numberText(quantile(angles, 0.5), 3)}, ${numberText(quantile(angles, 0.9), 2)}`;
    return `| ${title} | ${wanted.length} | ${found.length} | ${share} | ${both(found.map((f) => angleBetween(f.ours, f.plain)))} | ${both(found.map((f) => angleBetween(f.ours, f.trimmed)))} | ${numberText(quantile(found.map((f) => angleBetween(f.plain, f.trimmed)), 0.5), 3)} |`;
  }
}

const numberText = (value: number | null, digits: number): string => (value === null ? '–' : value.toFixed(digits));

/**
 * A row of the list names a plane by pitch, azimuth and the middle of its points; the model holds it in pieces. All pieces of
 * the building that lie in that plane make the face.
 */
function readFace(folder: string, row: readonly string[], record: RoofRecord, cloud: Cloud): ListedFace {
  const offset = readFileSync(join(folder, 'city3d_offset.txt'), 'utf8').split('\n')[1]!.trim().split(/\s+/).map(Number);
  const { vertices, faces } = readObj(readFileSync(join(folder, 'city3d', `${row[0]}.obj`), 'utf8'));
  const model = normalOf(row[3]!, row[4]!);
  const middle = [6, 7, 8].map((column, k) => Number(row[column]) - record.frame.origin[k]!) as unknown as Vector3;
  const rings = faces.map((f) => f.map((v) => [0, 1, 2].map((k) => vertices[v]![k]! + offset[k]! - record.frame.origin[k]!) as unknown as Vector3))
    .filter((ring) => {
      const own = areaAndNormal(ring);
      if (!(own.areaM2 > 1e-4) || angleBetween(own.normal, model) > (row[4] === '' ? SAME_LEVEL : SAME_ANGLE)) return false;
      const reach = Math.abs(own.normal.reduce((sum, c, k) => sum + c * (middle[k]! - ring[0]![k]!), 0));
      return reach < SAME_PLANE;
    });
  const areaM2 = rings.reduce((sum, ring) => sum + areaAndNormal(ring).areaM2, 0);
  // Judged by the plane through the points: published faces stray from their own points by up to 5°.
  const listed = normalOf(row[9]!, row[10]!);
  const face = { name: `${row[0]}/${row[1]}`, rings, normal: listed, middle, areaM2 };
  const through = planeThrough(cloud, [face]).normal;
  const pitchDifference = Number(row[9]) - (Math.acos(through[2]) * 180) / Math.PI;
  const normal = row[10] === '' && Math.abs(pitchDifference) < SAME_PITCH ? through : listed;
  return { ...face, normal, pitchDifference: row[10] === '' ? null : pitchDifference, isGround: middle[2] < lowestAround(cloud, middle) + GROUND_HEIGHT };
}

/** Upward normal from pitch and azimuth in degrees; a face without azimuth is taken as level. */
function normalOf(pitchDeg: string, azimuthDeg: string): Vector3 {
  if (azimuthDeg === '') return [0, 0, 1];
  const pitch = (Number(pitchDeg) * Math.PI) / 180;
  const bearing = (Number(azimuthDeg) * Math.PI) / 180;
  return [Math.sin(pitch) * Math.sin(bearing), Math.sin(pitch) * Math.cos(bearing), Math.cos(pitch)];
}

/**
 * Normal of least squares over a face's points again and again without those beyond three times the rms of the last round:
 * what stands on a roof, its gutters and its walls are within 25 cm too.
 */
function trimmedNormal(cloud: Cloud, face: PublishedFace): Vector3 {
  let plane: PlaneThrough = { ...face, rms: ON_FACE / 3 };
  for (let round = 0; round < 8; round++) plane = planeThrough(cloud, [{ ...face, ...plane }], Math.max(LEAST_TRIM, 3 * plane.rms));
  return plane.normal;
}

type PlaneThrough = Pick<PublishedFace, 'normal' | 'middle'> & { readonly rms: number };

/** Plain orthogonal least squares of the points of some faces, as far as they lie within `reach` of each one's plane. [m] */
function planeThrough(cloud: Cloud, faces: readonly PublishedFace[], reach = ON_FACE): PlaneThrough {
  const [x0, y0, z0] = faces[0]!.middle;
  const moments = new Float64Array(10);
  for (const { rings, normal, middle } of faces) {
    forPointsIn(cloud, rings, (x, y, z) => {
      if (Math.abs(normal[0] * (x - middle[0]) + normal[1] * (y - middle[1]) + normal[2] * (z - middle[2])) > reach) return;
      const [u, v, w] = [x - x0, y - y0, z - z0];
      [1, u, v, w, u * u, u * v, u * w, v * v, v * w, w * w].forEach((value, k) => (moments[k]! += value));
    });
  }
  if (moments[0]! < 4) return { ...faces[0]!, rms: reach / 3 };
  const fit = new Float64Array(MOMENT_FIT_SIZE);
  fitMoments(moments, fit);
  const n = moments[0]!;
  return { normal: [fit[0]!, fit[1]!, fit[2]!], middle: [x0 + moments[1]! / n, y0 + moments[2]! / n, z0 + moments[3]! / n], rms: Math.sqrt(fit[3]!) };
}

function forPointsIn(cloud: Cloud, rings: readonly (readonly Vector3[])[], visit: (x: number, y: number, z: number) => void): void {
  for (const ring of rings) {
    const [xs, ys] = [0, 1].map((k) => ring.map((p) => p[k]!)) as [number[], number[]];
    const box = [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)] as const;
    forPointsInBox(cloud, box, (x, y, z) => void (ringContains(ring.map(([a, b]) => [a, b] as const), [x, y]) && visit(x, y, z)));
  }
}

function forPointsInBox({ cells, grid }: Cloud, [left, bottom, right, top]: readonly [number, number, number, number], visit: (x: number, y: number, z: number) => void): void {
  for (const { origin, positions, pointCount } of cells) {
    if (origin[0] > right || origin[1] > top || origin[0] + grid.cellSize < left || origin[1] + grid.cellSize < bottom) continue;
    for (let i = 0; i < pointCount; i++) {
      const x = positions[3 * i]! + origin[0];
      const y = positions[3 * i + 1]! + origin[1];
      if (x >= left && x <= right && y >= bottom && y <= top) visit(x, y, positions[3 * i + 2]! + origin[2]);
    }
  }
}

/** Elevation that one in fifty points around a place lies below. [m] */
function lowestAround(cloud: Cloud, [x, y]: Vector3): number {
  const heights: number[] = [];
  forPointsInBox(cloud, [x - AROUND, y - AROUND, x + AROUND, y + AROUND], (_, __, z) => void heights.push(z));
  return quantile(heights, 0.02) ?? Infinity;
}
