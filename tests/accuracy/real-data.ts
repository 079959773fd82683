import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { nodeEnvironment } from '../../src/cli/node-environment.ts';
import { ringContains } from '../../src/geometry/polygon.ts';
import type { RoofPlane, RoofRecord } from '../../src/roof/record.ts';
import { directRunner } from '../../src/survey/direct-runner.ts';
import { quantile } from '../../src/survey/score/statistics.ts';
import { surveyFiles } from '../../src/survey/survey-files.ts';
import type { SurveyResult } from '../../src/survey/survey-result.ts';
import { angleBetween, isLevel, largestShare, meetsFaces, type PublishedFace } from './compare-faces.ts';
import { areaAndNormal, readObj } from './model-faces.ts';
import { publishedLines } from './published-faces.ts';
import { REFERENCE_SCENES, type ReferenceScene } from './reference-faces.ts';
import { surveyPoints } from './survey-points.ts';

/** What lies so far above a level face is a roof over it. [unit of the roof] */
const FLOOR_CLEARANCE = 0.25;

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
  await attempt('delft-west', async (path) => publishedLines(path, await surveyOf([join(path, 'ahn3_cropped_1.laz')])));
  await attempt('point2roof-dev', exactPlaneLines);
  return lines;
}

/** Surveys files together, as the command does; in one thread. */
export function surveyOf(paths: readonly string[]): Promise<SurveyResult> {
  return surveyFiles(paths.map((path) => ({ name: path.split('/').at(-1)!, where: path })), {}, directRunner(nodeEnvironment()));
}

export const surveyPaths = async (paths: readonly string[]): Promise<RoofRecord> => (await surveyOf(paths)).record;

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

/** True for a floor drawn with the roof: most points over it lie higher. */
function isUnderRoof({ rings, middle }: PublishedFace, positions: Float64Array, origin: readonly [number, number, number]): boolean {
  let over = 0;
  let higher = 0;
  for (let i = 0; i < positions.length; i += 3) {
    if (!rings.some((ring) => ringContains(ring, [positions[i]! - origin[0], positions[i + 1]! - origin[1]]))) continue;
    over++;
    if (positions[i + 2]! - origin[2] > middle[2] + FLOOR_CLEARANCE) higher++;
  }
  return 2 * higher > over;
}

/** Small synthetic roofs of another group, a thousand points each, with exact planes. */
async function exactPlaneLines(folder: string): Promise<string[]> {
  const total = { faces: 0, matched: 0, planes: 0 };
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
      return { name: `${roof}/${i}`, rings: [ring], middle: ring[0]!, ...areaAndNormal(ring) };
    }).filter((f) => f.normal[2] > 0.02 && !(isLevel(f) && isUnderRoof(f, positions, record.frame.origin)));
    const planes: RoofPlane[] = record.buildings.flatMap((b) => b.roofPlanes);
    const partner = meetsFaces(published, planes);
    const angles = published.flatMap((f, i) => (partner[i] ? [angleBetween(f.normal, partner[i]!.normal)] : []));
    total.faces += published.length;
    total.matched += angles.length;
    total.planes += planes.length;
    lines.push(`| ${roof} | ${published.length} | ${angles.length} | ${planes.length} | ${numberText(quantile(angles, 1), 2)} |`);
  }
  lines.push(`| all | ${total.faces} | ${total.matched} | ${total.planes} | |`);
  return lines;
}

