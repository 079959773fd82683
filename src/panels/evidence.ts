import { edgeSentences, measuredAsSentence, partsText, planeSentences, thingSentences } from '../reading/evidence-words.ts';
import { slopeAreaOf, sumOf } from '../reading/roof-area.ts';
import { partNames } from '../roof/part-names.ts';
import { refusedIds } from '../roof/refused-ids.ts';
import type { Building, Obstruction, Parapet, RecordReading, RoofEdge, RoofPlane, RoofRecord } from '../roof/record.ts';
import { assumedSentence } from '../survey/measure/assumed.ts';
import { isKnown, type Measured, type UncertaintyPart } from '../units/measured.ts';
import { sentenceIn, shortLength } from '../units/unit-in-use.ts';
import { METRIC, plainReading, type Dimension, type UnitChoice } from '../units/written-reading.ts';
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
  /** What of the ± no cloud tells, and whence it is. */
  readonly assumed?: string | null;
  /** The edge whose length it is. */
  readonly edge?: { readonly building: Building; readonly edge: RoofEdge };
}

/** Looks up the number of a key `id:field`, sentences in the units in use; null when the record holds none. */
export function evidenceOf(record: RoofRecord, key: string, units: UnitChoice = METRIC): Evidence | null {
  const found = foundEvidence(record, key, units);
  return found && { ...found, assumed: isKnown(found.number) ? assumedSentence(record, found.number.parts ?? []) : null };
}

function foundEvidence(record: RoofRecord, key: string, units: UnitChoice): Evidence | null {
  const at = key.lastIndexOf(':');
  const [id, field] = [key.slice(0, at), key.slice(at + 1)];
  if (field === TOTAL_FIELD) return totalEvidence(record, record.buildings.filter((building) => id === SITE || building.id === id), units);
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
  const inPlan = field === 'slopeAreaM2' ? ` Seen from above it covers ${plainReading(plane.planAreaM2, 'area', units)}.` : '';
  const run = evidence ? ` Errors run together over ${shortLength(evidence.correlationLengthM, units)}: ${writeCount(plane.pointCount)} points count as ${writeCount(evidence.effectivePointCount)}.` : '';
  return {
    number: found[0], dimension: found[1], plane,
    method: `${sentenceIn(sentence(evidence?.method ?? 'Plane fitted to its points'), units)}${run}${inPlan}`,
    notes: [...(evidence?.notes ?? []).map((note) => sentenceIn(sentence(note), units)), ...planeSentences(plane, (other) => names.get(other) ?? other, units)],
    ...(plane.regular ? { rules: { id: plane.id, off: plane.regular.off ?? false } } : {}),
    better: betterFor(found[0]),
  };
}

/** What would make the largest part of a ± smaller. */
const BETTER: Readonly<Record<string, string>> = {
  fit: 'Its own points decide: more photos of it, from nearer.',
  edge: 'A tape along one eave would settle the edges and the scale.',
  rim: 'A tape along one eave would settle the edges and the scale.',
  'hidden corner': 'A photo that shows the corners others stand before.',
  'edge conversion': 'A gauge of the offset that was stated, taken on site.',
  scale: 'A tape along one eave would settle the scale.',
  tilt: 'A level reading on this plane would settle the tilt of the whole model.',
  north: 'Two surveyed checkpoints far apart would settle the bearings.',
};

const betterFor = (number: Measured): string => BETTER[isKnown(number) ? (sharesOf(number.parts ?? [])[0]?.name ?? '') : ''] ?? 'A tape on site compares it with the roof itself.';

/** Key of all roof planes of a building together, or of all buildings. */
export const TOTAL_FIELD = 'roof';
export const SITE = 'site';

