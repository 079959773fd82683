import { describe, expect, it } from 'vitest';
import type { RoofRecord, SmallFeature } from '../../../../src/roof/record.ts';
import { pinnedFeature, withClientLimit, withVerdict } from '../../../../src/survey/measure/pinned-feature.ts';
import { gableRecord } from '../../../fixtures/gable-record.ts';

const WHY = 'drainage channels and water pipes matter';
const sampled = (groundSampleDistanceM: number | null): RoofRecord => {
  const record = gableRecord();
  const base: RoofRecord = { ...record, sampling: { ...record.sampling, pointSpacingM: 0.01, groundSampleDistanceM } };
  const pinned = withVerdict({ ...pinnedFeature('f1', [1, 1, 4], null, base), widthM: { value: 0.6, u95: 0.01 }, heightM: { value: 0.5, u95: 0.01 } }, base);
  const found: SmallFeature = { ...pinned, id: 'f2', proposedBy: 'found', resolvability: 'resolved', why: 'Judged where it stands.', verifyOnSite: false };
  return { ...base, smallFeatures: [pinned, found, pinnedFeature('f3', [2, 2, 4], null, base)] };
};
const says = (record: RoofRecord) => record.smallFeatures.map(({ why, verifyOnSite, resolvability }) => [resolvability, verifyOnSite, why] as const);

// Three centimetres per pixel, as clients ask: common practice, no source.
describe('the limit of a client', () => {
  it('that the pictures meet adds a sentence and nothing else', () => {
    const record = sampled(0.02);
    const limited = withClientLimit(record, { gsdM: 0.03, why: WHY });
    expect(limited.clientLimit).toEqual({ gsdM: 0.03, why: WHY });
    says(limited).slice(0, 2).forEach(([resolvability, verify, why], i) => {
      expect([resolvability, verify]).toEqual(says(record)[i]!.slice(0, 2));
      expect(why).toBe(`${says(record)[i]![2]} The survey's 2.0 cm per pixel meets the client's limit of 3.0 cm.`);
    });
  });

  it('that they miss sends a person to look, even at what is resolved', () => {
    const record = sampled(0.04);
    const limited = withClientLimit(record, { gsdM: 0.03, why: WHY });
    expect(limited.smallFeatures.map(({ verifyOnSite }) => verifyOnSite)).toEqual([true, true, true]);
    expect(limited.smallFeatures[1]).toMatchObject({ resolvability: 'resolved', why: "Judged where it stands. The survey's 4.0 cm per pixel does not meet the client's limit of 3.0 cm." });
  });

  it('changed and taken away leaves what was said before', () => {
    const record = sampled(0.04);
    const twice = withClientLimit(withClientLimit(record, { gsdM: 0.03, why: WHY }), { gsdM: 0.05, why: WHY });
    expect(twice.smallFeatures[1]!.why).toBe("Judged where it stands. The survey's 4.0 cm per pixel meets the client's limit of 5.0 cm.");
    expect(withClientLimit(twice, null)).toEqual(record);
  });

  it('cannot be judged while nobody states the ground sample distance, and says so', () => {
    expect(withClientLimit(sampled(null), { gsdM: 0.03, why: WHY }).smallFeatures[0]!.why).toMatch(/Whether the survey meets the client's 3\.0 cm per pixel is not known/);
  });

  it('judges what is pinned afterwards', () => {
    const limited = withClientLimit(sampled(0.04), { gsdM: 0.03, why: WHY });
    expect(withVerdict({ ...limited.smallFeatures[0]!, widthM: { value: 0.7, u95: 0.01 } }, limited)).toMatchObject({ verifyOnSite: true, why: expect.stringContaining('does not meet') });
  });
});
