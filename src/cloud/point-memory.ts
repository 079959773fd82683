/**
 * Arrays that threads may share. Shared memory is seen by all threads at once, so that what is sent to a thread is not
 * copied there; it cannot be moved to another owner nor stored as it is, which is why only those ask for it who will do neither.
 */
export type SharableArray = Float64Array | Float32Array | Int32Array | Uint32Array | Uint16Array | Uint8Array;

/** @param length  Numbers, not bytes. @throws ReferenceError for shared memory where a page may not have it. */
export function roomFor<Values extends SharableArray>(
  make: { new (buffer: ArrayBufferLike): Values; readonly BYTES_PER_ELEMENT: number },
  length: number,
  shared: boolean,
): Values {
  const bytes = length * make.BYTES_PER_ELEMENT;
  return new make(shared ? new SharedArrayBuffer(bytes) : new ArrayBuffer(bytes));
}

/** Asked this way round because a page that may not share memory has no class of that name. */
export const isShared = ({ buffer }: SharableArray): boolean => !(buffer instanceof ArrayBuffer);

/** The same array where it is shared already, else a copy that all threads see. */
export function inSharedMemory<Values extends SharableArray>(values: Values): Values {
  if (isShared(values)) return values;
  const copy = new (values.constructor as new (buffer: SharedArrayBuffer) => Values)(new SharedArrayBuffer(values.byteLength));
  copy.set(values);
  return copy;
}
