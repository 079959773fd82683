import { describe, expect, it } from 'vitest';
import { roofEnds } from '../../../../../src/find/measure/obstructions/roof-ends.ts';
import { seededRandom } from '../../../../../src/geometry/seeded-random.ts';

/** Places of the roof's own points across a border at 0.4 m; a share of them is seen through the thing. */
function places(seed: number, through: number): number[] {
  const random = seededRandom(seed);
  return Array.from({ length: 400 }, () => random.uniform()).filter((d) => d > 0.4 || random.uniform() < through);
}

describe('where the roof ends about a thing', () => {
  it('is the step in its density, as sure as it says (60 seeds)', () => {
    let [sum, squares] = [0, 0];
    for (let seed = 1; seed <= 60; seed++) {
      const found = roofEnds(places(seed, 0.1), 0.43, 0.15)!;
      sum += found.at - 0.4;
      squares += ((found.at - 0.4) / found.sigma) ** 2;
    }
    expect(Math.abs(sum / 60)).toBeLessThan(0.004);
    expect(Math.sqrt(squares / 60)).toBeLessThan(1.5);
    expect(Math.sqrt(squares / 60)).toBeGreaterThan(0.4);
  });

  it('is nowhere where the roof is seen through the thing, or where there is none beside it', () => {
    expect(roofEnds(places(3, 0.8), 0.43, 0.15)).toBeNull();
    expect(roofEnds(places(3, 0.1).filter((d) => d < 0.5), 0.43, 0.15)).toBeNull();
    expect(roofEnds([], 0.43, 0.15)).toBeNull();
  });
});
