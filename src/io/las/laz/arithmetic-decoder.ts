/**
 * Adaptive arithmetic decoding as LAZ uses it: 32-bit interval, byte-wise renormalisation, models that are
 * refreshed at growing intervals (A. Said, "Introduction to Arithmetic Coding", HP Labs 2004; parameters of
 * M. Isenburg, "LASzip: lossless compression of LiDAR data", PE&RS 79(2), 2013).
 *
 * Speed: the interval lives in a Uint32Array, products go through Math.imul and quotients are cut with `>>> 0`, so that
 * engines stay in 32-bit integers; as plain number fields (which turn into boxed doubles) it was half as fast.
 */
const MINIMUM_LENGTH = 0x01000000;
const BIT_SHIFT = 13;
const SYMBOL_SHIFT = 15;
const MAXIMUM_BIT_COUNT = 1 << BIT_SHIFT;
const MAXIMUM_SYMBOL_COUNT = 1 << SYMBOL_SHIFT;
/** From this many symbols on a table gives the first guess of the search. */
const TABLE_FROM = 17;
/** Places in the state of a decoder. */
const VALUE = 0;
const LENGTH = 1;

/** Compressed bytes that cannot be what their file says they are. Turned into an InputError by the reader of the file. */
export class CorruptStream extends Error {
  override readonly name = 'CorruptStream';
}

/** A model of one bit. */
export class BitModel {
  zeroCount = 1;
  bitCount = 2;
  zeroProbability = 1 << (BIT_SHIFT - 1);
  updateCycle = 4;
  bitsUntilUpdate = 4;

  update(): void {
    this.bitCount += this.updateCycle;
    if (this.bitCount > MAXIMUM_BIT_COUNT) {
      this.bitCount = (this.bitCount + 1) >> 1;
      this.zeroCount = (this.zeroCount + 1) >> 1;
      if (this.zeroCount === this.bitCount) this.bitCount++;
    }
    const scale = (0x80000000 / this.bitCount) >>> 0;
    this.zeroProbability = Math.imul(this.zeroCount, scale) >>> (31 - BIT_SHIFT);
    this.updateCycle = Math.min(64, (5 * this.updateCycle) >> 2);
    this.bitsUntilUpdate = this.updateCycle;
  }
}

/** A model of `symbolCount` symbols. */
export class SymbolModel {
  readonly lastSymbol: number;
  readonly distribution: Uint16Array;
  readonly counts: Uint16Array;
  /** First guesses by the high bits of the position; of one entry for small models. */
  readonly table: Uint16Array;
  readonly tableShift: number;
  /** Highest entry of the table that has a successor; 0 for small models. */
  readonly tableSize: number;
  private readonly maximumCycle: number;
  private totalCount = 0;
  private updateCycle: number;
  symbolsUntilUpdate = 0;

  constructor(readonly symbolCount: number) {
    this.lastSymbol = symbolCount - 1;
    let tableBits = 0;
    if (symbolCount >= TABLE_FROM) {
      tableBits = 3;
      while (symbolCount > 1 << (tableBits + 2)) tableBits++;
    }
    this.tableSize = tableBits === 0 ? 0 : 1 << tableBits;
    this.tableShift = SYMBOL_SHIFT - tableBits;
    this.table = new Uint16Array(this.tableSize + 2);
    this.distribution = new Uint16Array(symbolCount);
    this.counts = new Uint16Array(symbolCount).fill(1);
    this.maximumCycle = (symbolCount + 6) << 3;
    this.updateCycle = symbolCount;
    this.update();
    this.updateCycle = (symbolCount + 6) >> 1;
    this.symbolsUntilUpdate = this.updateCycle;
  }

  update(): void {
    const { counts, distribution, symbolCount } = this;
    let total = this.totalCount + this.updateCycle;
    if (total > MAXIMUM_SYMBOL_COUNT) {
      total = 0;
      for (let symbol = 0; symbol < symbolCount; symbol++) {
        const halved = (counts[symbol]! + 1) >> 1;
        counts[symbol] = halved;
        total += halved;
      }
    }
    this.totalCount = total;
    const scale = (0x80000000 / total) >>> 0;
    let sum = 0;
    for (let symbol = 0; symbol < symbolCount; symbol++) {
      distribution[symbol] = Math.imul(scale, sum) >>> (31 - SYMBOL_SHIFT);
      sum += counts[symbol]!;
    }
    if (this.tableSize > 0) this.fillTable();
    this.updateCycle = Math.min(this.maximumCycle, (5 * this.updateCycle) >> 2);
    this.symbolsUntilUpdate = this.updateCycle;
  }

