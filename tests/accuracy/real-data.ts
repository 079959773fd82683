import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { nodeEnvironment } from '../../src/cli/node-environment.ts';
import type { RoofPlane, RoofRecord } from '../../src/roof/record.ts';
import { directRunner } from '../../src/survey/direct-runner.ts';
import { quantile } from '../../src/survey/score/statistics.ts';
import { surveyFiles } from '../../src/survey/survey-files.ts';
import { angleBetween, isLevel, largestShare, meetsFaces, shareCovered, type PublishedFace } from './compare-faces.ts';
import { REFERENCE_SCENES, type ReferenceScene } from './reference-faces.ts';
import { surveyPoints } from './survey-points.ts';

/** The folder with open data beside the checkout, or the one named in ROOFDATUM_DATA; null where neither is. */
export function dataFolder(): string | null {
  const named = process.env['ROOFDATUM_DATA'];
  // From the source as from the bundle, the checkout is the nearest folder upward with a package.json.
  let checkout = fileURLToPath(new URL('.', import.meta.url));
  while (!existsSync(join(checkout, 'package.json')) && resolve(checkout, '..') !== checkout) checkout = resolve(checkout, '..');
  const folder = named ?? resolve(checkout, '../shared/data');
  return existsSync(folder) ? folder : null;
}

/** Real roofs with published or referenced faces, one paragraph each; what is not there is named. */
export async function realDataLines(): Promise<string[]> {
  const folder = dataFolder();
  if (!folder) return ['Skipped: no open data beside the checkout (../shared/data, or the folder named in ROOFDATUM_DATA).'];
  const lines: string[] = [];
  const attempt = async (set: string, run: (path: string) => Promise<string[]>) => {
    const path = join(folder, set);
    if (!existsSync(path)) return void lines.push(`${set}: skipped, not there.`, '');
    process.stderr.write(`${set}\n`);
    try {
      lines.push(...(await run(path)), '');
    } catch (error) {
      lines.push(`${set}: FAILED, ${error instanceof Error ? error.message : String(error)}`, '');
    }
  };
  for (const scene of REFERENCE_SCENES) await attempt(scene.set, (path) => referenceLines(scene, path));
  await attempt('delft-west', delftLines);
  await attempt('point2roof-dev', exactPlaneLines);
  return lines;
}

/** Surveys files together, as the command does; in one thread. */
export async function surveyPaths(paths: readonly string[]): Promise<RoofRecord> {
  const files = paths.map((path) => ({ name: path.split('/').at(-1)!, where: path }));
  return (await surveyFiles(files, {}, directRunner(nodeEnvironment()))).record;
}

async function referenceLines(scene: ReferenceScene, folder: string): Promise<string[]> {
  const start = performance.now();
  const record = await surveyPaths(scene.files.flatMap((f) => (f === '*.las' ? readdirSync(folder).filter((name) => name.endsWith('.las')).sort() : [f])).map((f) => join(folder, f)));
  const planes = record.buildings.flatMap((b) => b.roofPlanes);
  const head = `${scene.set}: ${planes.length} planes in ${record.buildings.length} buildings, ${((performance.now() - start) / 1000).toFixed(1)} s. Reference: ${scene.source}.`;
  return [head, '', '| face | share of the window on one plane | pitch: ours, reference | azimuth: ours, reference | residual rms [m] |', '| - | - | - | - | - |', ...scene.faces.map((face) => {
    const ring = face.window.map(([x, y]) => [x - record.frame.origin[0], y - record.frame.origin[1]] as const);
    const { plane, share } = largestShare([ring], planes);
    if (!plane || share < 0.3) return `| ${face.name} | not found (${share.toFixed(2)}) | – | – | – |`;
    return `| ${face.name} | ${share.toFixed(2)} | ${numberText(plane.pitchDeg.value, 2)}°, ${face.pitchDeg}° | ${numberText(gridAzimuthDeg(record, plane), 1)}°, ${face.azimuthDeg ?? '–'}° | ${plane.residualRmsM.toFixed(3)} |`;
  }), '', ...scene.ridges.map((ridge) => ridgeLine(record, ridge))];
}

/** Bearing of steepest descent from grid north, 0 <= value < 360 [deg]; null on a level plane. */
export function gridAzimuthDeg(record: RoofRecord, plane: RoofPlane): number | null {
  return plane.azimuthDeg.value === null ? null : (((plane.azimuthDeg.value - record.frame.gridToTrueDeg) % 360) + 360) % 360;
}

const numberText = (value: number | null, digits: number): string => (value === null ? '–' : value.toFixed(digits));

