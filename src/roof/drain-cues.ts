import type { DrainCue, LowPoint } from './record.ts';

const CUE_WORDS: Readonly<Record<DrainCue, string>> = {
  hollow: 'a hollow deeper than the noise',
  'boards-meet': 'boards meet in a point',
  'hole-sloping-in': 'a hole in the points with the deck sloping to it',
};

/** What speaks for a drain, as words; nothing where nothing does. */
export const cueWords = ({ cues = [] }: Pick<LowPoint, 'cues'>): string => cues.map((cue) => CUE_WORDS[cue]).join('; ');