function totalEvidence(record: RoofRecord, buildings: readonly Building[], units: UnitChoice): Evidence | null {
  const refused = refusedIds(record);
  const holding = buildings.filter(({ roofPlanes }) => roofPlanes.some(({ id }) => !refused.has(id)));
  const [building] = holding;
  if (!building) return null;
  const number = holding.length === 1 ? slopeAreaOf(building, refused) : sumOf(holding.map((one) => slopeAreaOf(one, refused)));
  const planes = holding.flatMap(({ roofPlanes }) => roofPlanes.filter(({ id }) => !refused.has(id)));
  const apart = sumOf(planes.map(({ slopeAreaM2 }) => slopeAreaM2));
  const areWhole = holding.every((one) => one.roofArea !== undefined && one.roofPlanes.every(({ id }) => !refused.has(id)));
  const plan = building.roofArea?.planAreaM2;
  return {
    number, dimension: 'area', plane: null,
    method: planes.length === 1 ? 'One roof plane alone.' : areWhole
      ? `All ${planes.length} roof planes together, within one outline: where two planes meet, what one gains the other loses.`
      : `Sum of ${planes.length} roof planes, some of them each on its own: a plane was refused, or the record holds none of them together.`,
    notes: [
      ...(holding.length > 1 ? ['Between buildings, parts that are the same for the whole model (scale, rim, a stated offset) add up; others count as independent.'] : []),
      ...(areWhole && isKnown(apart) && isKnown(number) && apart.u95 > number.u95 ? [`Planes that are each on their own would add up to ${plainReading({ value: apart.value, u95: apart.u95 }, 'area', units)}.`] : []),
      ...(areWhole && holding.length === 1 && plan ? [`Seen from above they cover ${plainReading(plan, 'area', units)}.`] : []),
      'The cover edge is measured, or what an edge was brought to; holes where no roof is are left out.',
    ],
    better: betterFor(number),
  };
}

function edgeEvidence(edge: RoofEdge, building: Building, units: UnitChoice): Evidence {
  const plane = building.roofPlanes.find(({ id }) => id === edge.planes[0]) ?? null;
  return {
    number: edge.slopeLengthM, dimension: 'length', plane,
    method: `${measuredAsSentence(edge, units)}${sidewaysSentence(edge, units)} Its length runs between its ends.`,
    notes: [...(edge.note ? [sentence(edge.note)] : []), ...edgeSentences(edge, units)],
    ...(edge.regular ? { rules: { id: edge.id, off: edge.regular.off ?? false } } : {}),
    edge: { building, edge },
    better: 'A tape along it compares it with the roof itself.',
  };
}

/** How well the line of an edge is known across it, with what that consists of. */
function sidewaysSentence({ positionM }: RoofEdge, units: UnitChoice): string {
  if (!positionM || !isKnown(positionM) || positionM.u95 <= 0) return '';
  const parts = positionM.parts ?? [];
  return ` Sideways the line is known to ± ${shortLength(positionM.u95, units)}${parts.length > 1 ? ` (${partsText(parts, (u95) => shortLength(u95, units))})` : ''}.`;
}

function thingEvidence(thing: Obstruction, field: string, units: UnitChoice): Evidence {
  const isHeight = field === 'heightAboveRoofM';
  return {
    number: isHeight ? thing.heightAboveRoofM : thing.planAreaM2,
    dimension: isHeight ? 'length' : 'area',
    plane: null,
    method: isHeight ? 'Its top against the roof plane it stands on, plumb.' : 'Area of its footprint, seen from above.',
    notes: [
      `What this survey shows of it: ${thing.resolvability === 'below' ? 'below what can be resolved' : thing.resolvability}.`, ...(thing.note ? [sentenceIn(sentence(thing.note), units)] : []),
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
    notes: [],
    better: 'Picks on corners and edges are surer than bare points.',
  };
}

const article = (word: string): string => (/^[aeiou]/.test(word) ? 'an' : 'a');
const sentence = (text: string): string => `${text.charAt(0).toUpperCase()}${text.slice(1)}${/[.!?]$/.test(text) ? '' : '.'}`;

/** Each part that has any with its share of the variance, largest first. */
export function sharesOf(parts: readonly UncertaintyPart[]): readonly { readonly name: string; readonly u95: number; readonly share: number }[] {
  const total = parts.reduce((sum, { u95 }) => sum + u95 * u95, 0);
  return parts.filter(({ u95 }) => u95 > 0).map(({ name, u95 }) => ({ name, u95, share: total > 0 ? (u95 * u95) / total : 0 })).sort((a, b) => b.share - a.share);
}
