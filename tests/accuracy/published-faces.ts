import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Vector3 } from '../../src/geometry/vector.ts';
import type { RoofPlane, RoofRecord } from '../../src/roof/record.ts';
import { quantile } from '../../src/survey/score/statistics.ts';
import type { SurveyResult } from '../../src/survey/survey-result.ts';
import { angleBetween, GREATEST_ANGLE, LEAST_SHARE, meetsFaces, sharesOf, type PublishedFace } from './compare-faces.ts';
import { causeLines } from './face-causes.ts';
import { heightAbove, indexPoints, planeNear, planeThrough, pointsInBox, pointsWithin, trimmedPlane, type FittedPlane, type PointIndex } from './face-points.ts';
import { areaAndNormal, readObj } from './model-faces.ts';
import { ceilingLines, joinAlike, neighboursOf, tellings } from './neighbour-lines.ts';

/** The faces asked for: slope area, and rms of their points about the plane of the list. [m²], [m] */
const LEAST_AREA = 10;
const GREATEST_RMS = 0.06;
/** How near the pieces of a published face lie to its plane. [deg], [m] */
const SAME_ANGLE = 1;
const SAME_LEVEL = 2.5;
const SAME_PLANE = 0.2;
/** The list gives no azimuth to gentle planes; a plane through the same points that has its pitch has its azimuth too. [deg] */
const SAME_PITCH = 0.1;
/** A face whose points lie no higher than this above the lowest ones around is ground drawn with the model. [m], [m] */
const GROUND_HEIGHT = 1;
const AROUND = 8;

/** `normal` is the list's plane: plain least squares of the points within 25 cm of the published face. */
export interface ListedFace extends PublishedFace {
  /** Of the model as published. */
  readonly model: Vector3;
  /** Points over and under it, in plan. */
  readonly points: readonly Vector3[];
  readonly plain: FittedPlane;
  readonly trimmed: FittedPlane;
  /** Pitch of the list less pitch of the plane through the same points, where the list has an azimuth. [deg] */
  readonly pitchDifference: number | null;
  readonly isGround: boolean;
}

/** Faces of published models of an old town, on the very points they were made from: matched one to one, and why not. */
export function publishedLines(folder: string, { record, cloud }: SurveyResult): string[] {
  const rows = readFileSync(join(folder, 'planes_published_vs_lsq.csv'), 'utf8').trim().split('\n').slice(1).map((line) => line.split(','));
  const listed = rows.filter((r) => Number(r[2]) >= LEAST_AREA && Number(r[11]) < GREATEST_RMS);
  const index = indexPoints(cloud);
  const faces = listed.map((r) => readFace(folder, r, record, index));
  const planes = record.buildings.flatMap((b) => b.roofPlanes);
  const unclear = faces.filter((f, i) => Math.abs(f.areaM2 - Number(listed[i]![2])) > 0.1 * f.areaM2);
  const shares = sharesOf(faces, planes);
  const partner = meetsFaces(faces, planes, shares);
  const neighbours = neighboursOf(faces);
  const covered = faces.filter((f, i) => planes.some((p, j) => shares[i]![j]! >= LEAST_SHARE && angleBetween(f.normal, p.normal) < GREATEST_ANGLE));
  const worst = quantile(faces.flatMap((f) => (f.pitchDifference === null ? [] : [Math.abs(f.pitchDifference)])), 1);
  const grounds = faces.filter((f) => f.isGround);
  return [
    `delft-west: ${planes.length} planes in ${record.buildings.length} buildings. Published faces of at least ${LEAST_AREA} m² with rms below ${100 * GREATEST_RMS} cm, matched where a plane of ours lies within ${GREATEST_ANGLE}° and covers half of the face:`,
    '', '| faces | number | matched one to one | share [%] | ours to the reference: median, 90 % [°] | to trimmed least squares: median, 90 % [°] |', '| - | - | - | - | - | - |',
    matchRow('as listed', faces, partner),
    matchRow('judged by trimmed least squares', ...judgedBy((f) => f.trimmed.normal)), matchRow('judged by the published model', ...judgedBy((f) => f.model)),
    ...tellings(neighbours).map(({ by, tells }) => joinedRow(`neighbours joined that are not told apart by ${by}`, joinAlike(faces, neighbours.pairs.filter(({ test }) => !tells(test))))), '',
    `${covered.length} of ${faces.length} are covered by some plane of ours. The reference is the list's plane: plain least squares of the points within 25 cm of the published face; where the list has no azimuth, ours through the same points (pitches agree with the list within ${worst === null ? '–' : worst.toFixed(2)}°).`,
    '', ...angleLines(faces, partner), '', ...causeLines(faces, planes, shares, partner, neighbours), '', ...ceilingLines(faces, neighbours),
    ...(grounds.length > 0 ? ['', `Ground drawn with the model, no roof: ${grounds.map((f) => f.name).join(', ')}.`] : []),
    ...(unclear.length > 0 ? [`Area of the model's pieces differs from the list by more than a tenth: ${unclear.map((f) => f.name).join(', ')}.`] : []),
  ];

  function judgedBy(normalOf: (face: ListedFace) => Vector3): [ListedFace[], (RoofPlane | null)[]] {
    const judged = faces.map((f) => ({ ...f, normal: normalOf(f) }));
    return [judged, meetsFaces(judged, planes, shares)];
  }

  /** Ground is no roof. */
  function joinedRow(title: string, joined: readonly ListedFace[]): string {
    const roofs = joined.filter((f) => !f.isGround);
    return matchRow(`${title}, without ground`, roofs, meetsFaces(roofs, planes));
  }
}

