import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import { NOISE_MODELS } from '../../sample-data/generator/scene-options.ts';
import { makeScene } from '../../sample-data/generator/scene.ts';
import { ROOF_KINDS } from '../../sample-data/generator/single-roofs.ts';
import { nodeEnvironment } from '../../src/cli/node-environment.ts';
import type { RoofRecord } from '../../src/roof/record.ts';
import { directRunner } from '../../src/survey/direct-runner.ts';
import { surveyFiles } from '../../src/survey/survey-files.ts';
import { surveyPoints } from '../../src/survey/survey-points.ts';
import { recordText } from '../../src/survey/write-record.ts';
import { openDataFolder, openDataMissing, openDataNames } from '../fixtures/open-data.ts';
import { pythonWith, runJson, TemporaryFolder } from '../fixtures/outside-tool.ts';

/**
 * Outlines of one building are a partition of its roof: judged by shapely (GEOS), which shares no code with the project, on
 * the record as it is written.
 */
const SCRIPT = fileURLToPath(new URL('../fixtures/outlines-of-record.py', import.meta.url));
const python = pythonWith('shapely');
const folder = new TemporaryFolder();
afterAll(() => folder.remove());

interface Seen {
  readonly planes: number;
  readonly invalid: readonly string[];
  readonly overlapM2: number;
  readonly sumLessUnionM2: number;
  readonly areaMissM2: number;
  readonly sliverHoles: number;
  readonly tJunctions: number;
  readonly commonCorners: number;
  readonly cornersApart: number;
  readonly offPlaneM: number;
  readonly offPlaneUnsaidM: number;
  readonly badNumbers: readonly string[];
}

function expectFittingTogether(record: RoofRecord, offPlaneM: number): void {
  const seen = runJson(python!, [SCRIPT, folder.write('record.json', recordText(record))]) as Seen;
  expect(seen.planes).toBeGreaterThan(0);
  expect(seen.badNumbers).toEqual([]);
  expect(seen.invalid).toEqual([]);
  // Written coordinates have twelve digits: on 100 m two of them differ by 1e-10 m, and areas by 1e-8 m².
  expect(seen.overlapM2).toBeLessThan(1e-7);
  expect(seen.sumLessUnionM2).toBeLessThan(1e-7);
  expect(seen.areaMissM2).toBeLessThan(1e-7);
  expect(seen.sliverHoles).toBe(0);
  expect(seen.tJunctions).toBe(0);
  expect(seen.cornersApart).toBe(0);
  expect(seen.offPlaneUnsaidM).toBeLessThan(1e-8);
  expect(seen.offPlaneM).toBeLessThan(offPlaneM);
}

describe.skipIf(python === null)(`outlines by shapely${python === null ? ' (skipped: no Python with shapely)' : ''}`, () => {
  const runner = directRunner(nodeEnvironment());

  // Twenty roofs: every kind, and eight of them once more.
  for (let i = 0; i < 20; i++) {
    const kind = ROOF_KINDS[i % ROOF_KINDS.length]!;
    const seed = i + 1;
    it(`${kind} ${seed}: no overlap, no sliver, corners in common to the last digit`, async () => {
      const { positions } = makeScene(kind, seed, { ...NOISE_MODELS.correlated, spacing: 0.1 });
      const { record } = await surveyPoints({ name: kind, positions, crs: null, colours: null, intensity: null, classification: null }, {}, runner);
      expectFittingTogether(record, 0.08);
    }, 60_000);
  }

  for (const [set, ending] of [['ign-770500', /^test_data_770\d\d_6277\d\d_LA93_IGN69\.laz$/], ['swiss-hall', /^sample_c\.las$/], ['dsm-derived', /\.tif$/], ['mesh-derived', /le_double\.ply$/]] as const) {
    it.skipIf(openDataFolder === null)(`${set}${openDataMissing}`, async () => {
      const files = openDataNames(set, ending).map((name) => ({ name, where: join(openDataFolder!, set, name) }));
      expect(files.length).toBeGreaterThan(0);
      expectFittingTogether((await surveyFiles(files, {}, runner)).record, 0.08);
    }, 120_000);
  }
});
