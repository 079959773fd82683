/** A triangle mesh as read, in source coordinates; kept for drawing and picking, and sampled by area for measuring. */
export interface Mesh {
  /** x, y, z, `n × 3`, source coordinates and unit. */
  readonly positions: Float64Array;
  /** Three vertex numbers a triangle. */
  readonly triangles: Uint32Array;
  /** Red, green, blue per vertex, 0 to 255. */
  readonly colours: Uint8Array | null;
  /** u, v per vertex. */
  readonly textureCoordinates: Float32Array | null;
  readonly texture: { readonly bytes: Uint8Array; readonly mimeType: string } | null;
}
