/** A triangle mesh as read, in source coordinates; kept for drawing and picking, and sampled by area for measuring. */
export interface Mesh {
  /** x, y, z, `n × 3`, source coordinates and unit. */
  readonly positions: Float64Array;
  /** Three vertex numbers a triangle. */
  readonly triangles: Uint32Array;
  /** Red, green, blue per vertex, 0 to 255. */
  readonly colours: Uint8Array | null;
  /** u, v per vertex, from the upper left corner of a picture. */
  readonly textureCoordinates: Float32Array | null;
  /** What triangles are drawn with: pictures, or plain colours. */
  readonly pictures: readonly MeshPaint[];
  /** Picture or colour of each triangle, counted from 1; 0 has none. Null where no triangle has one. */
  readonly pictureOf: Uint16Array | null;
}

export type MeshPaint = MeshPicture | MeshColour;

/** One colour for all of a triangle: red, green, blue, 0 to 255. */
export interface MeshColour {
  readonly colour: readonly [red: number, green: number, blue: number];
}

/** A picture as it stands in a file, still packed. */
export interface MeshPicture {
  readonly bytes: Uint8Array;
  readonly mimeType: string;
}
