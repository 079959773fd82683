import type { Mesh } from '../cloud/mesh.ts';
import type { CrsStatement } from '../site/crs-statement.ts';
import type { Vector3 } from '../geometry/vector.ts';
import type { ByteSource } from './byte-source.ts';
import type { PointBatch } from './point-batch.ts';
import type { Region } from './region.ts';

export type FileFormat = 'LAS' | 'LAZ' | 'COPC' | 'PLY' | 'OBJ' | 'GLB' | 'text' | 'GeoTIFF';

export interface Bounds3 {
  readonly min: Vector3;
  readonly max: Vector3;
}

/**
 * One slice of a file that can be decoded on its own, in any worker. Plain data: it crosses threads.
 * `detail` is private to the reader that wrote it (byte ranges, chunk numbers).
 */
export interface FilePart {
  readonly pointCount: number;
  /** Source coordinates, where the file tells them without decoding (a COPC node). */
  readonly bounds: Bounds3 | null;
  readonly detail: unknown;
}

/** What a file says of itself before its points are read. Plain data: it crosses threads. */
export interface FileDescription {
  readonly name: string;
  readonly format: FileFormat;
  /** `LAS 1.4, record format 8`, for people. */
  readonly formatDetail: string;
  readonly kind: 'points' | 'mesh' | 'raster';
  readonly pointCount: number;
  readonly triangleCount: number;
  /** Stated by the file or known from it, source coordinates; null when only reading the points can tell. */
  readonly bounds: Bounds3 | null;
  /** Which source axis points up by the format's own rule: y for glTF, z elsewhere. */
  readonly up: 'z' | 'y';
  /** Everything the file says about its projection and unit; none is chosen here. */
  readonly crsStatements: readonly CrsStatement[];
  /** The smallest step of a coordinate where the format has one (LAS scale). [source unit] */
  readonly coordinateStep: Vector3 | null;
  readonly parts: readonly FilePart[];
  /** What was repaired, ignored or found odd, one sentence each. */
  readonly notes: readonly string[];
}

export interface ReadOptions {
  /** Read what is there when a file is shorter than it promises, and say so, instead of refusing it. */
  readonly salvage: boolean;
}

/** A reader of one family of formats. All throw InputError for a file that cannot be used. */
export interface SurveyFileReader {
  /** True when the first bytes (up to 4 KiB) or, failing that, the name show that this reader should take the file. */
  recognises(head: Uint8Array, name: string): boolean;
  /** @param beside  Materials and pictures that were opened with it. */
  describe(source: ByteSource, options: ReadOptions, beside?: readonly ByteSource[]): Promise<FileDescription>;
  /**
   * Points of one part. For a mesh: its vertices are not points; use `readMesh`.
   *
   * @param region  Points outside may be left out where that saves decoding; those inside never are. Source coordinates.
   * @param attributes  False where only positions are asked for; the rest may then be left out. Default true.
   */
  readPoints(source: ByteSource, description: FileDescription, part: number, region?: Region | null, attributes?: boolean): Promise<PointBatch>;
  /** Only for `kind: 'mesh'`. */
  readMesh?(source: ByteSource, description: FileDescription, beside?: readonly ByteSource[]): Promise<Mesh>;
}
