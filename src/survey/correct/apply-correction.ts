import { add, scale, subtract, type Vector3 } from '../../geometry/vector.ts';
import type { AppliedCorrection, Building, RoofRecord, SiteFit, TapeCheck } from '../../roof/record.ts';
import type { TapeReading } from '../../site/tape-reading.ts';
import { isKnown, type MeasuredValue } from '../../units/measured.ts';
import { InputError } from '../../units/input-error.ts';
import { checkTape } from '../tape/check-tape.ts';
import { convertEdges } from './convert-edges.ts';
import { insetEdges } from './inset-edges.ts';
import { buildingAfter, modelAfter, moveOf, placeAfter } from './move-model.ts';
import { middleOf } from './stretch-model.ts';

/** A correction without the name of who asks for it. */
export type OfferedCorrection = Omit<AppliedCorrection, 'by' | 'at' | 'why'> & {
  /** What it would do, for a person. */
  readonly says: string;
};

/**
 * What the readings on a record give reason to correct: what explains the tapes, and a scale, a tilt, a turn or a shift at
 * surveyed checkpoints that is larger than its ±. Nothing is offered where chance explains the residuals.
 */
export function offeredCorrections(record: RoofRecord): OfferedCorrection[] {
  return record.tape ? [...fromTapes(record, record.tape), ...(record.tape.site ? fromCheckpoints(record.tape, record.tape.site) : [])] : [];
}

function fromTapes(record: RoofRecord, { explanation, readings }: TapeCheck): OfferedCorrection[] {
  const about = middleOf(record);
  const ids = readings.filter(({ verdict, kind }) => verdict !== 'not-compared' && !kind.startsWith('checkpoint') && kind !== 'pitch').map(({ id }) => id);
  const offered: OfferedCorrection[] = [];
  const { kind, scale: factor, edgeOffsetM } = explanation;
  if ((kind === 'scale' || kind === 'scale-and-edge') && isKnown(factor)) offered.push(scaleOffer(factor, about, ids));
  if ((kind === 'edge' || kind === 'scale-and-edge') && isKnown(edgeOffsetM)) {
    offered.push({ kind: 'edge', amount: edgeOffsetM.value, u95: edgeOffsetM.u95, about, readings: ids, says: `Distances between edges are ${millimetres(edgeOffsetM)} too ${edgeOffsetM.value > 0 ? 'long' : 'short'}: every free edge moves ${edgeOffsetM.value > 0 ? 'in' : 'out'} by half of it.` });
  }
  if (kind === 'vertical-scale' && isKnown(factor)) {
    offered.push({ kind: 'vertical-scale', amount: factor.value, u95: factor.u95, about, readings: ids, says: `Heights are ${percent(factor)} too ${factor.value > 0 ? 'large' : 'small'}: heights shrink by it, and every pitch with them.` });
  }
  return offered;
}

const scaleOffer = (factor: MeasuredValue, about: Vector3, readings: readonly string[]): OfferedCorrection => ({
  kind: 'scale', amount: factor.value, u95: factor.u95, about, readings,
  says: `Lengths are ${percent(factor)} too ${factor.value > 0 ? 'long' : 'short'}: the whole model ${factor.value > 0 ? 'shrinks' : 'grows'} by it, areas by twice as much.`,
});

function fromCheckpoints(tape: TapeCheck, site: SiteFit): OfferedCorrection[] {
  const ids = site.vectors.map(({ id }) => id);
  const offered: OfferedCorrection[] = [];
  const { scale: factor, eastM, northM, upM, tiltNorthDeg, tiltEastDeg, turnDeg } = site;
  const said = tape.explanation.kind === 'scale' || tape.explanation.kind === 'scale-and-edge';
  if (isKnown(factor) && isBeyond(factor) && !said) offered.push(scaleOffer(factor, site.about, ids));
  if (isKnown(tiltNorthDeg) && isKnown(tiltEastDeg) && [tiltNorthDeg, tiltEastDeg].some(isBeyond)) {
    offered.push({
      kind: 'tilt', amount: null, riseDeg: [tiltNorthDeg.value, tiltEastDeg.value], riseU95Deg: [tiltNorthDeg.u95, tiltEastDeg.u95], u95: Math.max(tiltNorthDeg.u95, tiltEastDeg.u95), about: site.about, readings: ids,
      says: `The model rises too much by ${inDegrees(tiltNorthDeg)} to the north and ${inDegrees(tiltEastDeg)} to the east: all of it is levelled about the checkpoints; pitches, azimuths and heights between places change, lengths do not. Low points on it must be surveyed again.`,
    });
  }
  if (isKnown(turnDeg) && isBeyond(turnDeg)) {
    offered.push({
      kind: 'turn', amount: turnDeg.value, u95: turnDeg.u95, about: site.about, readings: ids,
      says: `Bearings of the model are too ${turnDeg.value > 0 ? 'large' : 'small'} by ${inDegrees({ ...turnDeg, value: Math.abs(turnDeg.value) })}: all of it turns back about the checkpoints; azimuths change, no length does.`,
    });
  }
  if (isKnown(eastM) && isKnown(northM) && isKnown(upM) && [eastM, northM, upM].some(isBeyond)) {
    offered.push({
      kind: 'shift', amount: null, shiftM: [eastM.value, northM.value, upM.value], u95: Math.max(eastM.u95, northM.u95, upM.u95), about: site.about, readings: ids,
      says: `The model lies ${millimetres(eastM)} east, ${millimetres(northM)} north and ${millimetres(upM)} up of the survey: all of it moves back; no length changes.`,
    });
  }
  return offered;
}

