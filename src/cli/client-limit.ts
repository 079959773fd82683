import { clientSentence } from '../reading/resolvability.ts';
import type { RoofRecord } from '../roof/record.ts';
import { withClientLimit } from '../survey/measure/pinned-feature.ts';
import { InputError } from '../units/input-error.ts';
import type { Arguments, Flag } from './verb.ts';

/** Flags of the verbs that judge small features. */
export const CLIENT_FLAGS: readonly Flag[] = [
  { name: 'client-gsd-cm', value: 'n', about: 'Coarsest ground sample distance the client allows, cm per pixel, for example 3; every small feature is judged by it and the record keeps it. 0 takes a limit away.' },
  { name: 'client-why', value: 'TEXT', about: 'Why the client asks for it, for example "drainage channels and water pipes matter"; goes to the record.' },
];

/**
 * The limit that is stated, as a change of a record: nothing where none is.
 *
 * @throws InputError when a reason stands without a limit.
 */
export function clientLimitFrom(args: Arguments): (record: RoofRecord) => RoofRecord {
  const centimetres = args.number('client-gsd-cm', 0, 100);
  const why = args.text('client-why')?.trim();
  if (centimetres === undefined) {
    if (why !== undefined) throw new InputError('--client-why', 'says why, but --client-gsd-cm is missing.');
    return (record) => record;
  }
  const limit = centimetres > 0 ? { gsdM: centimetres / 100, why: why || 'no reason was stated' } : null;
  return (record) => withClientLimit(record, limit);
}

/** What a limit means for this survey, for the terminal; nothing where there is none. */
export function clientLines({ clientLimit, sampling, smallFeatures }: RoofRecord): string[] {
  if (!clientLimit) return [];
  const verify = smallFeatures.filter(({ verifyOnSite }) => verifyOnSite).length;
  return [`${clientSentence(sampling.groundSampleDistanceM, clientLimit.gsdM).trim()} (${clientLimit.why}) ${verify} of ${smallFeatures.length} small features are to be verified on site.`];
}
