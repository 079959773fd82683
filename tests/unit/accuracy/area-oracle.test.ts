import { expect, it } from 'vitest';
import { makeScene } from '../../../sample-data/generator/scene.ts';
import { NOISE_MODELS } from '../../../sample-data/generator/scene-options.ts';
import { outlinesOfKnownPoints } from '../../accuracy/area-oracle.ts';

const worst = (kind: 'gable' | 'flat', noise: 'white' | 'correlated'): number => {
  const scene = makeScene(kind, 2, { ...NOISE_MODELS[noise], spacing: 0.08 });
  const errors = outlinesOfKnownPoints(scene.positions, scene.truth).flatMap((o) => (o.areaError === null ? [] : [o.areaError]));
  expect(errors.length).toBeGreaterThan(1);
  return Math.max(...errors.map(Math.abs));
};

it('knows steep roofs to the millimetre, and falls of two per cent to what the noise leaves', () => {
  expect(worst('gable', 'correlated')).toBeLessThan(0.003);
  expect(worst('flat', 'white')).toBeLessThan(worst('flat', 'correlated'));
  expect(worst('flat', 'correlated')).toBeGreaterThan(0.01);
});

const outlineRms = (kind: 'hip' | 'flat'): { sides: number; corners: number } => {
  const scene = makeScene(kind, 2, { ...NOISE_MODELS.correlated, spacing: 0.08 });
  const outlines = outlinesOfKnownPoints(scene.positions, scene.truth);
  const rms = (list: readonly number[]): number => Math.sqrt(list.reduce((sum, d) => sum + d * d, 0) / list.length);
  return { sides: rms(outlines.flatMap((o) => o.sideOffsetsM)), corners: rms(outlines.flatMap((o) => o.cornerDistancesM)) };
};

it('moves hips by millimetres and valleys between falls by centimetres', () => {
  const [hip, flat] = [outlineRms('hip'), outlineRms('flat')];
  expect(hip.sides).toBeGreaterThan(0);
  expect(hip.sides).toBeLessThan(0.01);
  expect(flat.sides).toBeGreaterThan(5 * hip.sides);
  expect(flat.corners).toBeGreaterThan(5 * hip.corners);
});
