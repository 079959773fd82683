import type { ReadingKind } from '../roof/record.ts';

/** Words of a kind of reading as a person says them. */
export const readingWord = (kind: ReadingKind): string => READING_WORDS[kind];

const READING_WORDS: Readonly<Record<ReadingKind, string>> = {
  distance: 'Distance along the slope',
  'level-distance': 'Level distance',
  'height-difference': 'Height difference',
  'height-above-roof': 'Height above roof',
  'height-above-ground': 'Height above ground',
  'slope-area': 'Area on the surface',
  'plan-area': 'Area in plan',
  pitch: 'Pitch',
  angle: 'Angle',
  bearing: 'Bearing',
  radius: 'Radius',
  width: 'Width',
};

const WINDS = ['north', 'north-east', 'east', 'south-east', 'south', 'south-west', 'west', 'north-west'] as const;

/** The nearest of eight winds to a bearing. [deg] */
export const compassWord = (bearingDeg: number): string => WINDS[Math.round((((bearingDeg % 360) + 360) % 360) / 45) % 8]!;
