import { cross, normalize, subtract, type Vector3 } from '../../../src/geometry/vector.ts';
import { USUAL_FIT_OPTIONS } from '../../../src/layout/fit-options.ts';
import { fitRecord } from '../../../src/layout/fit-record.ts';
import { SHIPPED_RULES } from '../../../src/layout/shipped-rules.ts';
import { planeSite } from '../../../src/layout/plane-site.ts';
import { accessGrid } from '../../../src/layout/shaded-ground.ts';
import { seededRandom } from '../../../src/geometry/seeded-random.ts';
import { airMass, ineichen, pressureRatio } from '../../../src/sun/clear-sky.ts';
import { beamAboveAir } from '../../../src/sun/extraterrestrial.ts';
import { recordScene } from '../../../src/sun/record-scene.ts';
import { refraction, sunPosition } from '../../../src/sun/sun-position.ts';
import { sunYear } from '../../../src/sun/sun-year.ts';
import type { SurfaceModel } from '../../../src/sun/surface-model.ts';
import { SHADE_CASES, type ShadeCase } from './scenes.ts';
import { isShaded, trueHeight, type TrueScene } from './true-scene.ts';

/** Largest differences allowed: yearly loss per roof and per module. [percentage points] */
export const ROOF_POINTS = 0.1;
export const MODULE_POINTS = 0.5;
const RADIAN = Math.PI / 180;
const NOISE = 0.01;

/** One minute of the reference year. */
interface Minute {
  readonly sun: Vector3;
  readonly beam: number;
  readonly around: number;
}

/** Every minute of every `dayStep`-th day, clear sky; and the evenly spread rest of the sky. */
export function referenceYear(latitudeDeg: number, dayStep: number): { minutes: Minute[]; sky: number; ground: number } {
  const minutes: Minute[] = [];
  let sky = 0;
  let ground = 0;
  for (let day = Math.floor(dayStep / 2); day < 365; day += dayStep) {
    for (let minute = 0; minute < 1440; minute++) {
      const sun = sunPosition(Date.UTC(2025, 0, 1 + day) + (minute + 0.5) * 60_000, latitudeDeg * RADIAN, 0);
      if (sun.altitude <= 0) continue;
      const seen = sun.altitude + refraction(sun.altitude);
      const above = beamAboveAir(sun.distance);
      const light = ineichen(seen, airMass(seen) * pressureRatio(0), 3, 0, above);
      const share = light.beam / above;
      const level = Math.cos(sun.altitude);
      minutes.push({
        sun: [level * Math.sin(sun.azimuth), level * Math.cos(sun.azimuth), Math.sin(sun.altitude)],
        beam: light.beam, around: (light.diffuse * share) / Math.max(Math.sin(sun.altitude), 0.01745),
      });
      sky += light.diffuse * (1 - share);
      ground += light.global * 0.2;
    }
  }
  return { minutes, sky, ground };
}

/** Loss of light of a position over the reference year, by a ray for every minute and for every degree of sky. [-] */
export function referenceLoss(scene: TrueScene, at: Vector3, normal: Vector3, year: ReturnType<typeof referenceYear>): number {
  const lifted: Vector3 = [at[0] + normal[0] * 1e-4, at[1] + normal[1] * 1e-4, at[2] + normal[2] * 1e-4];
  let free = 0;
  let lit = 0;
  for (const { sun, beam, around } of year.minutes) {
    const cosine = normal[0] * sun[0] + normal[1] * sun[1] + normal[2] * sun[2];
    if (cosine <= 0) continue;
    const light = (beam + around) * cosine;
    free += light;
    if (!isShaded(scene, lifted, sun)) lit += light;
  }
  let seen = 0;
  let all = 0;
  for (let a = 0; a < 180; a++) {
    for (let h = 0; h < 60; h++) {
      const azimuth = (2 * a + 1) * RADIAN;
      const altitude = (1.5 * h + 0.75) * RADIAN;
      const towards: Vector3 = [Math.cos(altitude) * Math.sin(azimuth), Math.cos(altitude) * Math.cos(azimuth), Math.sin(altitude)];
      const cosine = normal[0] * towards[0] + normal[1] * towards[1] + normal[2] * towards[2];
      if (cosine <= 0) continue;
      const weight = cosine * Math.cos(altitude);
      all += weight;
      if (!isShaded(scene, lifted, towards)) seen += weight;
    }
  }
  const open = (1 + normal[2]) / 2;
  const ground = (year.ground * (1 - normal[2])) / 2;
  return 1 - (lit + year.sky * open * (seen / all) + ground) / (free + year.sky * open + ground);
}

