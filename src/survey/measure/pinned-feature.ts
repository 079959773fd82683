import type { Vector3 } from '../../geometry/vector.ts';
import type { Resolvability, Sampling, SmallFeature } from '../../roof/record.ts';
import { isKnown, missing } from '../../units/measured.ts';

/**
 * How many points lie across a thing before it counts as marginal, and before it counts as resolved. Two samples a
 * period only say that something is there (Nyquist); recognising it needs more. Common practice, no source.
 */
export const POINTS_ACROSS = { marginal: 2, resolved: 5 } as const;

/** What a survey can show of a thing this wide. */
export function resolvabilityOf(widthM: number, { pointSpacingM, groundSampleDistanceM }: Sampling): { verdict: Resolvability; pointsAcross: number } {
  // A reconstruction cannot show less than its images did, however densely it is sampled.
  const step = Math.max(pointSpacingM, groundSampleDistanceM ?? 0);
  const pointsAcross = widthM / step;
  const verdict = pointsAcross >= POINTS_ACROSS.resolved ? 'resolved' : pointsAcross >= POINTS_ACROSS.marginal ? 'marginal' : 'below';
  return { verdict, pointsAcross };
}

/** A feature as a person pins it: its place is known, its size is not yet. */
export function pinnedFeature(id: string, at: Vector3, onPlane: string | null, sampling: Sampling): SmallFeature {
  const bare: SmallFeature = {
    id, kind: 'drain', onPlane, at: [at], widthM: missing('not measured yet'), heightM: missing('not measured yet'),
    resolvability: 'below', why: '', verifyOnSite: true, proposedBy: 'person',
  };
  return withVerdict(bare, sampling);
}

/** The feature with its verdict made again from its width and the sampling of the survey. */
export function withVerdict(feature: SmallFeature, sampling: Sampling): SmallFeature {
  if (!isKnown(feature.widthM)) {
    return { ...feature, resolvability: 'below', verifyOnSite: true, why: 'Its width is not known, so nothing can be said of what this survey shows of it.' };
  }
  const { verdict, pointsAcross } = resolvabilityOf(feature.widthM.value, sampling);
  const across = `${pointsAcross.toFixed(1)} points lie across it`;
  const words: Record<Resolvability, string> = {
    resolved: `Resolved. ${across}: its place and its size can be measured.`,
    marginal: `Marginal. ${across}: its place is known, its depth is not.`,
    below: `Below what this survey shows. ${across}, two are needed to say that anything is there.`,
  };
  return { ...feature, resolvability: verdict, verifyOnSite: verdict !== 'resolved', why: words[verdict] };
}
