import { length, subtract, type Vector3 } from '../../geometry/vector.ts';
import { clientSentence, judgeFeature, type FeatureVerdict } from '../../reading/resolvability.ts';
import type { RoofRecord, SmallFeature } from '../../roof/record.ts';
import { isKnown, missing } from '../../units/measured.ts';

/** What a feature is judged by: the survey's sampling, and the client's limit where there is one. */
export type JudgedBy = Pick<RoofRecord, 'sampling' | 'clientLimit'>;

/** A feature as a person pins it: its place is known, its size is not yet. */
export function pinnedFeature(id: string, at: Vector3, onPlane: string | null, by: JudgedBy): SmallFeature {
  const bare: SmallFeature = {
    id, kind: 'drain', onPlane, at: [at], widthM: missing('not measured yet'), heightM: missing('not measured yet'),
    resolvability: 'below', why: '', verifyOnSite: true, proposedBy: 'person',
  };
  return withVerdict(bare, by);
}

/** What this survey shows of a feature; null while its width is not known. */
export function featureVerdict({ widthM, heightM, at }: SmallFeature, { sampling, clientLimit }: JudgedBy): FeatureVerdict | null {
  if (!isKnown(widthM)) return null;
  const run = at.slice(1).reduce((sum, place, i) => sum + length(subtract(place, at[i]!)), 0);
  return judgeFeature(
    {
      width: widthM.value,
      height: isKnown(heightM) ? heightM.value : null,
      ...(run > widthM.value ? { length: run } : {}),
      noise: sampling.noiseM,
      correlationLength: sampling.correlationLengthM,
      spacing: sampling.pointSpacingM,
      groundSampleDistance: sampling.groundSampleDistanceM,
    },
    clientLimit?.gsdM,
  );
}

/** The feature with its verdict made again from its size, the sampling of the survey and the client's limit. */
export function withVerdict(feature: SmallFeature, by: JudgedBy): SmallFeature {
  const verdict = featureVerdict(feature, by);
  if (!verdict) return { ...feature, resolvability: 'below', verifyOnSite: true, why: 'Its width is not known, so nothing can be said of what this survey shows of it.' };
  const { resolvability, why, verifyOnSite, meetsClient } = verdict;
  // Where the pictures are coarser than the client allows, a person looks even at what seems plain.
  return { ...feature, resolvability, why, verifyOnSite: verifyOnSite || meetsClient === false };
}

/** The record under another limit of the client, or under none, with every small feature judged again. */
export function withClientLimit(record: RoofRecord, to: RoofRecord['clientLimit'] | null): RoofRecord {
  const { clientLimit: _before, ...rest } = record;
  const limited: RoofRecord = to ? { ...rest, clientLimit: to } : rest;
  return { ...limited, smallFeatures: record.smallFeatures.map((feature) => (feature.proposedBy === 'found' ? withSentence(feature, record, limited) : isKnown(feature.widthM) ? withVerdict(feature, limited) : feature)) };
}

/** What the survey found was judged by the noise about its own place, which stays; only the word on the client's limit changes. */
function withSentence(feature: SmallFeature, before: JudgedBy, after: JudgedBy): SmallFeature {
  const gsd = after.sampling.groundSampleDistanceM;
  const sentence = ({ clientLimit }: JudgedBy): string => (clientLimit ? clientSentence(gsd, clientLimit.gsdM) : '');
  const missed = after.clientLimit !== undefined && gsd !== null && gsd > after.clientLimit.gsdM;
  return { ...feature, why: feature.why.replace(sentence(before), '') + sentence(after), verifyOnSite: feature.resolvability !== 'resolved' || missed };
}
