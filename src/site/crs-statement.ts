/** One thing a file says about where its coordinates live. Several may stand in one file, and may disagree. */
export interface CrsStatement {
  /** Where it was read: "WKT record", "GeoTIFF keys", "PRJ comment". */
  readonly origin: string;
  readonly kind: 'projected' | 'geographic' | 'geocentric' | 'local' | 'unknown';
  readonly name: string | null;
  /** Horizontal code, e.g. 2154. */
  readonly epsg: number | null;
  readonly verticalEpsg: number | null;
  /** Metres in one unit, where stated. */
  readonly unitToMetre: number | null;
  readonly verticalUnitToMetre: number | null;
  /** Kept when the file has it. */
  readonly wkt: string | null;
}
