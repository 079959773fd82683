import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';
import type { PointBatch } from '../point-batch.ts';
import { PointCollector } from '../point-collector.ts';
import { columnSlices } from './ply-columns.ts';
import type { PlyHeader } from './ply-header.ts';
import { vertexLayout, type VertexLayout } from './ply-layout.ts';
import type { PlyPartDetail } from './ply-reader.ts';
import { fixedRowSize, walkRows } from './ply-rows.ts';

/**
 * Points of one part.
 *
 * @throws InputError for a vertex whose coordinates are not finite, unless the file is being salvaged.
 */
export async function readPlyPoints(source: ByteSource, header: PlyHeader, detail: PlyPartDetail): Promise<PointBatch> {
  const layout = vertexLayout(header, source.name);
  const element = header.elements[layout.element]!;
  const points = new PointCollector(
    { colours: layout.colour !== null, intensity: layout.intensity >= 0, classification: layout.classification >= 0 },
    detail.rowCount,
  );
  const add = vertexAdder(source.name, layout, detail, points);
  const rowSize = header.encoding === 'ascii' ? null : fixedRowSize(element);
  const properties = wantedProperties(layout);
  const values = properties.map(() => 0);
  if (rowSize === null) {
    await walkRows(source, header, element, detail, null, (_, row, at) => {
      for (let k = 0; k < properties.length; k++) values[k] = row.values[properties[k]!]!;
      add(values, at);
    });
    return points.finish();
  }
  for await (const { firstRow, rowCount, columns } of columnSlices(source, element, rowSize, header.encoding === 'little', detail, properties)) {
    for (let row = 0; row < rowCount; row++) {
      for (let k = 0; k < columns.length; k++) values[k] = columns[k]![row]!;
      add(values, detail.begin + (firstRow + row) * rowSize);
    }
  }
  return points.finish();
}

/** x, y, z, then red, green, blue, intensity and class as far as there are any. */
const wantedProperties = ({ position, colour, intensity, classification }: VertexLayout): number[] => [
  ...position,
  ...(colour ?? []),
  ...[intensity, classification].filter((property) => property >= 0),
];

/** Adds a vertex from its numbers in the order of `wantedProperties`. */
function vertexAdder(fileName: string, { colour, intensity, classification }: VertexLayout, { scales, salvage }: PlyPartDetail, points: PointCollector) {
  const intensityAt = colour ? 6 : 3;
  const classAt = intensityAt + (intensity >= 0 ? 1 : 0);
  return (values: readonly number[], at: number): void => {
    const [x, y, z] = values as readonly [number, number, number];
    if (!Number.isFinite(x + y + z)) {
      if (salvage) return;
      throw new InputError(fileName, `vertex at byte ${at}: (${x}, ${y}, ${z}), expected three finite numbers.`);
    }
    points.position(x, y, z);
    if (colour) points.colour(values[3]! * scales.colour, values[4]! * scales.colour, values[5]! * scales.colour);
    if (intensity >= 0) points.intensityOf(values[intensityAt]! * scales.intensity);
    if (classification >= 0) points.classOf(values[classAt]!);
  };
}
