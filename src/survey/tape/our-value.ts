import { length, subtract, type Vector3 } from '../../geometry/vector.ts';
import { ringContains } from '../../geometry/polygon.ts';
import { isKnown, missing, type Measured, type UncertaintyPart } from '../../units/measured.ts';
import type { Obstruction, RoofPlane, RoofRecord } from '../../roof/record.ts';
import type { TapeReading } from '../../site/tape-reading.ts';
import { twoPickNumbers } from '../measure/numbers.ts';
import type { SnapTargets } from '../measure/snap-targets.ts';
import type { edgeShares } from './edge-share.ts';
import { PLACING_DISTANCE, placeEnd, type PlacedEnd } from './place-ends.ts';

/** What readings are compared with, made ready once. */
export interface Model {
  readonly record: RoofRecord;
  readonly targets: SnapTargets;
  readonly shareOf: ReturnType<typeof edgeShares>;
}

/** What the model says where a reading was taken. */
export interface OurValue {
  readonly ours: Measured;
  /** To what the ends were placed, for a person. */
  readonly placed: string;
  /** Where they lie on the model, as far as they were found. Local frame. [m] */
  readonly places: readonly Vector3[];
  readonly spanLength: number;
  readonly spanHeight: number;
  /** How much of an edge offset shows in it. */
  readonly edgeShare: number;
}

/** Parts that a tape is there to test; they must not widen the ± it is tested with. */
const TESTED_PARTS = /scale/;

const nothing = (why: string): OurValue => ({ ours: missing(why), placed: why, places: [], spanLength: 0, spanHeight: 0, edgeShare: 0 });

/**
 * @param ends  Ends of the reading in the local frame. [m]
 * @param isLevel  The tape was held level or its length reduced to level: ours is the distance in plan.
 */
export function ourValue(reading: TapeReading, ends: readonly Vector3[], { record, targets, shareOf }: Model, isLevel = false): OurValue {
  if (ends.length === 0) return nothing('its ends are to be placed in the page');
  if (reading.kind === 'pitch') return pitchAt(ends[0]!, record, targets);
  if (reading.kind === 'height-above-roof') return heightAt(ends[0]!, record);
  if (ends.length < 2) return nothing('two ends are needed, one is given');
  const placed = ends.map((end) => placeEnd(end, targets, record.sampling));
  const lost = placed.findIndex((each) => each === null);
  if (lost >= 0) return nothing(`nothing was found within ${PLACING_DISTANCE} m of end ${lost + 1}`);
  return between(reading, placed[0]!, placed[1]!, isLevel, shareOf);
}

function between(reading: TapeReading, from: PlacedEnd, to: PlacedEnd, isLevel: boolean, shareOf: Model['shareOf']): OurValue {
  const { slope, level, height } = twoPickNumbers(from.pick, to.pick);
  const [dx, dy, rise] = subtract(to.pick.at, from.pick.at);
  const isHeight = reading.kind === 'height-difference';
  return {
    ours: isHeight ? unsigned(height) : isLevel ? level : slope,
    placed: `${from.name} to ${to.name}${isLevel ? ', level' : ''}`,
    places: [from.pick.at, to.pick.at],
    spanLength: isHeight ? Math.abs(rise) : isLevel ? Math.hypot(dx, dy) : length([dx, dy, rise]),
    spanHeight: isLevel ? 0 : Math.abs(rise),
    edgeShare: shareOf({ from: from.pick.at, to: to.pick.at, measures: isHeight ? 'height' : isLevel ? 'level' : 'slope' }),
  };
}

/** A level is read as a height without a sign. */
const unsigned = (height: Measured): Measured => (isKnown(height) ? { ...height, value: Math.abs(height.value) } : height);

function pitchAt(end: Vector3, record: RoofRecord, targets: SnapTargets): OurValue {
  const placed = placeEnd(end, { ...targets, corners: [], edges: [] }, record.sampling);
  const plane = placed && planesOf(record).find((each) => each.id === placed.pick.of);
  if (!placed || !plane) return nothing(`no roof plane was found within ${PLACING_DISTANCE} m of its place`);
  return { ours: plane.pitchDeg, placed: placed.name, places: [placed.pick.at], spanLength: 0, spanHeight: 0, edgeShare: 0 };
}

function heightAt(end: Vector3, record: RoofRecord): OurValue {
  const at: [number, number] = [end[0], end[1]];
  const things = record.buildings.flatMap((building) => building.obstructions);
  const thing = things.find((each) => ringContains(each.footprint, at)) ?? nearestThing(things, at);
  if (!thing) return nothing(`nothing that stands on the roof was found within ${PLACING_DISTANCE} m of its place`);
  const height = thing.heightAboveRoofM;
  const span = isKnown(height) ? Math.abs(height.value) : 0;
  return { ours: withoutTested(height), placed: `obstruction ${thing.id}`, places: [end], spanLength: span, spanHeight: span, edgeShare: 0 };
}

function nearestThing(things: readonly Obstruction[], at: readonly [number, number]): Obstruction | null {
  let best: Obstruction | null = null;
  let least = PLACING_DISTANCE;
  for (const thing of things) {
    for (const [x, y] of thing.footprint) {
      const distance = Math.hypot(x - at[0], y - at[1]);
      if (distance > least) continue;
      least = distance;
      best = thing;
    }
  }
  return best;
}

function withoutTested(number: Measured): Measured {
  if (!isKnown(number) || !number.parts) return number;
  const parts: UncertaintyPart[] = number.parts.filter((part) => !TESTED_PARTS.test(part.name));
  return { value: number.value, u95: Math.hypot(...parts.map((part) => part.u95)), parts };
}

const planesOf = (record: RoofRecord): RoofPlane[] => record.buildings.flatMap((building) => [...building.roofPlanes]);
