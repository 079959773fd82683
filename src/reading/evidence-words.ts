import type { EdgeDefinition, EdgeMeasuredAs, Obstruction, RoofEdge, RoofPlane, RuleTest } from '../roof/record.ts';
import { toldArea, toldLength } from '../units/unit-in-use.ts';
import { METRIC, type UnitChoice } from '../units/written-reading.ts';

// What stands behind a number, in sentences: the same words on the page and in the report.

/** What an edge was measured as, in two words. */
export const MEASURED_AS: Readonly<Record<EdgeMeasuredAs | EdgeDefinition, string>> = {
  'cover-edge': 'cover edge',
  'upright-face': 'upright face',
  intersection: 'planes meet',
  labels: 'limit of points',
  'gutter-lip': 'gutter lip',
  'wall-line': 'wall line',
  other: 'other line',
};

const MEASURED_SENTENCES: Readonly<Record<EdgeMeasuredAs | EdgeDefinition, string>> = {
  'cover-edge': 'Measured where the cover ends, by counting points along the side: not the gutter lip and not the wall line.',
  'upright-face': 'Measured at the upright face that the plane runs up to.',
  intersection: 'Where two fitted planes meet.',
  labels: 'Only where the points of the plane end: no side could be counted here.',
  'gutter-lip': 'Stands for the gutter lip.',
  'wall-line': 'Stands for the wall line.',
  other: 'Stands for another line than was measured.',
};

/** Which edge was measured, and which it stands for where a person stated an offset. */
export function measuredAsSentence({ measuredAs, convertedFrom, planes }: RoofEdge, units: UnitChoice = METRIC): string {
  if (!measuredAs) return planes.length > 1 ? 'Where two fitted planes meet.' : 'Along the limit of the plane’s points.';
  if (!convertedFrom || convertedFrom.offsetM.value === null) return MEASURED_SENTENCES[measuredAs];
  const { value, u95 } = convertedFrom.offsetM;
  return `${MEASURED_SENTENCES[measuredAs]} The ${MEASURED_AS[convertedFrom.measuredAs]} was measured; it was brought ${toldLength(Math.abs(value), units)} ± ${toldLength(u95, units)} ${value > 0 ? 'outwards' : 'towards the roof'} (${convertedFrom.by}: ${convertedFrom.why}).`;
}

/** A chance as it is told: 0.24, 0.004, below 0.000001. */
export const chanceText = (p: number): string => (p <= 1e-6 ? 'p < 0.000001' : `p = ${p >= 0.0001 ? Number(p.toPrecision(2)) : p.toPrecision(1)}`);

/** How a rule was judged: by how much a side missed it and what chance that has. */
export function ruleText({ rule, offDeg, offM, pValue, kept }: RuleTest, units: UnitChoice = METRIC): string {
  const off = offDeg !== undefined ? `${Math.abs(offDeg).toFixed(2)}°` : toldLength(Math.abs(offM ?? 0), units);
  return `“${rule}” ${kept ? 'kept' : 'refused'} (${off} off, ${chanceText(pValue)})`;
}

/** Rules that an edge was judged by, and how far they move it; of one that was brought elsewhere none is told. */
export function edgeSentences({ regular, convertedFrom }: RoofEdge, units: UnitChoice = METRIC): string[] {
  if (!regular) return convertedFrom ? [] : ['No rule that sides of buildings keep (parallel, square, in line) was tried on it: it comes near none, or is too short to tell its own direction. It is drawn as measured.'];
  const judged = (regular.tests ?? []).map((test) => ruleText(test, units)).join(', ');
  if (judged === '') return [];
  if (regular.off) return [`Drawn to no rule, as a person decided: ${judged}.`];
  const moves = regular.kept.length > 0 ? ` Drawn to rules it moves by ${toldLength(regular.shiftM, units)}; its numbers are as measured.` : ' It stays as measured.';
  return [`Rules that sides of buildings keep, tested against the scatter of this one: ${judged}.${moves}`];
}

/** Freedom of the fit, how it was told from its neighbours, corners in common, and sides drawn to rules. */
export function planeSentences({ evidence, regular }: RoofPlane, name: (id: string) => string, units: UnitChoice = METRIC): string[] {
  const said: string[] = [];
  if (evidence?.degreesOfFreedom !== undefined && evidence.sigmasIn95 !== undefined) {
    said.push(`The scatter of single points is known with ${evidence.degreesOfFreedom} degrees of freedom: 95 % is ${evidence.sigmasIn95.toFixed(2)} standard deviations.`);
  }
  if (evidence?.joinedFrom) {
    const { patches, leastPValue } = evidence.joinedFrom;
    const why = leastPValue < 0.001 ? 'by their points they differ, but by less than the noise or than is ever built' : 'their points do not tell them apart';
    said.push(`Joined from ${patches} patches: ${why} (least likely join ${chanceText(leastPValue)}).`);
  }
  for (const { plane, pValue, independentCount } of evidence?.apartFrom ?? []) {
    const chance = `${chanceText(pValue)} by chi-square, ${Math.round(independentCount)} independent errors`;
    said.push(pValue < 0.01 ? `Told from ${name(plane)}: one plane would not look so (${chance}).` : `By its points it could be one plane with ${name(plane)} (${chance}); something between them keeps the two apart.`);
  }
  if (evidence?.cornersOffPlaneM !== undefined && evidence.cornersOffPlaneM >= 0.0005) {
    said.push(`Corners it has in common with its neighbours lie up to ${toldLength(evidence.cornersOffPlaneM, units)} off this plane.`);
  }
  if (regular && !regular.off) said.push(`Drawn to rules that its sides keep (dashed on the page), its corners move by up to ${toldLength(regular.greatestShiftM, units)}; its numbers are as measured.`);
  if (regular?.off) said.push('Its sides are drawn to no rule, as a person decided.');
  return said;
}

/** What the height or the footprint of a thing rests on. */
export function thingSentences({ evidence }: Obstruction, isHeight: boolean, units: UnitChoice = METRIC): string[] {
  if (!evidence) return [];
  const { ring, top, samplesAcross, smoothedM, shareUp, roughAreaM2, timesLimit } = evidence;
  if (!isHeight) {
    return [`Raised points cover ${toldArea(roughAreaM2, units)}; its sides were moved to where as many points lie on its top as on the roof.`, `${Math.round(100 * shareUp)} % of the points over it lie in its upper half.`];
  }
  return [
    ring.points < 8
      ? 'Too few points of the roof were seen about it, so its plane stands for the roof there.'
      : `By a ring of ${toldLength(ring.widthM, units, 0.01)} about it, ${ring.points} points, the roof beneath lies ${toldLength(Math.abs(ring.aboveM), units)} ${ring.aboveM < 0 ? 'below' : 'above'} the fitted plane (± ${toldLength(ring.u95M, units)}): its height is from there.`,
    `Its top is the mean of ${top.points} points away from its rim${top.alongRoof ? ', along the roof' : ''}, ${top.roughness.toFixed(1)} times as rough as the roof.`,
    `${samplesAcross.toFixed(0)} samples across: smoothing may take off up to ${toldLength(smoothedM, units)}, which stands in the ±. ${timesLimit.toFixed(1)} times the limit of detection.`,
  ];
}

/** Every part of a ± by name, largest first; parts of nothing are not told. */
export const partsText = (parts: readonly { readonly name: string; readonly u95: number }[], write: (u95: number) => string): string =>
  parts.filter(({ u95 }) => u95 > 0).sort((a, b) => b.u95 - a.u95).map(({ name, u95 }) => `${name} ${write(u95)}`).join(', ');
