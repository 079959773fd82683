import { clientLines } from './client-limit.ts';
import { isKnown, type Measured } from '../units/measured.ts';
import type { Building, RoofRecord } from '../roof/record.ts';

/** A few lines for the terminal: what was found, each number with its ±. */
export function summaryOf(record: RoofRecord): string {
  const { sampling, buildings, sources } = record;
  const points = sources.reduce((sum, source) => sum + source.pointCount, 0);
  const triangles = sources.reduce((sum, source) => sum + source.triangleCount, 0);
  const lines = [
    `${points.toLocaleString('en')} points, ${triangles ? `${triangles.toLocaleString('en')} triangles, ` : ''}spacing ${mm(sampling.pointSpacingM)}, noise ${mm(sampling.noiseM)}, ` +
      `${buildings.length} building${buildings.length === 1 ? '' : 's'}`,
    ...sources.flatMap((source) => source.notes.map((note) => `  ${source.file}: ${note}`)),
    ...buildings.flatMap(buildingLines),
    ...clientLines(record),
  ];
  return `${lines.join('\n')}\n`;
}

function buildingLines(building: Building): string[] {
  const { edges, obstructions, parapets, lowPoints } = building;
  return [
    `${building.id}: ground ${text(building.groundElevationM, 'm', 2)}; ${edges.length} edges, ${obstructions.length} obstructions, ` +
      `${parapets.length} parapets, ${lowPoints.length} low points`,
    ...building.roofPlanes.map(
      (plane) =>
        `  ${plane.id.padEnd(8)} pitch ${text(plane.pitchDeg, '°', 2)}  azimuth ${text(plane.azimuthDeg, '°', 1)}  ` +
        `slope area ${text(plane.slopeAreaM2, 'm²', 2)}`,
    ),
  ];
}

const mm = (value: number): string => `${(value * 1000).toFixed(1)} mm`;

function text(number: Measured, unit: string, decimals: number): string {
  return isKnown(number) ? `${number.value.toFixed(decimals)} ± ${number.u95.toFixed(decimals)} ${unit}` : number.why;
}