const numberText = (value: number | null, digits: number): string => (value === null ? '–' : value.toFixed(digits));
const medianAnd90 = (angles: readonly number[]): string => `${numberText(quantile(angles, 0.5), 3)}, ${numberText(quantile(angles, 0.9), 2)}`;

function matchRow(title: string, wanted: readonly ListedFace[], partner: readonly (RoofPlane | null)[]): string {
  const found = wanted.flatMap((f, i) => (partner[i] ? [{ ours: partner[i]!.normal, f }] : []));
  const share = wanted.length > 0 ? ((100 * found.length) / wanted.length).toFixed(1) : '–';
  return `| ${title} | ${wanted.length} | ${found.length} | ${share} | ${medianAnd90(found.map(({ ours, f }) => angleBetween(ours, f.normal)))} | ${medianAnd90(found.map(({ ours, f }) => angleBetween(ours, f.trimmed.normal)))} |`;
}

/** How far four planes of one face lie from each other: as published, by plain and by trimmed least squares of its points, and ours. */
function angleLines(faces: readonly ListedFace[], partner: readonly (RoofPlane | null)[]): string[] {
  const found = faces.flatMap((f, i) => (partner[i] ? [{ ours: partner[i]!.normal, model: f.model, plain: f.normal, trimmed: f.trimmed.normal, halves: halvesOf(f) }] : []));
  type Found = (typeof found)[number];
  const row = (title: string, angle: (one: Found) => number): string => `| ${title} | ${medianAnd90(found.map(angle))} |`;
  return [
    `Planes of the ${found.length} matched faces against each other. Plain least squares takes in what stands within 25 cm of a roof; it is the list's reference, and lies as far from robust fits of the same points as ours does:`,
    '', '| angle between | median, 90 % [°] |', '| - | - |',
    row('the published model and plain least squares of its points', (o) => angleBetween(o.model, o.plain)),
    row('the published model and trimmed least squares', (o) => angleBetween(o.model, o.trimmed)),
    row('plain and trimmed least squares of the same points', (o) => angleBetween(o.plain, o.trimmed)),
    row('trimmed least squares of every other point, and of the rest', (o) => o.halves),
    row('ours and the published model', (o) => angleBetween(o.ours, o.model)),
    row('ours and plain least squares', (o) => angleBetween(o.ours, o.plain)),
    row('ours and trimmed least squares', (o) => angleBetween(o.ours, o.trimmed)),
  ];
}

