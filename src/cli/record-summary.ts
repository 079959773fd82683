import { clientLines } from './client-limit.ts';
import { isKnown, type Measured } from '../units/measured.ts';
import type { Building, RoofRecord } from '../roof/record.ts';

/** Without a roof plane neither spacing nor noise are of one. */
const NO_ROOF =
  'A roof plane needs some twenty points across on one flat surface that stands clear of the ground. In another unit, or lying on its side? Say --unit or --up.';

/** A few lines for the terminal: what was found, each number with its ±. */
export function summaryOf(record: RoofRecord): string {
  const { sampling, buildings, sources } = record;
  const points = sources.reduce((sum, source) => sum + source.pointCount, 0);
  const triangles = sources.reduce((sum, source) => sum + source.triangleCount, 0);
  const held = [points > 0 || triangles === 0 ? count(points, 'point') : '', triangles > 0 ? count(triangles, 'triangle') : ''].filter(Boolean).join(', ');
  const lines = [
    ...(buildings.length > 0
      ? [`${held}, spacing ${mm(sampling.pointSpacingM)}, noise ${mm(sampling.noiseM)}, ${count(buildings.length, 'building')}`]
      : [`${held}, no roof plane found`, `  ${NO_ROOF}`]),
    ...sources.flatMap((source) => source.notes.map((note) => `  ${source.file}: ${note}`)),
    ...buildings.flatMap(buildingLines),
    ...clientLines(record),
  ];
  return `${lines.join('\n')}\n`;
}

function buildingLines(building: Building): string[] {
  const { edges, obstructions, parapets, lowPoints } = building;
  return [
    `${building.id}: ${isKnown(building.groundElevationM) ? `ground ${text(building.groundElevationM, 'm', 2)}` : building.groundElevationM.why}; ` +
      [count(edges.length, 'edge'), count(obstructions.length, 'obstruction'), count(parapets.length, 'parapet'), count(lowPoints.length, 'low point')].join(', '),
    ...building.roofPlanes.map(
      (plane) =>
        `  ${plane.id.padEnd(8)} pitch ${text(plane.pitchDeg, '°', 2)}  azimuth ${text(plane.azimuthDeg, '°', 1)}  ` +
        `slope area ${text(plane.slopeAreaM2, 'm²', 2)}`,
    ),
  ];
}

const count = (number: number, what: string): string => `${number.toLocaleString('en')} ${what}${number === 1 ? '' : 's'}`;

const mm = (value: number): string => `${(value * 1000).toFixed(1)} mm`;

function text(number: Measured, unit: string, decimals: number): string {
  return isKnown(number) ? `${number.value.toFixed(decimals)} ± ${number.u95.toFixed(decimals)} ${unit}` : number.why;
}