  private fillTable(): void {
    const { table, tableSize, tableShift, distribution, symbolCount } = this;
    let filled = 0;
    for (let symbol = 0; symbol < symbolCount; symbol++) {
      const reached = distribution[symbol]! >>> tableShift;
      while (filled < reached) table[++filled] = symbol - 1;
    }
    while (filled <= tableSize) table[++filled] = symbolCount - 1;
  }
}

/** Reads symbols and raw bits from one run of compressed bytes. */
export class ArithmeticDecoder {
  private readonly state = new Uint32Array(2);
  private at: number;

  /**
   * @param begin, @param end  The run within `bytes`. Encoders pad a run so that its decoder ends exactly at `end`
   *   (seen in every file of ten different writers); reading past it throws CorruptStream.
   */
  constructor(private readonly bytes: Uint8Array, begin: number, private readonly end: number) {
    if (end - begin < 4 || end > bytes.length) throw new CorruptStream('compressed bytes end before they start');
    this.state[VALUE] = (bytes[begin]! << 24) | (bytes[begin + 1]! << 16) | (bytes[begin + 2]! << 8) | bytes[begin + 3]!;
    this.state[LENGTH] = 0xffffffff;
    this.at = begin + 4;
  }

  /** First byte not yet used. */
  get position(): number {
    return this.at;
  }

  /** @throws CorruptStream when bytes are left over. */
  expectEnd(): void {
    if (this.at !== this.end) throw new CorruptStream('compressed bytes are damaged: they do not end where their points end');
  }

  decodeBit(model: BitModel): number {
    const { state } = this;
    const length = state[LENGTH]!;
    const value = state[VALUE]!;
    const split = Math.imul(model.zeroProbability, length >>> BIT_SHIFT) >>> 0;
    const bit = value >= split ? 1 : 0;
    let rest = split;
    if (bit === 1) {
      state[VALUE] = value - split;
      rest = (length - split) >>> 0;
    } else {
      model.zeroCount++;
    }
    if (rest < MINIMUM_LENGTH) this.renormalise(rest);
    else state[LENGTH] = rest;
    if (--model.bitsUntilUpdate === 0) model.update();
    return bit;
  }

  decodeSymbol(model: SymbolModel): number {
    const { state } = this;
    const { distribution, counts, tableSize } = model;
    const length = state[LENGTH]!;
    const value = state[VALUE]!;
    const step = length >>> SYMBOL_SHIFT;
    const position = (value / step) >>> 0;
    let symbol = 0;
    let above = model.symbolCount;
    if (tableSize > 0) {
      // Beyond the last entry only by rounding, or in damaged bytes.
      const entry = Math.min(position >>> model.tableShift, tableSize);
      symbol = model.table[entry]!;
      above = model.table[entry + 1]! + 1;
    }
    while (above > symbol + 1) {
      const middle = (symbol + above) >>> 1;
      if (distribution[middle]! > position) above = middle;
      else symbol = middle;
    }
    const low = Math.imul(distribution[symbol]!, step) >>> 0;
    const high = symbol === model.lastSymbol ? length : Math.imul(distribution[symbol + 1]!, step) >>> 0;
    state[VALUE] = value - low;
    const rest = (high - low) >>> 0;
    if (rest < MINIMUM_LENGTH) this.renormalise(rest);
    else state[LENGTH] = rest;
    counts[symbol]!++;
    if (--model.symbolsUntilUpdate === 0) model.update();
    return symbol;
  }

  /** @param bitCount  1 to 32. @returns Unsigned. */
  readBits(bitCount: number): number {
    if (bitCount <= 19) return this.readFew(bitCount);
    const low = this.readFew(16);
    return ((this.readFew(bitCount - 16) << 16) | low) >>> 0;
  }

  readInt32(): number {
    const low = this.readFew(16);
    return (this.readFew(16) << 16) | low;
  }

  private readFew(bitCount: number): number {
    const { state } = this;
    const step = state[LENGTH]! >>> bitCount;
    const value = state[VALUE]!;
    const bits = (value / step) >>> 0;
    state[VALUE] = value - Math.imul(step, bits);
    if (step < MINIMUM_LENGTH) this.renormalise(step);
    else state[LENGTH] = step;
    return bits;
  }

  private renormalise(length: number): void {
    const { bytes, end, state } = this;
    if (length === 0) throw new CorruptStream('compressed bytes are damaged');
    let value = state[VALUE]!;
    let at = this.at;
    let rest = length;
    do {
      if (at >= end) throw new CorruptStream('compressed bytes end before their points do');
      value = (value << 8) | bytes[at++]!;
      rest = (rest << 8) >>> 0;
    } while (rest < MINIMUM_LENGTH);
    state[VALUE] = value;
    state[LENGTH] = rest;
    this.at = at;
  }
}
