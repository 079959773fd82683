import { join } from 'node:path';
import { expect, test } from 'vitest';
import { nodeEnvironment } from '../../src/cli/node-environment.ts';
import { ringContains } from '../../src/geometry/polygon.ts';
import { isKnown } from '../../src/units/measured.ts';
import { directRunner } from '../../src/survey/direct-runner.ts';
import { surveyFiles } from '../../src/survey/survey-files.ts';
import { openDataFolder, openDataMissing } from '../fixtures/open-data.ts';

// Points that their publisher classified as ground (class 2 of ASPRS LAS 1.4; airborne scan of the Institut national de
// l'information géographique et forestière): found by other means than ours, which never looks at the class.
const SET = 'ign-770500';
const GROUND = 2;
const REACH = 5;

test.skipIf(openDataFolder === null)(`ground round terraced houses lies where the publisher's ground points lie${openDataMissing}`, async () => {
  const name = 'v12_pdrf3_classified_77050_627755.laz';
  const { record, cloud } = await surveyFiles([{ name, where: join(openDataFolder!, SET, name) }], {}, directRunner(nodeEnvironment()));
  const differences: number[] = [];
  for (const { id, outline, groundElevationM } of record.buildings) {
    const [xs, ys] = [outline.map(([x]) => x), outline.map(([, y]) => y)];
    const box = [Math.min(...xs) - REACH, Math.max(...xs) + REACH, Math.min(...ys) - REACH, Math.max(...ys) + REACH] as const;
    const heights: number[] = [];
    for (const { positions, origin, classification } of cloud.cells) {
      for (let i = 0; i < positions.length / 3; i++) {
        if (classification![i] !== GROUND) continue;
        const [x, y] = [positions[3 * i]! + origin[0], positions[3 * i + 1]! + origin[1]];
        if (x > box[0] && x < box[1] && y > box[2] && y < box[3] && !ringContains(outline, [x, y])) heights.push(positions[3 * i + 2]! + origin[2]);
      }
    }
    if (heights.length < 500 || !isKnown(groundElevationM)) continue;
    heights.sort((a, b) => a - b);
    const difference = groundElevationM.value - heights[heights.length >> 1]!;
    expect(Math.abs(difference), id).toBeLessThan(groundElevationM.u95);
    differences.push(Math.abs(difference));
  }
  // Seven of the tile's buildings have so many ground points around them.
  expect(differences.length).toBeGreaterThanOrEqual(7);
  // Half a centimetre of the publisher's rounding, and which stretch of pavement or garden each method takes in.
  expect(Math.max(...differences)).toBeLessThan(0.06);
});
