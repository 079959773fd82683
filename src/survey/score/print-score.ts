import { figuresOf, type CoverageFigures, type Figures, type ObstructionFigures, type PlaneFigures, type SideFigures, type Spread } from './figures.ts';
import type { Score } from './score.ts';
import type { Share } from './statistics.ts';

/** A score as text for a terminal: figures first, then what went wrong, by name. */
export function printScore(score: Score): string {
  const f = figuresOf(score);
  return `${[...figureLines(f, score), ...troubleLines(score)].join('\n')}\n`;
}

const number = (value: number | null, digits: number): string => (value === null ? '–' : value.toFixed(digits));
const percent = (s: Share): string => (s.share === null ? '–' : `${(100 * s.share).toFixed(1)} % of ${s.of}`);
const spreadText = (s: Spread, digits: number): string =>
  s.count === 0 ? '–' : `median ${number(s.median, digits)}, 90 % ${number(s.at90, digits)}, 95 % ${number(s.at95, digits)} (${s.count})`;

function figureLines(f: Figures, score: Score): string[] {
  const t = score.topology;
  return [
    'Planes                    completeness      correctness       quality',
    ...[...f.planes, f.planesFrom2M2].map(planeLine),
    `  groups: one to one ${t.oneToOne}, split ${t.oneToMany}, merged ${t.manyToOne}, both ${t.manyToMany}, missed ${t.missed}, invented ${t.invented}`,
    ...(score.planesOnCurves > 0 ? [`  flat planes laid on curved roofs: ${score.planesOnCurves}`] : []),
    'Errors of found planes (size without sign)',
    `  pitch [deg], 2 m² and more     ${spreadText(f.pitchErrorDeg.from2M2, 3)}`,
    `  pitch [deg], 10 m² and more    ${spreadText(f.pitchErrorDeg.from10M2, 3)}`,
    `  azimuth [deg], 2 m² and more   ${spreadText(f.azimuthErrorDeg.from2M2, 3)}`,
    `  slope area [%], 2 m² and more  ${spreadText(f.slopeAreaErrorPercent.from2M2, 2)}, mean with sign ${number(f.slopeAreaErrorPercent.meanFrom2M2, 2)}`,
    `  slope area [%], 10 m² and more ${spreadText(f.slopeAreaErrorPercent.from10M2, 2)}`,
    `  height at the middle [m]       ${spreadText(f.offsetM, 4)}`,
    'Outlines',
    `  sides of 3 m and more          ${sideText(f.sides)}`,
    ...f.sidesByKind.map((s) => `    ${s.kind.padEnd(29)}${sideText(s)}`),
    `  ring distance PoLiS [m]        ${spreadText(f.polisM, 3)}`,
    `  corners within two spacings    recall ${percent(f.corners.recall)}, precision ${percent(f.corners.precision)}; rms ${number(f.corners.rmsSpacings, 2)} spacings`,
    'Edges',
    `  found ${percent(f.edgesFound)}, kind right ${percent(f.edgeKind)}, extra ${f.edgesExtra}; length within 0.1 m: recall ${number(f.edgeLengthCover.recall, 3)}, precision ${number(f.edgeLengthCover.precision, 3)}`,
    `  length [m]                     ${spreadText(f.edgeLengthErrorM, 3)}`,
    ...f.edgeConfusion.map((c) => `    ${c.truth} taken for ${c.record}: ${c.count}`),
    'Obstructions by width',
    ...f.obstructions.map(obstructionLine),
    `  false per building: ${number(f.falseObstructionsPerBuilding, 2)}`,
    `Parapets: length found ${number(f.parapets.lengthFound, 3)}, height [m] ${spreadText(f.parapets.heightErrorM, 3)}, thickness [m] ${spreadText(f.parapets.thicknessErrorM, 3)}, invented ${f.parapets.invented}`,
    `Drains: found ${percent(f.drains.found)}, called likely ${percent(f.drains.likely)}, invented ${f.drains.invented}, distance [m] ${spreadText(f.drains.distanceM, 2)}`,
    'Intervals that hold the truth   at 95 %                          at 68 %   mean z   rms z   median ±',
    ...f.coverage.map(coverageLine),
  ];
}

const planeLine = (p: PlaneFigures): string =>
  `  ${p.name.padEnd(24)}${percent(p.completeness).padEnd(18)}${percent(p.correctness).padEnd(18)}${number(p.quality, 3)}`;

const sideText = (s: SideFigures): string =>
  `bias ${number(s.biasSpacings, 2)}, rms ${number(s.rmsSpacings, 2)} spacings (${s.count}${s.lost > 0 ? `, ${s.lost} nowhere near` : ''})`;

const obstructionLine = (o: ObstructionFigures): string =>
  `  ${o.name.padEnd(20)}recall ${percent(o.recall).padEnd(16)} height bias ${number(o.heightBiasGsd, 2)}, sd ${number(o.heightSdGsd, 2)} GSD, shape right ${percent(o.shapeRight)}`;

const coverageLine = (c: CoverageFigures): string => {
  const s = c.within95;
  const range = s.share === null ? '–' : `${(100 * s.share).toFixed(1)} % [${(100 * s.low).toFixed(1)}, ${(100 * s.high).toFixed(1)}] of ${s.of}`;
  const at68 = c.within68.share === null ? '–' : `${(100 * c.within68.share).toFixed(1)} %`;
  return `  ${c.quantity.padEnd(30)}${range.padEnd(33)}${at68.padEnd(10)}${number(c.meanZ, 2).padEnd(9)}${number(c.rmsZ, 2).padEnd(8)}${number(c.medianU95, 4)}`;
};

function troubleLines(score: Score): string[] {
  const found = new Set(score.planeMatches.map((m) => `${m.scene}|${m.truth}`));
  const lost = score.truthPlanes.filter((p) => !found.has(`${p.scene}|${p.id}`));
  const wrong = score.recordPlanes.filter((p) => p.overlap < 0.5);
  const lines = [
    ...lost.map((p) => `  missed plane ${p.scene}: ${p.id}, ${p.slopeAreaM2.toFixed(2)} m², best overlap ${p.overlap.toFixed(2)}`),
    ...wrong.map((p) => `  plane without a counterpart ${p.scene}: ${p.id}, ${p.slopeAreaM2.toFixed(2)} m²`),
    ...score.topology.groups
      .filter((g) => g.truth.length > 0 && g.record.length > 0)
      .map((g) => `  ${g.scene}: ${g.truth.join(' + ')} found as ${g.record.join(' + ')}`),
    ...score.edges.filter((e) => e.record !== null && e.recordKind !== e.kind).map((e) => `  ${e.scene}: ${e.truth} is a ${e.kind}, called ${e.recordKind}`),
    ...score.edges.filter((e) => e.record === null).map((e) => `  ${e.scene}: ${e.truth} (${e.kind}, ${e.slopeLengthM.toFixed(2)} m) not found`),
    ...score.obstructions.filter((o) => o.record === null).map((o) => `  ${o.scene}: ${o.truth} (${o.widthM.toFixed(2)} m wide, ${o.heightM.toFixed(2)} m high) not found`),
    ...score.falseObstructions.map((o) => `  ${o.scene}: nothing is where ${o.id} stands (${o.note})`),
    ...score.falseParapets.map((p) => `  ${p.scene}: no parapet is where ${p.id} stands (${p.note})`),
    ...score.falseDrains.map((d) => `  ${d.scene}: no drain is near ${d.id} (${d.note})`),
  ];
  return lines.length === 0 ? [] : ['What went wrong', ...lines];
}
