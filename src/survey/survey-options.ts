/** What a person may state about the files, or ask for; everything else is measured. */
export interface SurveyOptions {
  /** Overrides what the files say of their unit. */
  readonly unit?: 'm' | 'ft' | 'us-ft';
  /** Overrides what the files say of their projection: `EPSG:n`. */
  readonly crs?: string;
  /** Overrides which source axis points up. */
  readonly up?: 'z' | 'y';
  /** Ground sample distance of the images, as flown. [cm per pixel] */
  readonly gsdCm?: number;
  /** Region of interest: GeoJSON text, or corners `x,y x,y x,y …`; source coordinates. */
  readonly within?: string;
  /** Reads what is there when a file is shorter than it promises. */
  readonly salvage?: boolean;
  /** Distance of the points laid on a mesh. [m] Default: chosen from its triangles. */
  readonly meshSpacingM?: number;
  readonly seed?: number;
}

export const DEFAULT_SEED = 1;