function ridgeLine(record: RoofRecord, ridge: ReferenceScene['ridges'][number]): string {
  const [x, y] = [ridge.near[0] - record.frame.origin[0], ridge.near[1] - record.frame.origin[1]];
  const nearest = record.buildings.flatMap((b) => b.edges).filter((e) => e.kind === 'ridge')
    .map((e) => ({ e, distance: Math.hypot((e.from[0] + e.to[0]) / 2 - x, (e.from[1] + e.to[1]) / 2 - y) }))
    .sort((a, b) => a.distance - b.distance)[0];
  if (!nearest || nearest.distance > 12) return `- ridge ${ridge.name}: none found near`;
  const elevation = (nearest.e.from[2] + nearest.e.to[2]) / 2 + record.frame.origin[2];
  return `- ridge ${ridge.name}: elevation ${elevation.toFixed(2)} m, reference ${ridge.elevationM}; length ${numberText(nearest.e.slopeLengthM.value, 2)} m`;
}

/** Faces of published models of an old town, on the very points they were made from. */
async function delftLines(folder: string): Promise<string[]> {
  const start = performance.now();
  const record = await surveyPaths([join(folder, 'ahn3_cropped_1.laz')]);
  const seconds = (performance.now() - start) / 1000;
  const rows = readFileSync(join(folder, 'planes_published_vs_lsq.csv'), 'utf8').trim().split('\n').slice(1).map((line) => line.split(','));
  const listed = rows.filter((r) => Number(r[2]) >= 10 && Number(r[11]) < 0.06);
  const faces: PublishedFace[] = listed.map((r) => readFace(folder, r, record));
  const unclear = faces.filter((f, i) => Math.abs(f.areaM2 - Number(listed[i]![2])) > 0.1 * f.areaM2);
  const planes = record.buildings.flatMap((b) => b.roofPlanes);
  const partner = meetsFaces(faces, planes);
  const matched = partner.filter((p) => p !== null);
  // The models end at property lines, which the roof does not show: one plane of ours may rightly cover two of theirs.
  const covered = faces.filter((f) => planes.some((p) => angleBetween(f.normal, p.normal) < 2 && shareCovered(f.rings, p) >= 0.5));
  const angles = faces.flatMap((f, i) => (partner[i] ? [angleBetween(f.normal, partner[i]!.normal)] : []));
  const lost = faces.filter((f) => !covered.includes(f)).map((f) => {
    const best = largestShare(f.rings, planes);
    return `${f.name} ${f.areaM2.toFixed(0)} m² (best share ${best.share.toFixed(2)}${best.plane ? `, ${angleBetween(f.normal, best.plane.normal).toFixed(1)}°` : ''})`;
  });
  return [
    `delft-west: ${planes.length} planes in ${record.buildings.length} buildings, ${seconds.toFixed(1)} s. Published faces of at least 10 m² with rms below 6 cm: ` +
      `${matched.length} of ${faces.length} matched one to one (${((100 * matched.length) / faces.length).toFixed(1)} %), ${covered.length} covered by some plane of ours within 2° (${((100 * covered.length) / faces.length).toFixed(1)} %); angle median ${numberText(quantile(angles, 0.5), 3)}°, 90 % ${numberText(quantile(angles, 0.9), 2)}°.`,
    ...(unclear.length > 0 ? [`Area of the model's pieces differs from the list by more than a tenth: ${unclear.map((f) => f.name).join(', ')}.`] : []),
    ...(lost.length > 0 ? [`Not covered: ${lost.join('; ')}.`] : []),
  ];
}

/** How near the pieces of a published face lie to its plane. [deg], [m] */
const SAME_ANGLE = 1;
const SAME_LEVEL = 2.5;
const SAME_PLANE = 0.2;

/**
 * A row of the list names a plane by pitch, azimuth and the middle of its points; the model holds it in pieces. All pieces of
 * the building that lie in that plane make the face.
 */
