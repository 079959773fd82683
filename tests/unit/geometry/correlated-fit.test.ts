import { describe, expect, it } from 'vitest';
import { correlatedFits } from '../../../src/geometry/correlated-fit.ts';
import { makeRandom } from '../../fixtures/roof-points.ts';

const COUNT = 40;
const x = Array.from({ length: COUNT }, (_, i) => i * 0.25);
const y = x.map(() => 0);
const count = x.map(() => 1);
const columns = [x.map(() => 1), x];

describe('least squares with correlated errors', () => {
  it('is plain least squares where nothing is shared: variance of a mean and of a slope by the textbook', () => {
    const random = makeRandom(3);
    const z = x.map((at) => 2 + 0.5 * at + 0.1 * random.normal());
    const fit = correlatedFits({ x, y, z, count }, columns)({ length: 0.01, power: 1, alone: 1e6 })!;
    const mean = x.reduce((sum, at) => sum + at, 0) / COUNT;
    const spread = x.reduce((sum, at) => sum + (at - mean) ** 2, 0);
    const slope = x.reduce((sum, at, i) => sum + (at - mean) * z[i]!, 0) / spread;
    const level = z.reduce((sum, h) => sum + h, 0) / COUNT - slope * mean;
    const squares = x.reduce((sum, at, i) => sum + (z[i]! - level - slope * at) ** 2, 0) / (COUNT - 2);
    expect(fit.parameters[0]).toBeCloseTo(level, 9);
    expect(fit.parameters[1]).toBeCloseTo(slope, 9);
    expect(fit.covariance[3]).toBeCloseTo(squares / spread, 9);
  });

  it('prefers the make-up the errors have, and its slope varies as stated', () => {
    const steps = 400;
    let [squares, stated, right] = [0, 0, 0];
    for (let seed = 1; seed <= steps; seed++) {
      const random = makeRandom(seed);
      // First-order autoregression: covariance exp(-d / length) exactly.
      const share = Math.exp(-0.25 / 0.8);
      let wave = random.normal();
      const z = x.map((at, i) => {
        if (i > 0) wave = share * wave + Math.sqrt(1 - share * share) * random.normal();
        return 0.3 * at + 0.05 * wave;
      });
      const own = correlatedFits({ x, y, z, count }, columns)({ length: 0.8, power: 1, alone: 0 })!;
      const white = correlatedFits({ x, y, z, count }, columns)({ length: 0.01, power: 1, alone: 0 })!;
      if (own.deviance < white.deviance) right++;
      squares += (own.parameters[1]! - 0.3) ** 2;
      stated += own.covariance[3]!;
    }
    expect(right / steps).toBeGreaterThan(0.95);
    expect(stated / squares).toBeGreaterThan(0.8);
    expect(stated / squares).toBeLessThan(1.25);
  });

  it('does not remember one shape when asked for another', () => {
    const random = makeRandom(4);
    const z = x.map((at) => at + random.normal());
    const fits = correlatedFits({ x, y, z, count }, columns);
    const shapes = [{ length: 0.5, power: 2, alone: 1 }, { length: 0.5, power: 2, alone: 8 }, { length: 2, power: 1, alone: 1 }, { length: 0.5, power: 2, alone: 1 }] as const;
    for (const shape of shapes) expect(fits(shape)).toEqual(correlatedFits({ x, y, z, count }, columns)(shape));
    expect(fits(shapes[0])!.deviance).not.toBe(fits(shapes[1])!.deviance);
  });

  it('says so where the patches do not fix the parameters', () => {
    expect(correlatedFits({ x, y, z: x, count }, [columns[0]!, columns[0]!])({ length: 1, power: 2, alone: 1 })).toBeNull();
  });
});
