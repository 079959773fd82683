import { expect, it } from 'vitest';
import { makeScene } from '../../../sample-data/generator/scene.ts';
import { NOISE_MODELS } from '../../../sample-data/generator/scene-options.ts';
import { areaErrorsOfKnownPoints } from '../../accuracy/area-oracle.ts';

const worst = (kind: 'gable' | 'flat', noise: 'white' | 'correlated'): number => {
  const scene = makeScene(kind, 2, { ...NOISE_MODELS[noise], spacing: 0.08 });
  const errors = areaErrorsOfKnownPoints(scene.positions, scene.truth);
  expect(errors.length).toBeGreaterThan(1);
  return Math.max(...errors.map(Math.abs));
};

it('knows steep roofs to the millimetre, and falls of two per cent to what the noise leaves', () => {
  expect(worst('gable', 'correlated')).toBeLessThan(0.003);
  expect(worst('flat', 'white')).toBeLessThan(worst('flat', 'correlated'));
  expect(worst('flat', 'correlated')).toBeGreaterThan(0.01);
});