function readFace(folder: string, row: readonly string[], record: RoofRecord): PublishedFace {
  const offset = readFileSync(join(folder, 'city3d_offset.txt'), 'utf8').split('\n')[1]!.trim().split(/\s+/).map(Number);
  const { vertices, faces } = readObj(readFileSync(join(folder, 'city3d', `${row[0]}.obj`), 'utf8'));
  const model = normalOf(row[3]!, row[4]!);
  const middle = [6, 7, 8].map((column, k) => Number(row[column]) - record.frame.origin[k]!);
  const rings = faces.map((f) => f.map((v) => [0, 1, 2].map((k) => vertices[v]![k]! + offset[k]! - record.frame.origin[k]!) as unknown as readonly [number, number, number]))
    .filter((ring) => {
      const own = areaAndNormal(ring);
      if (!(own.areaM2 > 1e-4) || angleBetween(own.normal, model) > (row[4] === '' ? SAME_LEVEL : SAME_ANGLE)) return false;
      const reach = Math.abs(own.normal.reduce((sum, c, k) => sum + c * (middle[k]! - ring[0]![k]!), 0));
      return reach < SAME_PLANE;
    });
  const areaM2 = rings.reduce((sum, ring) => sum + areaAndNormal(ring).areaM2, 0);
  // Judged by the plane through the points: published faces stray from their own points by up to 5°.
  return { name: `${row[0]}/${row[1]}`, rings, normal: normalOf(row[9]!, row[10]!), areaM2 };
}

/** Upward normal from pitch and azimuth in degrees; a face without azimuth is taken as level. */
function normalOf(pitchDeg: string, azimuthDeg: string): readonly [number, number, number] {
  if (azimuthDeg === '') return [0, 0, 1];
  const pitch = (Number(pitchDeg) * Math.PI) / 180;
  const bearing = (Number(azimuthDeg) * Math.PI) / 180;
  return [Math.sin(pitch) * Math.sin(bearing), Math.sin(pitch) * Math.cos(bearing), Math.cos(pitch)];
}

function readObj(text: string): { vertices: number[][]; faces: number[][] } {
  const lines = text.split('\n').map((line) => line.trim().split(/\s+/));
  return {
    vertices: lines.filter((l) => l[0] === 'v').map((l) => l.slice(1, 4).map(Number)),
    faces: lines.filter((l) => l[0] === 'f').map((l) => l.slice(1).map((v) => Number.parseInt(v, 10) - 1)),
  };
}

function areaAndNormal(ring: readonly (readonly [number, number, number])[]): { areaM2: number; normal: readonly [number, number, number] } {
  const sum = [0, 0, 0];
  ring.forEach((a, i) => {
    const b = ring[(i + 1) % ring.length]!;
    const o = ring[0]!;
    const [p, q] = [a, b].map((c) => c.map((x, k) => x - o[k]!));
    for (let k = 0; k < 3; k++) sum[k]! += (p![(k + 1) % 3]! * q![(k + 2) % 3]! - p![(k + 2) % 3]! * q![(k + 1) % 3]!) / 2;
  });
  const areaM2 = Math.hypot(...sum);
  const up = sum[2]! < 0 ? -1 : 1;
  return { areaM2, normal: [(up * sum[0]!) / areaM2, (up * sum[1]!) / areaM2, (up * sum[2]!) / areaM2] };
}

/** Small synthetic roofs of another group, a thousand points each, with exact planes. */
async function exactPlaneLines(folder: string): Promise<string[]> {
  const lines = ['point2roof-dev (roofs of 1024 points, lengths without unit):', '', '| roof | true faces | matched | our planes | greatest angle [°] |', '| - | - | - | - | - |'];
  for (const roof of readdirSync(folder).filter((name) => name.startsWith('roof')).sort()) {
    const text = readFileSync(join(folder, roof, 'points.xyz'), 'utf8').trim().split('\n');
    const positions = Float64Array.from(text.flatMap((line) => line.trim().split(/\s+/).slice(0, 3).map(Number)));
    let record: RoofRecord;
    try {
      record = await surveyPoints(positions, null);
    } catch (error) {
      lines.push(`| ${roof} | – | failed: ${(error as Error).message} | – | – |`);
      continue;
    }
    const { vertices, faces } = readObj(readFileSync(join(folder, roof, 'ground_truth.obj'), 'utf8'));
    const published = faces.map((f, i): PublishedFace => {
      const ring = f.map((v) => vertices[v]!.map((c, k) => c - record.frame.origin[k]!) as unknown as readonly [number, number, number]);
      return { name: `${roof}/${i}`, rings: [ring], ...areaAndNormal(ring) };
    }).filter((f) => !isLevel(f) && f.normal[2] > 0.02);
    const planes: RoofPlane[] = record.buildings.flatMap((b) => b.roofPlanes);
    const partner = meetsFaces(published, planes);
    const angles = published.flatMap((f, i) => (partner[i] ? [angleBetween(f.normal, partner[i]!.normal)] : []));
    lines.push(`| ${roof} | ${published.length} | ${angles.length} | ${planes.length} | ${numberText(quantile(angles, 1), 2)} |`);
  }
  return lines;
}

