import { edgeSentences, measuredAsSentence, planeSentences, thingSentences } from '../reading/evidence-words.ts';
import { partNames } from '../roof/part-names.ts';
import type { Building, Obstruction, Parapet, RecordReading, RoofEdge, RoofPlane, RoofRecord } from '../roof/record.ts';
import type { Measured, UncertaintyPart } from '../units/measured.ts';
import { sentenceIn, shortLength } from '../units/unit-in-use.ts';
import { METRIC, type Dimension, type UnitChoice } from '../units/written-reading.ts';
import { readingNumber } from '../viewer/ink/measure-lines.ts';
import { writeCount } from '../units/written-reading.ts';

/** What stands behind one number. */
export interface Evidence {
  readonly number: Measured;
  readonly dimension: Dimension;
  readonly plane: RoofPlane | null;
  readonly method: string;
  readonly notes: readonly string[];
  /** What would make it better. */
  readonly better: string;
  /** The part whose sides were drawn to rules, and whether a person left them out. */
  readonly rules?: { readonly id: string; readonly off: boolean };
  /** The edge whose length it is. */
  readonly edge?: { readonly building: Building; readonly edge: RoofEdge };
}

/** Looks up the number of a key `id:field`, sentences in the units in use; null when the record holds none. */
export function evidenceOf(record: RoofRecord, key: string, units: UnitChoice = METRIC): Evidence | null {
  const at = key.lastIndexOf(':');
  const [id, field] = [key.slice(0, at), key.slice(at + 1)];
  for (const building of record.buildings) {
    const plane = building.roofPlanes.find((candidate) => candidate.id === id);
    if (plane) return planeEvidence(plane, field, units, partNames(record));
    const edge = building.edges.find((candidate) => candidate.id === id);
    if (edge) return edgeEvidence(edge, building, units);
    const thing = building.obstructions.find((candidate) => candidate.id === id);
    if (thing) return thingEvidence(thing, field, units);
    const parapet = building.parapets.find((candidate) => candidate.id === id);
    if (parapet) return parapetEvidence(parapet, field);
  }
  const reading = record.readings.find((candidate) => candidate.id === id);
  return reading ? readingEvidence(reading) : null;
}

function planeEvidence(plane: RoofPlane, field: string, units: UnitChoice, names: ReadonlyMap<string, string>): Evidence | null {
  const numbers: Record<string, [Measured, Dimension]> = {
    pitchDeg: [plane.pitchDeg, 'pitch'], azimuthDeg: [plane.azimuthDeg, 'bearing'], slopeAreaM2: [plane.slopeAreaM2, 'area'], planAreaM2: [plane.planAreaM2, 'area'],
  };
  const found = numbers[field];
  if (!found) return null;
  const { evidence } = plane;
  const run = evidence ? ` Errors run together over ${shortLength(evidence.correlationLengthM, units)}: ${writeCount(plane.pointCount)} points count as ${writeCount(evidence.effectivePointCount)}.` : '';
  return {
    number: found[0], dimension: found[1], plane,
    method: `${sentenceIn(sentence(evidence?.method ?? 'Plane fitted to its points'), units)}${run}`,
    notes: [...(evidence?.notes ?? []).map((note) => sentenceIn(sentence(note), units)), ...planeSentences(plane, (other) => names.get(other) ?? other, units)],
    ...(plane.regular ? { rules: { id: plane.id, off: plane.regular.off ?? false } } : {}),
    better: field === 'slopeAreaM2' || field === 'planAreaM2' ? 'A tape along one eave would settle the edges and the scale.' : 'A level reading on this plane would settle the tilt of the whole model.',
  };
}

function edgeEvidence(edge: RoofEdge, building: Building, units: UnitChoice): Evidence {
  const plane = building.roofPlanes.find(({ id }) => id === edge.planes[0]) ?? null;
  return {
    number: edge.slopeLengthM, dimension: 'length', plane,
    method: `${measuredAsSentence(edge, units)} Its length runs between its ends.`,
    notes: [...(edge.note ? [sentence(edge.note)] : []), ...edgeSentences(edge, units)],
    ...(edge.regular ? { rules: { id: edge.id, off: edge.regular.off ?? false } } : {}),
    edge: { building, edge },
    better: 'A tape along it compares it with the roof itself.',
  };
}

function thingEvidence(thing: Obstruction, field: string, units: UnitChoice): Evidence {
  const isHeight = field === 'heightAboveRoofM';
  return {
    number: isHeight ? thing.heightAboveRoofM : thing.planAreaM2,
    dimension: isHeight ? 'length' : 'area',
    plane: null,
    method: isHeight ? 'Its top against the roof plane it stands on, plumb.' : 'Area of its footprint, seen from above.',
    notes: [
      `What this survey shows of it: ${thing.resolvability === 'below' ? 'below what can be resolved' : thing.resolvability}.`, ...(thing.note ? [sentence(thing.note)] : []),
      ...thingSentences(thing, isHeight, units),
    ],
    better: thing.resolvability === 'resolved' ? 'A tape on site compares it with the thing itself.' : 'A few close photos of it would settle it.',
  };
}

function parapetEvidence(parapet: Parapet, field: string): Evidence {
  const isHeight = field === 'heightAboveRoofM';
  return {
    number: isHeight ? parapet.heightAboveRoofM : parapet.thicknessM, dimension: 'length', plane: null,
    method: isHeight ? 'Its top against the roof at its inner face, plumb.' : 'Between its inner and outer face.',
    notes: [], better: 'A tape across its top compares it with the wall itself.',
  };
}

function readingEvidence(reading: RecordReading): Evidence | null {
  const [number, dimension] = readingNumber(reading);
  if (!number) return null;
  const picks = reading.picks.map(({ landedOn, of }, i) => `pick ${i + 1} on ${landedOn === 'point' ? 'a bare point' : `${article(landedOn)} ${landedOn}${of ? ` of ${of}` : ''}`}`);
  return {
    number, dimension, plane: null,
    method: `${sentence(reading.method)} ${sentence(picks.join('; '))}`,
    notes: ['What the whole model may be off by in scale, level or north stands in the ± under its own name, as stated or assumed; a tape or checkpoints on site can tell it.'],
    better: 'Picks on corners and edges are surer than bare points.',
  };
}

const article = (word: string): string => (/^[aeiou]/.test(word) ? 'an' : 'a');
const sentence = (text: string): string => `${text.charAt(0).toUpperCase()}${text.slice(1)}${/[.!?]$/.test(text) ? '' : '.'}`;

/** Each part with its share of the variance, largest first. */
export function sharesOf(parts: readonly UncertaintyPart[]): readonly { readonly name: string; readonly u95: number; readonly share: number }[] {
  const total = parts.reduce((sum, { u95 }) => sum + u95 * u95, 0);
  return parts.map(({ name, u95 }) => ({ name, u95, share: total > 0 ? (u95 * u95) / total : 0 })).sort((a, b) => b.share - a.share);
}
