import { subtract, type Vector3 } from '../../geometry/vector.ts';
import type { ResidualCase } from '../../reading/explain-residuals.ts';
import { correctReading } from '../../reading/tape-corrections.ts';
import type { CheckedReading } from '../../roof/record.ts';
import { aboutDevice, toleranceStatement } from '../../site/tape-device.ts';
import type { TapeReading } from '../../site/tape-reading.ts';
import { isKnown, measured, missing, type Measured, type MeasuredValue, type UncertaintyPart } from '../../units/measured.ts';
import { SIGMAS_IN_95 } from '../measure/uncertainty.ts';
import { placeName, type PlacedCheckpoint } from './checkpoints.ts';
import { ourValue, type Model, type OurValue } from './our-value.ts';

/** Inclinometer readings are judged by this. Common practice, no source. [deg] */
export const PITCH_TOLERANCE_DEG = 0.5;

/** One reading beside what the model says. */
export interface Compared {
  readonly row: CheckedReading;
  /** What could have caused the residual; null for what is no length. */
  readonly lengthCase: ResidualCase | null;
}

/** A reading with its corrections against ours. */
export function compareReading(reading: TapeReading, model: Model, toleranceM: number): Compared {
  const corrected = correctReading(reading)!;
  const ends = reading.ends.map((end): Vector3 => subtract(end, model.record.frame.origin));
  const ours = ourValue(reading, ends, model, corrected.isLevel);
  const tape = measured(corrected.value, [{ name: 'instrument', u95: SIGMAS_IN_95 * reading.sigma }, ...corrected.parts]);
  const row: CheckedReading = {
    ...rowOf(reading, { id: reading.id, kind: reading.kind, tape, toleranceM }, ours.ours, ours.placed),
    ...(corrected.corrections.length > 0 ? { readM: reading.value!, corrections: corrected.corrections } : {}),
    ...(ours.places.length > 0 ? { placedAt: ours.places } : {}),
  };
  return { row, lengthCase: ours.spanLength > 0 && isKnown(row.residualM) ? lengthCaseOf(row.residualM, ours, corrected.value) : null };
}

/** A checkpoint tells up to three numbers; each is compared for itself. */
export function compareCheckpoint(reading: TapeReading, point: PlacedCheckpoint, origin: Vector3, toleranceM: number): Compared[] {
  const name = placeName(point);
  if (point.tells.length === 0) {
    const tape = measured(point.survey[2] + origin[2], [{ name: 'instrument', u95: SIGMAS_IN_95 * reading.sigma }]);
    return [{ row: rowOf(reading, { id: reading.id, kind: 'checkpoint', tape, toleranceM }, missing(name), name), lengthCase: null }];
  }
  const instrument: UncertaintyPart = { name: 'instrument', u95: SIGMAS_IN_95 * reading.sigma };
  return point.tells.map(({ direction, sigma, offset }) => {
    const [suffix, base] = axisOf(direction, point.survey, origin);
    const tape = measured(base, [instrument]);
    const model = SIGMAS_IN_95 * Math.sqrt(Math.max(0, sigma * sigma - reading.sigma * reading.sigma));
    const ours = measured(base + offset, [{ name: point.placed!.pick.landedOn, u95: model }]);
    const row = rowOf(reading, { id: `${reading.id}-${suffix}`, kind: `checkpoint-${suffix}`, tape, toleranceM }, ours, name);
    return { row: { ...row, placedAt: [point.survey] }, lengthCase: null };
  });
}

/** Axis letter with the surveyed coordinate; a direction askew is counted from the surveyed point itself. */
function axisOf(direction: Vector3, survey: Vector3, origin: Vector3): [string, number] {
  const axis = direction.findIndex((part) => Math.abs(part) > 1 - 1e-9);
  return axis < 0 ? [direction[2] === 0 ? 'across' : 'square', 0] : [(['x', 'y', 'z'] as const)[axis]!, survey[axis]! + origin[axis]!];
}

interface Asked {
  readonly id: string;
  readonly kind: string;
  readonly tape: MeasuredValue;
  readonly toleranceM: number;
}

function rowOf(reading: TapeReading, { id, kind, tape, toleranceM }: Asked, ours: Measured, placed: string): CheckedReading {
  const inDegrees = reading.kind === 'pitch';
  const residual: Measured = isKnown(ours) ? residualOf(ours, tape) : missing(placed);
  const angle = missing('an angle, see the degrees');
  return {
    id,
    kind,
    oursM: inDegrees ? angle : ours,
    tapeM: inDegrees ? angle : tape,
    residualM: inDegrees ? angle : residual,
    ...(inDegrees ? { oursDeg: ours, tapeDeg: tape, residualDeg: residual } : {}),
    verdict: verdictOf(residual, inDegrees ? PITCH_TOLERANCE_DEG : toleranceM),
    note: placed,
    ...(reading.written === undefined ? {} : { written: reading.written }),
    ...(reading.device ? { device: aboutDevice(reading.device).title, toleranceStated: toleranceStatement(reading.device, reading.value ?? 0) } : {}),
  };
}

const residualOf = (ours: MeasuredValue, tape: MeasuredValue): MeasuredValue =>
  measured(ours.value - tape.value, [{ name: 'model', u95: ours.u95 }, { name: 'instrument', u95: tape.u95 }]);

/** A scale error is a share of the true length, which is the tape's: ours, stretched already, would make it too small. */
function lengthCaseOf(residual: MeasuredValue, { ours, spanLength, spanHeight, edgeShare }: OurValue, tape: number): ResidualCase {
  const ratio = isKnown(ours) && ours.value > 0 && tape > 0 ? tape / ours.value : 1;
  return { residual: residual.value, sigma: residual.u95 / SIGMAS_IN_95, spanLength: spanLength * ratio, spanHeight: spanHeight * ratio, edgeShare };
}

/** Within the tolerance: agrees. Beyond it by less than the ± of both: doubtful. Surely beyond it: disagrees. */
function verdictOf(residual: Measured, tolerance: number): CheckedReading['verdict'] {
  if (!isKnown(residual)) return 'not-compared';
  const size = Math.abs(residual.value);
  if (size <= tolerance) return 'agrees';
  return size - residual.u95 > tolerance ? 'disagrees' : 'doubtful';
}
