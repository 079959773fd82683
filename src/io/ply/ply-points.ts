import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';
import type { PointBatch } from '../point-batch.ts';
import { PointCollector } from '../point-collector.ts';
import type { PlyHeader } from './ply-header.ts';
import { vertexLayout } from './ply-layout.ts';
import type { PlyPartDetail } from './ply-reader.ts';
import { walkRows } from './ply-rows.ts';

/**
 * Points of one part.
 *
 * @throws InputError for a vertex whose coordinates are not finite, unless the file is being salvaged.
 */
export async function readPlyPoints(source: ByteSource, header: PlyHeader, detail: PlyPartDetail): Promise<PointBatch> {
  const layout = vertexLayout(header, source.name);
  const [x, y, z] = layout.position;
  const { colour, intensity, classification } = layout;
  const points = new PointCollector(
    { colours: colour !== null, intensity: intensity >= 0, classification: classification >= 0 },
    detail.rowCount,
  );
  const { scales } = detail;
  await walkRows(source, header, header.elements[layout.element]!, detail, null, (_, { values }, at) => {
    if (!Number.isFinite(values[x]! + values[y]! + values[z]!)) {
      if (detail.salvage) return;
      throw new InputError(source.name, `vertex at byte ${at}: (${values[x]}, ${values[y]}, ${values[z]}), expected three finite numbers.`);
    }
    points.position(values[x]!, values[y]!, values[z]!);
    if (colour) points.colour(values[colour[0]]! * scales.colour, values[colour[1]]! * scales.colour, values[colour[2]]! * scales.colour);
    if (intensity >= 0) points.intensityOf(values[intensity]! * scales.intensity);
    if (classification >= 0) points.classOf(values[classification]!);
  });
  return points.finish();
}