function halvesOf({ trimmed }: ListedFace): number {
  const [even, odd] = [0, 1].map((rest) => planeThrough(trimmed.points.filter((_, i) => i % 2 === rest)));
  return even && odd ? angleBetween(even.normal, odd.normal) : 0;
}

/**
 * A row of the list names a plane by pitch, azimuth and the middle of its points; the model holds it in pieces. All pieces of
 * the building that lie in that plane make the face.
 */
function readFace(folder: string, row: readonly string[], record: RoofRecord, index: PointIndex): ListedFace {
  const offset = readFileSync(join(folder, 'city3d_offset.txt'), 'utf8').split('\n')[1]!.trim().split(/\s+/).map(Number);
  const { vertices, faces } = readObj(readFileSync(join(folder, 'city3d', `${row[0]}.obj`), 'utf8'));
  const named = normalOf(row[3]!, row[4]!);
  const middle = [6, 7, 8].map((column, k) => Number(row[column]) - record.frame.origin[k]!) as unknown as Vector3;
  const pieces = faces.map((f) => f.map((v) => [0, 1, 2].map((k) => vertices[v]![k]! + offset[k]! - record.frame.origin[k]!) as unknown as Vector3))
    .map((ring) => ({ ring, ...areaAndNormal(ring) }))
    .filter(({ ring, areaM2, normal }) => areaM2 > 1e-4 && angleBetween(normal, named) <= (row[4] === '' ? SAME_LEVEL : SAME_ANGLE) && Math.abs(heightAbove({ normal, middle: ring[0]! }, middle)) < SAME_PLANE)
    .sort((a, b) => b.areaM2 - a.areaM2);
  const largest = pieces[0];
  if (!largest) throw new RangeError(`${row[0]}/${row[1]}: no piece of the model lies in the plane of the list.`);
  const rings = pieces.map(({ ring }) => ring);
  const points = pointsWithin(index, rings);
  // Judged by the plane through the points: published faces stray from their own points by up to 5°.
  const listed = normalOf(row[9]!, row[10]!);
  const start = { normal: largest.normal, middle: largest.ring[0]! };
  const plain = planeNear(points, start) ?? { ...start, rms: 0, points: [] };
  const trimmed = trimmedPlane(points, start) ?? plain;
  const pitchDifference = Number(row[9]) - (Math.acos(plain.normal[2]) * 180) / Math.PI;
  return {
    name: `${row[0]}/${row[1]}`, rings, middle, points, plain, trimmed, model: largest.normal,
    areaM2: pieces.reduce((sum, { areaM2 }) => sum + areaM2, 0),
    normal: row[10] === '' && Math.abs(pitchDifference) < SAME_PITCH ? plain.normal : listed,
    pitchDifference: row[10] === '' ? null : pitchDifference,
    isGround: middle[2] < lowestAround(index, middle) + GROUND_HEIGHT,
  };
}

/** Upward normal from pitch and azimuth in degrees; a face without azimuth is taken as level. */
function normalOf(pitchDeg: string, azimuthDeg: string): Vector3 {
  if (azimuthDeg === '') return [0, 0, 1];
  const pitch = (Number(pitchDeg) * Math.PI) / 180;
  const bearing = (Number(azimuthDeg) * Math.PI) / 180;
  return [Math.sin(pitch) * Math.sin(bearing), Math.sin(pitch) * Math.cos(bearing), Math.cos(pitch)];
}

/** Elevation that one in fifty points around a place lies below. [m] */
function lowestAround(index: PointIndex, [x, y]: Vector3): number {
  return quantile(pointsInBox(index, [x - AROUND, y - AROUND, x + AROUND, y + AROUND]).map((p) => p[2]), 0.02) ?? Infinity;
}
