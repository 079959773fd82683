import { assumptionsWith, type Assumptions } from '../../reading/assumptions.ts';
import type { ReadingKind, RecordPick, RoofRecord } from '../../roof/record.ts';
import { isKnown, measured, type Measured, type UncertaintyPart } from '../../units/measured.ts';
import { sin } from '../../geometry/same-math.ts';
import { optionsOfRecord } from '../survey-options.ts';

/** What is taken for granted about a model: as stated or usual, and as well as corrections by tape or checkpoints have settled it since. */
export function assumptionsOf(record: RoofRecord): Assumptions {
  return (record.corrections ?? []).reduce<Assumptions>(
    (so, { kind, u95 }) => (kind === 'scale' ? { ...so, scale: u95 } : kind === 'tilt' ? { ...so, tiltDeg: u95 } : kind === 'turn' ? { ...so, northDeg: u95 } : so),
    assumptionsWith(optionsOfRecord(record).control),
  );
}

const RADIANS = Math.PI / 180;
/** Power of the scale that a number goes with. */
const SCALE_POWER: Readonly<Partial<Record<ReadingKind, 1 | 2>>> = {
  distance: 1, 'level-distance': 1, 'height-difference': 1, 'height-above-roof': 1, 'height-above-ground': 1, width: 1, radius: 1, 'slope-area': 2, 'plan-area': 2,
};

/**
 * Adds what a number measured by hand shares with the whole model: scale, level and north, as in the numbers of planes and edges.
 * A model that stands aslant leaves distances and areas in space as they are; it changes heights by the run between the picks,
 * runs by the rise, plan areas along the fall.
 */
export function withModelParts(kind: ReadingKind, number: Measured, picks: readonly RecordPick[], { scale, tiltDeg, northDeg }: Assumptions): Measured {
  if (!isKnown(number)) return number;
  const tilt = tiltDeg * RADIANS;
  const power = SCALE_POWER[kind];
  const [rise, run] = spanOf(picks);
  const more: UncertaintyPart[] = [
    ...(power ? [{ name: 'scale', u95: power * Math.abs(number.value) * scale }] : []),
    ...(kind === 'pitch' ? [{ name: 'scale', u95: (0.5 * sin(2 * number.value * RADIANS) * scale) / RADIANS }, { name: 'tilt', u95: tiltDeg }] : []),
    ...(kind === 'height-difference' ? [{ name: 'tilt', u95: run * tilt }] : []),
    ...(kind === 'level-distance' ? [{ name: 'tilt', u95: rise * tilt }] : []),
    ...(kind === 'plan-area' ? [{ name: 'tilt', u95: Math.abs(number.value) * fallOf(picks) * tilt }] : []),
    ...(kind === 'bearing' ? [{ name: 'north', u95: northDeg }] : []),
  ].filter(({ u95 }) => u95 > 0);
  return measured(number.value, [...(number.parts ?? [{ name: 'picks', u95: number.u95 }]), ...more]);
}

/** Height and level distance between the first two picks. [m] */
function spanOf([first, second]: readonly RecordPick[]): readonly [rise: number, run: number] {
  if (!first || !second) return [0, 0];
  const [dx, dy, dz] = [0, 1, 2].map((axis) => second.at[axis]! - first.at[axis]!) as [number, number, number];
  return [Math.abs(dz), Math.hypot(dx, dy)];
}

/** Rise per metre of a ring of picks along its steepest fall (Newell's normal). [-] */
function fallOf(picks: readonly RecordPick[]): number {
  let [x, y, z] = [0, 0, 0];
  picks.forEach(({ at: a }, i) => {
    const b = picks[(i + 1) % picks.length]!.at;
    x += (a[1] - b[1]) * (a[2] + b[2]);
    y += (a[2] - b[2]) * (a[0] + b[0]);
    z += (a[0] - b[0]) * (a[1] + b[1]);
  });
  return z === 0 ? 0 : Math.hypot(x, y) / Math.abs(z);
}
