/**
 * LAS 1.4 (ASPRS, LAS Specification 1.4 R15, 2019): header 375 bytes, one WKT record, points of format 2 or 7.
 *
 * @param positions  Source coordinates, x y z, `n × 3`. [m]
 * @param colours  Red, green, blue, `n × 3`, 0 to 255; stored as 16 bit (value × 257).
 * @param format  7 as surveyors deliver it (36 bytes a point), or 2 (26 bytes).
 * @param wkt  Coordinate reference system, WKT of OGC 01-009.
 */
export function writeLas(positions: Float64Array, colours: Uint8Array, format: 2 | 7, wkt: string): Uint8Array {
  const count = positions.length / 3;
  const size = format === 7 ? 36 : 26;
  const record = new TextEncoder().encode(`${wkt}\0`);
  const pointsAt = 375 + 54 + record.length;
  const bytes = new Uint8Array(pointsAt + count * size);
  const view = new DataView(bytes.buffer);
  const scale = 0.001;
  const { min, max } = boundsOf(positions);
  const offset = min.map((m) => Math.floor(m / 100) * 100);
  writeHeader(view, bytes, { count, size, format, pointsAt, scale, offset, min, max });
  text(bytes, 375 + 2, 'LASF_Projection', 16);
  view.setUint16(375 + 18, 2112, true);
  view.setUint16(375 + 20, record.length, true);
  text(bytes, 375 + 22, 'OGC coordinate system WKT', 32);
  bytes.set(record, 375 + 54);
  for (let i = 0, at = pointsAt; i < count; i++, at += size) {
    for (let k = 0; k < 3; k++) view.setInt32(at + 4 * k, Math.round((positions[3 * i + k]! - offset[k]!) / scale), true);
    const colourAt = format === 7 ? at + 30 : at + 20;
    let grey = 0;
    for (let k = 0; k < 3; k++) {
      view.setUint16(colourAt + 2 * k, colours[3 * i + k]! * 257, true);
      grey += colours[3 * i + k]!;
    }
    view.setUint16(at + 12, Math.round((grey / 3) * 257), true);
    // One return of one.
    view.setUint8(at + 14, format === 7 ? 0x11 : 0x09);
  }
  return bytes;
}

interface Header {
  readonly count: number;
  readonly size: number;
  readonly format: number;
  readonly pointsAt: number;
  readonly scale: number;
  readonly offset: readonly number[];
  readonly min: readonly number[];
  readonly max: readonly number[];
}

function writeHeader(view: DataView, bytes: Uint8Array, h: Header): void {
  text(bytes, 0, 'LASF', 4);
  // Coordinate reference system is given as WKT.
  view.setUint16(6, 1 << 4, true);
  view.setUint8(24, 1);
  view.setUint8(25, 4);
  text(bytes, 26, 'MADE UP', 32);
  text(bytes, 58, 'roofdatum make-sample', 32);
  // A fixed day, so that equal seeds give equal bytes: day 1 of 2026.
  view.setUint16(90, 1, true);
  view.setUint16(92, 2026, true);
  view.setUint16(94, 375, true);
  view.setUint32(96, h.pointsAt, true);
  view.setUint32(100, 1, true);
  view.setUint8(104, h.format);
  view.setUint16(105, h.size, true);
  // Older fields hold the count for formats 0 to 5 only.
  if (h.format < 6) {
    view.setUint32(107, h.count, true);
    view.setUint32(111, h.count, true);
  }
  for (let k = 0; k < 3; k++) {
    view.setFloat64(131 + 8 * k, h.scale, true);
    view.setFloat64(155 + 8 * k, h.offset[k]!, true);
    const stored = (v: number) => Math.round((v - h.offset[k]!) / h.scale) * h.scale + h.offset[k]!;
    view.setFloat64(179 + 16 * k, stored(h.max[k]!), true);
    view.setFloat64(187 + 16 * k, stored(h.min[k]!), true);
  }
  view.setBigUint64(247, BigInt(h.count), true);
  view.setBigUint64(255, BigInt(h.count), true);
}

function text(bytes: Uint8Array, at: number, value: string, room: number): void {
  bytes.set(new TextEncoder().encode(value).subarray(0, room), at);
}

function boundsOf(positions: Float64Array): { min: number[]; max: number[] } {
  const min = [Infinity, Infinity, Infinity];
  const max = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < positions.length; i++) {
    const k = i % 3;
    if (positions[i]! < min[k]!) min[k] = positions[i]!;
    if (positions[i]! > max[k]!) max[k] = positions[i]!;
  }
  return { min, max };
}

/** ETRS89 / UTM zone 32 north, as OGC 01-009 writes it (values of the EPSG dataset). */
export const WKT_25832 =
  'PROJCS["ETRS89 / UTM zone 32N",GEOGCS["ETRS89",DATUM["European_Terrestrial_Reference_System_1989",' +
  'SPHEROID["GRS 1980",6378137,298.257222101,AUTHORITY["EPSG","7019"]],AUTHORITY["EPSG","6258"]],' +
  'PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],' +
  'AUTHORITY["EPSG","4258"]],PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",0],' +
  'PARAMETER["central_meridian",9],PARAMETER["scale_factor",0.9996],PARAMETER["false_easting",500000],' +
  'PARAMETER["false_northing",0],UNIT["metre",1,AUTHORITY["EPSG","9001"]],AXIS["Easting",EAST],AXIS["Northing",NORTH],' +
  'AUTHORITY["EPSG","25832"]]';
