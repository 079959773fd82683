/**
 * Room for the positions of a cell. Shared memory is seen by all threads at once, so that a cell sent to a thread is not
 * copied there; it cannot be moved to another owner nor stored as it is, which is why only those ask for it who will do neither.
 *
 * @param length  Numbers, not bytes.
 */
export const roomForFloats = (length: number, shared: boolean): Float32Array =>
  new Float32Array(shared ? new SharedArrayBuffer(length * Float32Array.BYTES_PER_ELEMENT) : new ArrayBuffer(length * Float32Array.BYTES_PER_ELEMENT));

/** Room for the labels of points, shared where their positions are. */
export function roomForLabels(positions: Float32Array): Uint16Array {
  const bytes = (positions.length / 3) * Uint16Array.BYTES_PER_ELEMENT;
  // Asked this way round because a page that may not share memory has no class of that name.
  const shared = !(positions.buffer instanceof ArrayBuffer);
  return new Uint16Array(shared ? new SharedArrayBuffer(bytes) : new ArrayBuffer(bytes));
}

export type SharableArray = Float64Array | Int32Array | Uint32Array | Uint16Array;

/** A copy that all threads see. @throws ReferenceError where memory cannot be shared. */
export function sharedCopy<Values extends SharableArray>(values: Values): Values {
  const copy = new (values.constructor as new (buffer: SharedArrayBuffer) => Values)(new SharedArrayBuffer(values.byteLength));
  copy.set(values);
  return copy;
}
