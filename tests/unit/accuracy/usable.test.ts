import { expect, test } from 'vitest';
import { NOISE_MODELS } from '../../../sample-data/generator/scene-options.ts';
import { makeScene, type SceneKind } from '../../../sample-data/generator/scene.ts';
import { USUAL_FIT_OPTIONS } from '../../../src/layout/fit-options.ts';
import { fitRecord } from '../../../src/layout/fit-record.ts';
import { trueUsableM2 } from '../../accuracy/usable/true-usable.ts';
import { RULE, RULES } from '../../accuracy/usable/usable.ts';
import { recordOfTruth } from '../../fixtures/record-of-truth.ts';

// Reference: usable ground of the true roof by a second polygon library (jsts 2.12); see true-usable.ts.
test.each<SceneKind>(['gable', 'hip', 'l', 'cross-gable', 'dormers', 'mansard', 'flat', 'sawtooth'])('zones on the true geometry of a roof leave what the second library leaves: %s', (kind) => {
  for (const seed of [1, 2]) {
    const { truth } = makeScene(kind, seed, { ...NOISE_MODELS.correlated, spacing: 0.5 });
    const usable = new Map(fitRecord(recordOfTruth(truth), { ...USUAL_FIT_OPTIONS, rules: RULES, shade: false }).usable!.planes.map(({ id, usableSlopeAreaM2 }) => [id, usableSlopeAreaM2.value!]));
    for (const plane of truth.planes) expect(Math.abs(usable.get(plane.id)! - trueUsableM2(plane, truth, RULE))).toBeLessThanOrEqual(0.002);
  }
});
