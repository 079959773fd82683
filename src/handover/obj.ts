import type { RoofRecord } from '../roof/record.ts';
import { drawingPlace } from './drawing-place.ts';
import type { HandoverOptions } from './handover-kind.ts';
import { triangleSurfaces } from './surfaces.ts';

/** Roof planes, obstructions and modules as Wavefront OBJ triangles: z up, one group per thing, named by its id. */
export function writeObj(record: RoofRecord, options: HandoverOptions = {}): string {
  const { place, statement } = drawingPlace(record, options);
  const lines = statement.map((sentence) => `# ${sentence}`);
  let first = 1;
  let building: string | null = null;
  for (const surface of triangleSurfaces(record)) {
    if (surface.building !== building) lines.push(`o ${surface.building}`);
    building = surface.building;
    lines.push(`g ${surface.what}-${surface.id}`);
    for (const corner of surface.corners) lines.push(`v ${place(corner).map(decimal).join(' ')}`);
    for (let i = 0; i < surface.triangles.length; i += 3) {
      lines.push(`f ${surface.triangles.slice(i, i + 3).map((index) => index + first).join(' ')}`);
    }
    first += surface.corners.length;
  }
  return `${lines.join('\n')}\n`;
}

/** To a hundredth of a millimetre. */
const decimal = (value: number): string => String(Number(value.toFixed(5)));
