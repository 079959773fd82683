import { expect, it } from 'vitest';
import { NOISE_MODELS } from '../../../../sample-data/generator/scene-options.ts';
import { makeScene } from '../../../../sample-data/generator/scene.ts';
import { surveyPoints } from '../../../accuracy/survey-points.ts';

it('leaves no facet that lies over the lines between falls: eight falls at 2 cm where one took half of another', async () => {
  const { positions, truth } = makeScene('flat', 5007, { ...NOISE_MODELS.correlated, spacing: 0.02 });
  const planes = (await surveyPoints(positions, null)).buildings.flatMap((building) => building.roofPlanes);
  const areas = (list: readonly number[]): number[] => [...list].sort((a, b) => a - b);
  const found = areas(planes.map((plane) => plane.slopeAreaM2.value!));
  expect(found).toHaveLength(truth.planes.length);
  areas(truth.planes.map((plane) => plane.slopeAreaM2)).forEach((area, i) => expect(Math.abs(found[i]! / area - 1)).toBeLessThan(0.02));
}, 60_000);