/** What a survey would have measured: the highest surface of each quarter metre, with noise. */
export function measuredSurface(shadeCase: ShadeCase): SurfaceModel {
  const cellSize = 0.25;
  const [columns, rows] = [280, 240];
  const origin = [-28, -26] as const;
  const random = seededRandom(5);
  const elevation = new Float32Array(columns * rows);
  for (let i = 0; i < elevation.length; i++) {
    const x = origin[0] + ((i % columns) + 0.5) * cellSize;
    const y = origin[1] + (Math.floor(i / columns) + 0.5) * cellSize;
    elevation[i] = trueHeight(shadeCase.truth, x, y, shadeCase.ground) + NOISE * random.normal();
  }
  return { origin, cellSize, columns, rows, elevation };
}

export interface ShadeFigures {
  readonly name: string;
  readonly roofLossPercent: number;
  readonly roofErrorPoints: number;
  readonly moduleCount: number;
  readonly worstModulePoints: number;
}

/** @param dayStep  Days between looked-at days of the reference: 1 is the whole year. */
export function shadeFigures(shadeCase: ShadeCase, dayStep: number, step = 1.1): ShadeFigures {
  const { record, truth, latitudeDeg } = shadeCase;
  // Modules on dim planes are judged as well.
  const options = { ...USUAL_FIT_OPTIONS, rules: SHIPPED_RULES['clear-round-the-array']!, latitudeDeg, longitudeDeg: 0, leastPlaneYield: 0 };
  const surface = measuredSurface(shadeCase);
  const reference = referenceYear(latitudeDeg, dayStep);
  const year = sunYear({ ...options, gridToTrueDeg: 0 });
  const scene = recordScene(record, surface);
  let [ours, theirs, positions] = [0, 0, 0];
  for (const plane of record.buildings[0]!.roofPlanes) {
    const site = planeSite(record, record.buildings[0]!, plane);
    const grid = accessGrid(site, scene, year, options.albedo, step);
    grid.centres.forEach(([u, v], i) => {
      const { origin, u: along, v: up } = site.frame;
      const at = [0, 1, 2].map((k) => origin[k]! + u * along[k]! + v * up[k]!) as unknown as Vector3;
      if (truth.prisms.some(({ footprint }) => isInside(footprint, at))) return;
      ours += 1 - grid.yearly[i]!;
      theirs += referenceLoss(truth, at, plane.normal, reference);
      positions++;
    });
  }
  const layout = fitRecord(record, options, surface).layout!;
  let worst = 0;
  for (const { corners, solarAccess } of layout.modules) {
    const [a, b, , d] = corners as readonly [Vector3, Vector3, Vector3, Vector3];
    const normal = normalize(cross(subtract(b, a), subtract(d, a)));
    let loss = 0;
    for (let k = 0; k < 35; k++) {
      const along = ((k % 5) + 0.5) / 5;
      const across = (Math.floor(k / 5) + 0.5) / 7;
      const at = [0, 1, 2].map((n) => a[n]! + along * (b[n]! - a[n]!) + across * (d[n]! - a[n]!)) as unknown as Vector3;
      loss += referenceLoss(truth, at, normal, reference) / 35;
    }
    worst = Math.max(worst, Math.abs(loss - (1 - solarAccess!)) * 100);
  }
  return {
    name: shadeCase.name, roofLossPercent: (100 * theirs) / positions, roofErrorPoints: (100 * (ours - theirs)) / positions,
    moduleCount: layout.count, worstModulePoints: worst,
  };
}

export function isInside(ring: readonly (readonly [number, number])[], [x, y]: Vector3): boolean {
  let inside = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [xi, yi] = ring[i]!;
    const [xj, yj] = ring[j]!;
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) inside = !inside;
  }
  return inside;
}

/** All scenes, as lines for people, and whether every one is within its limits. */
export function shadeLines(dayStep: number): { lines: string[]; within: boolean } {
  const figures = SHADE_CASES.map((shadeCase) => shadeFigures(shadeCase, dayStep));
  return {
    lines: figures.map((one) => `${one.name}: yearly loss ${one.roofLossPercent.toFixed(2)} %, ours off by ${one.roofErrorPoints.toFixed(3)} points; worst of ${one.moduleCount} modules ${one.worstModulePoints.toFixed(2)} points`),
    within: figures.every((one) => Math.abs(one.roofErrorPoints) <= ROOF_POINTS && one.worstModulePoints <= MODULE_POINTS),
  };
}
