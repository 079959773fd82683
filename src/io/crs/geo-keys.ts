/** Numbers of the keys this program asks for (OGC 19-008, GeoTIFF 1.1, annex B). */
export const geoKey = {
  modelType: 1024,
  rasterType: 1025,
  citation: 1026,
  geodeticCrs: 2048,
  geodeticCitation: 2049,
  geodeticLinearUnit: 2052,
  geodeticLinearUnitSize: 2053,
  projectedCrs: 3072,
  projectedCitation: 3073,
  projectedLinearUnit: 3076,
  projectedLinearUnitSize: 3077,
  verticalCrs: 4096,
  verticalCitation: 4097,
  verticalUnit: 4099,
} as const;

/** Key number to its value: a number, or a text without its closing `|`. */
export type GeoKeys = ReadonlyMap<number, number | string>;

const DOUBLES = 34736;
const ASCII = 34737;
const ENTRY = 4;

/**
 * Resolves a GeoTIFF key directory.
 *
 * @param directory  Contents of record 34735: version, revision, minor, key count, then four numbers a key.
 * @param doubles  Contents of record 34736. @param ascii  Contents of record 34737.
 * @returns The keys, and one sentence for every key that points outside its record.
 */
export function resolveGeoKeys(
  directory: Uint16Array,
  doubles: Float64Array,
  ascii: string,
): { readonly keys: GeoKeys; readonly problems: readonly string[] } {
  const keys = new Map<number, number | string>();
  const problems: string[] = [];
  if (directory.length < ENTRY || directory[0] !== 1) {
    problems.push(`GeoTIFF key directory ignored: version ${directory[0] ?? 'missing'}, expected 1.`);
    return { keys, problems };
  }
  const held = Math.floor(directory.length / ENTRY) - 1;
  const promised = directory[3]!;
  if (promised > held) problems.push(`GeoTIFF key directory promises ${promised} keys and holds ${held}.`);
  for (let entry = 1; entry <= Math.min(promised, held); entry++) {
    const [key, location, count, value] = directory.subarray(entry * ENTRY, entry * ENTRY + ENTRY);
    const resolved = resolveValue(location!, count!, value!, doubles, ascii);
    if (resolved === null) problems.push(`GeoTIFF key ${key} points outside its record (place ${location}, count ${count}, index ${value}).`);
    else keys.set(key!, resolved);
  }
  return { keys, problems };
}

function resolveValue(location: number, count: number, value: number, doubles: Float64Array, ascii: string): number | string | null {
  if (location === 0) return value;
  if (location === DOUBLES) return value < doubles.length ? doubles[value]! : null;
  if (location !== ASCII || value + count > ascii.length) return null;
  return ascii.slice(value, value + count).replace(/[|\0\s]+$/, '');
}
