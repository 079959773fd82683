type Numbers = Float64Array<ArrayBuffer> | Uint32Array<ArrayBuffer> | Uint16Array<ArrayBuffer> | Uint8Array<ArrayBuffer> | Float32Array<ArrayBuffer>;

/** A typed array whose final length is not known beforehand. */
export class GrowingArray<Kind extends Numbers> {
  length = 0;
  /** Entries from `length` on mean nothing. */
  values: Kind;

  constructor(private readonly make: new (length: number) => Kind, capacity = 1024) {
    this.values = new make(Math.max(1, capacity));
  }

  push(value: number): void {
    if (this.length === this.values.length) this.reserve(this.length + 1);
    this.values[this.length++] = value;
  }

  /** Makes room for `length` entries in all. */
  reserve(length: number): void {
    if (length <= this.values.length) return;
    const larger = new this.make(Math.max(length, this.values.length * 2));
    larger.set(this.values);
    this.values = larger;
  }

  /** A copy of what is there, or the array itself when it is full. */
  finish(): Kind {
    return (this.length === this.values.length ? this.values : this.values.slice(0, this.length)) as Kind;
  }
}
