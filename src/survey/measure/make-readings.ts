import type { RecordPick, RecordReading } from '../../roof/record.ts';
import type { MeasureTool } from './measure-step.ts';
import { angleAtSecond, bearing, heightAbovePlane, pitchOfThree, radiusOfThree, ringNumbers, twoPickNumbers } from './numbers.ts';
import type { SnapTargets } from './snap-targets.ts';

export interface ReadingContext {
  readonly targets: SnapTargets;
  readonly noiseM: number;
  readonly gridToTrueDeg: number;
  /** Number the first reading made here gets. */
  readonly nextNumber: number;
}

/** What one finished measurement writes into the record: a distance gives slope, level and height at once. */
export function makeReadings(tool: MeasureTool, picks: readonly RecordPick[], context: ReadingContext): RecordReading[] {
  const made: RecordReading[] = [];
  // An outline becomes a thing in the way, not a reading.
  if (tool === 'outline') return made;
  const add = (reading: Omit<RecordReading, 'id' | 'picks' | 'method'>, method: string): void => {
    made.push({ id: `m${context.nextNumber + made.length}`, picks, method, ...reading });
  };
  const [first, second] = picks as [RecordPick, RecordPick];
  if (tool === 'distance') {
    const { slope, level, height } = twoPickNumbers(first, second);
    add({ kind: 'distance', valueM: slope }, 'straight between two picks');
    add({ kind: 'level-distance', valueM: level }, 'between two picks, seen from above');
    add({ kind: 'height-difference', valueM: height }, 'second pick minus first, plumb');
  } else if (tool === 'area') {
    const { surface, plan } = ringNumbers(picks);
    add({ kind: 'slope-area', valueM2: surface }, 'on the surface, corners by picks');
    add({ kind: 'plan-area', valueM2: plan }, 'seen from above, corners by picks');
  } else if (tool === 'height-above-roof') {
    add(heightReading(first, second, context), 'plumb from the plane of the first pick to the second');
  } else if (tool === 'bearing') {
    add({ kind: 'bearing', valueDeg: bearing(first, second, context.gridToTrueDeg) }, 'clockwise from true north, first pick to second');
  } else if (tool === 'pitch') {
    add({ kind: 'pitch', valueDeg: pitchOfThree(picks) }, 'of the plane through three picks');
  } else if (tool === 'angle') {
    add({ kind: 'angle', valueDeg: angleAtSecond(picks) }, 'at the second pick, between the lines to the first and third');
  } else {
    add({ kind: 'radius', valueM: radiusOfThree(picks) }, 'of the circle through three picks, seen from above');
  }
  return made;
}

function heightReading(base: RecordPick, top: RecordPick, context: ReadingContext): Pick<RecordReading, 'kind' | 'valueM'> {
  const plane = planeOf(base, context.targets);
  if (!plane) {
    return { kind: 'height-above-roof', valueM: { value: null, why: 'the first pick lies on no roof plane' } };
  }
  return { kind: 'height-above-roof', valueM: heightAbovePlane(top, plane, context.noiseM) };
}

const planeOf = (pick: RecordPick, targets: SnapTargets) => targets.planes.find((plane) => plane.id === pick.of) ?? null;