const isBeyond = ({ value, u95 }: MeasuredValue): boolean => Math.abs(value) > u95;
const inDegrees = ({ value, u95 }: MeasuredValue): string => `${value.toFixed(3).replace('-', '−')} ± ${u95.toFixed(3)}°`;
const percent = ({ value, u95 }: MeasuredValue): string => `${(100 * Math.abs(value)).toFixed(2)} ± ${(100 * u95).toFixed(2)} %`;
const millimetres = ({ value, u95 }: MeasuredValue): string => `${(1000 * value).toFixed(0).replace('-', '−')} ± ${(1000 * u95).toFixed(0)} mm`;

/**
 * The record with a correction applied: places and every number derived again with fresh uncertainty, module places and
 * usable area taken away since they fit the old sizes, and the tape check made again. The correction itself is kept, with
 * the buildings it had to leave as they were.
 *
 * @throws InputError when the edges of no building can move as asked.
 */
export function applyCorrection(record: RoofRecord, correction: AppliedCorrection): RoofRecord {
  const { model, leftOut } = movesEdges(correction) ? withMovedEdges(record, correction) : { model: changedModel(record, correction), leftOut: [] };
  const kept: AppliedCorrection = leftOut.length > 0 ? { ...correction, leftOut } : correction;
  const corrected = { ...model, keepClear: null, usable: null, layout: null, corrections: [...(record.corrections ?? []), kept] };
  const taken = record.tape?.taken;
  if (!taken) return corrected;
  return { ...corrected, tape: checkTape(corrected, taken.map((reading) => movedReading(reading, correction, record)), record.tape.toleranceM) };
}

/**
 * A building that was measured again, corrected as the whole model was.
 *
 * @param gridToTrueDeg  Angle to add to a grid bearing to get a true one.
 * @throws InputError when its edges cannot move as asked.
 */
export function correctBuilding(building: Building, correction: AppliedCorrection, gridToTrueDeg: number): Building {
  if (correction.leftOut?.includes(building.id)) return building;
  if (movesEdges(correction)) return movedEdges(building, correction);
  const move = moveOf(correction, gridToTrueDeg);
  return move ? buildingAfter(building, move) : building;
}

function changedModel(record: RoofRecord, correction: AppliedCorrection): RoofRecord {
  const move = moveOf(correction, record.frame.gridToTrueDeg);
  return move ? modelAfter(record, move) : { ...record, frame: { ...record.frame, origin: subtract(record.frame.origin, correction.shiftM ?? [0, 0, 0]) } };
}

const movesEdges = ({ kind }: AppliedCorrection): boolean => kind === 'edge' || kind === 'edge-definition';

/** By tapes each free edge by half of what a distance between two was off; by definition those named by all of the offset. */
const movedEdges = (building: Building, correction: AppliedCorrection): Building =>
  (correction.kind === 'edge' ? insetEdges(building, correction.amount! / 2, correction.u95 / 2) : convertEdges(building, correction));

/** A building whose outlines would cross stays. */
function withMovedEdges(record: RoofRecord, correction: AppliedCorrection): { readonly model: RoofRecord; readonly leftOut: readonly string[] } {
  const leftOut: string[] = [];
  let first: InputError | null = null;
  const buildings = record.buildings.map((building) => {
    try {
      return movedEdges(building, correction);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      first ??= error;
      leftOut.push(building.id);
      return building;
    }
  });
  if (first && leftOut.length === record.buildings.length) throw first;
  return { model: { ...record, buildings }, leftOut };
}

/** Ends of a reading say where it lies on the model, so they go with it; a surveyed place stays where it is. */
function movedReading(reading: TapeReading, correction: AppliedCorrection, { frame }: RoofRecord): TapeReading {
  if (movesEdges(correction)) return reading;
  const change = moveOf(correction, frame.gridToTrueDeg);
  const move = (end: Vector3): Vector3 =>
    (change ? add(placeAfter(subtract(end, frame.origin), change), frame.origin) : add(end, scale(correction.shiftM ?? [0, 0, 0], -1)));
  return { ...reading, ends: reading.ends.map((end, i) => (reading.kind === 'checkpoint' && i === 0 ? end : move(end))) };
}
