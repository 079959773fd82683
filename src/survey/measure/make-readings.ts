import type { Building, ReadingKind, RecordPick, RecordReading } from '../../roof/record.ts';
import type { Assumptions } from '../../reading/assumptions.ts';
import { missing, type Measured } from '../../units/measured.ts';
import { withModelParts } from './model-parts.ts';
import type { MeasureTool } from './measure-step.ts';
import { angleAtSecond, angleOfPlanes, bearing, heightAboveGround, heightAbovePlane, pitchOfThree, radiusOfThree, ringNumbers, twoPickNumbers, widthAcross } from './numbers.ts';
import type { PlaneTarget, SnapTargets } from './snap-targets.ts';

/** What numbers of picks rest on besides the picks. */
export interface NumberContext {
  readonly targets: SnapTargets;
  readonly buildings: readonly Building[];
  readonly noiseM: number;
  readonly gridToTrueDeg: number;
  /** What is taken for granted about level, scale and north. */
  readonly assumptions: Assumptions;
}

export interface ReadingContext extends NumberContext {
  /** Number the first reading made here gets. */
  readonly nextNumber: number;
}

/** Readings each tool writes: a distance gives slope, level and height at once. An outline becomes a thing in the way, no reading. */
const KINDS: Readonly<Record<MeasureTool, readonly ReadingKind[]>> = {
  distance: ['distance', 'level-distance', 'height-difference'],
  area: ['slope-area', 'plan-area'],
  'height-above-roof': ['height-above-roof'],
  'height-above-ground': ['height-above-ground'],
  pitch: ['pitch'],
  angle: ['angle'],
  'plane-angle': ['angle'],
  radius: ['radius'],
  bearing: ['bearing'],
  width: ['width'],
  outline: [],
};

const METHODS: Readonly<Record<ReadingKind, string>> = {
  distance: 'straight between two picks',
  'level-distance': 'between two picks, seen from above',
  'height-difference': 'second pick minus first, plumb',
  'slope-area': 'on the surface, corners by picks',
  'plan-area': 'seen from above, corners by picks',
  'height-above-roof': 'plumb from the plane of the first pick to the second',
  'height-above-ground': 'plumb from the median of the ground about the building to the pick',
  pitch: 'of the plane through three picks',
  angle: 'at the second pick, between the lines to the first and third',
  radius: 'of the circle through three picks, seen from above',
  bearing: 'clockwise from true north, first pick to second',
  width: 'level, square across from the line of the first two picks to the third',
};

const BETWEEN_PLANES = 'between the planes of the two picks, on the side of the roof';

/** What one finished measurement writes into the record. */
export function makeReadings(tool: MeasureTool, picks: readonly RecordPick[], context: ReadingContext): RecordReading[] {
  return KINDS[tool].map((kind, i) => withNumber({ id: `m${context.nextNumber + i}`, kind, picks, method: tool === 'plane-angle' ? BETWEEN_PLANES : METHODS[kind] }, context));
}

/** The reading with its number made from its picks. */
export function withNumber(reading: RecordReading, context: NumberContext): RecordReading {
  const { id, kind, picks, method, note } = reading;
  const number = withModelParts(kind, numberOf(kind, picks, context), picks, context.assumptions);
  const field = kind === 'slope-area' || kind === 'plan-area' ? 'valueM2' : kind === 'pitch' || kind === 'angle' || kind === 'bearing' ? 'valueDeg' : 'valueM';
  return { id, kind, picks, [field]: number, method, ...(note === undefined ? {} : { note }) };
}

function numberOf(kind: ReadingKind, picks: readonly RecordPick[], context: NumberContext): Measured {
  const [first, second] = picks as [RecordPick, RecordPick];
  switch (kind) {
    case 'distance':
      return twoPickNumbers(first, second).slope;
    case 'level-distance':
      return twoPickNumbers(first, second).level;
    case 'height-difference':
      return twoPickNumbers(first, second).height;
    case 'slope-area':
      return ringNumbers(picks).surface;
    case 'plan-area':
      return ringNumbers(picks).plan;
    case 'height-above-roof': {
      const plane = planeOf(first, context.targets);
      return plane ? heightAbovePlane(second, plane, context.noiseM) : missing('the first pick lies on no roof plane');
    }
    case 'height-above-ground':
      return heightAboveGround(first, context.buildings);
    case 'pitch':
      return pitchOfThree(picks);
    case 'angle':
      return picks.length === 2 ? betweenPlanes(first, second, context.targets) : angleAtSecond(picks);
    case 'radius':
      return radiusOfThree(picks);
    case 'bearing':
      return bearing(first, second, context.gridToTrueDeg);
    case 'width':
      return widthAcross(picks);
  }
}

function betweenPlanes(a: RecordPick, b: RecordPick, targets: SnapTargets): Measured {
  const [first, second] = [planeOf(a, targets), planeOf(b, targets)];
  if (!first || !second) return missing('one of the picks lies on no roof plane');
  return first === second ? missing('both picks lie on one plane') : angleOfPlanes(first, second);
}

const planeOf = (pick: RecordPick, targets: SnapTargets): PlaneTarget | null => targets.planes.find((plane) => plane.id === pick.of) ?? null;
