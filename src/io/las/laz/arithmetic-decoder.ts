/**
 * Adaptive arithmetic decoding as LAZ uses it: 32-bit interval, byte-wise renormalisation, models that are
 * refreshed at growing intervals (A. Said, "Introduction to Arithmetic Coding", HP Labs 2004; parameters of
 * M. Isenburg, "LASzip: lossless compression of LiDAR data", PE&RS 79(2), 2013).
 */
const MINIMUM_LENGTH = 0x01000000;
const BIT_SHIFT = 13;
const SYMBOL_SHIFT = 15;
const MAXIMUM_BIT_COUNT = 1 << BIT_SHIFT;
const MAXIMUM_SYMBOL_COUNT = 1 << SYMBOL_SHIFT;
/** From this many symbols on a table gives the first guess of the search. */
const TABLE_FROM = 17;
/** The decoder looks up to this far ahead of what it needs; zeros are read there. [bytes] */
const LOOK_AHEAD = 8;

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
    const scale = Math.floor(0x80000000 / this.bitCount);
    this.zeroProbability = (this.zeroCount * scale) >>> (31 - BIT_SHIFT);
    this.updateCycle = Math.min(64, (5 * this.updateCycle) >> 2);
    this.bitsUntilUpdate = this.updateCycle;
  }
}

/** A model of `symbolCount` symbols. */
export class SymbolModel {
  readonly lastSymbol: number;
  readonly distribution: Uint32Array;
  readonly counts: Uint32Array;
  /** First guesses by the high bits of the position; empty for small models. */
  readonly table: Uint32Array;
  readonly tableShift: number;
  private readonly tableSize: number;
  private readonly maximumCycle: number;
  private totalCount = 0;
  private updateCycle: number;
  symbolsUntilUpdate: number;

  constructor(readonly symbolCount: number) {
    this.lastSymbol = symbolCount - 1;
    let tableBits = 0;
    if (symbolCount >= TABLE_FROM) {
      tableBits = 3;
      while (symbolCount > 1 << (tableBits + 2)) tableBits++;
    }
    this.tableSize = tableBits === 0 ? 0 : 1 << tableBits;
    this.tableShift = SYMBOL_SHIFT - tableBits;
    this.table = new Uint32Array(tableBits === 0 ? 0 : this.tableSize + 2);
    this.distribution = new Uint32Array(symbolCount);
    this.counts = new Uint32Array(symbolCount).fill(1);
    this.maximumCycle = (symbolCount + 6) << 3;
    this.updateCycle = symbolCount;
    this.symbolsUntilUpdate = 0;
    this.update();
    this.updateCycle = (symbolCount + 6) >> 1;
    this.symbolsUntilUpdate = this.updateCycle;
  }

  update(): void {
    const { counts, distribution, table, tableShift, symbolCount } = this;
    this.totalCount += this.updateCycle;
    if (this.totalCount > MAXIMUM_SYMBOL_COUNT) {
      this.totalCount = 0;
      for (let symbol = 0; symbol < symbolCount; symbol++) {
        this.totalCount += counts[symbol] = (counts[symbol]! + 1) >> 1;
      }
    }
    const scale = Math.floor(0x80000000 / this.totalCount);
    let sum = 0;
    let filled = 0;
    for (let symbol = 0; symbol < symbolCount; symbol++) {
      const low = (scale * sum) >>> (31 - SYMBOL_SHIFT);
      distribution[symbol] = low;
      sum += counts[symbol]!;
      if (this.tableSize > 0) {
        const reached = low >>> tableShift;
        while (filled < reached) table[++filled] = symbol - 1;
      }
    }
    if (this.tableSize > 0) {
      table[0] = 0;
      while (filled <= this.tableSize) table[++filled] = symbolCount - 1;
    }
    this.updateCycle = Math.min(this.maximumCycle, (5 * this.updateCycle) >> 2);
    this.symbolsUntilUpdate = this.updateCycle;
  }
}

/** Reads symbols and raw bits from one run of compressed bytes. */
export class ArithmeticDecoder {
  private value: number;
  private length = 0xffffffff;
  private at: number;

  /** @param begin, @param end  The run within `bytes`; reading far past its end throws CorruptStream. */
  constructor(private readonly bytes: Uint8Array, begin: number, private readonly end: number) {
    if (end - begin < 4 || end > bytes.length) throw new CorruptStream('compressed bytes end before they start');
    this.value = ((bytes[begin]! << 24) | (bytes[begin + 1]! << 16) | (bytes[begin + 2]! << 8) | bytes[begin + 3]!) >>> 0;
    this.at = begin + 4;
  }

  decodeBit(model: BitModel): number {
    const split = model.zeroProbability * (this.length >>> BIT_SHIFT);
    let bit = 0;
    if (this.value >= split) {
      bit = 1;
      this.value -= split;
      this.length -= split;
    } else {
      this.length = split;
      model.zeroCount++;
    }
    if (this.length < MINIMUM_LENGTH) this.renormalise();
    if (--model.bitsUntilUpdate === 0) model.update();
    return bit;
  }

  decodeSymbol(model: SymbolModel): number {
    const { distribution } = model;
    const step = this.length >>> SYMBOL_SHIFT;
    const position = Math.trunc(this.value / step);
    let symbol = 0;
    let above = model.symbolCount;
    if (model.table.length > 0) {
      const entry = position >>> model.tableShift;
      // A position outside the interval only comes from damaged bytes; the search below then ends at the last symbol.
      if (entry + 1 < model.table.length) {
        symbol = model.table[entry]!;
        above = model.table[entry + 1]! + 1;
      }
    }
    while (above > symbol + 1) {
      const middle = (symbol + above) >> 1;
      if (distribution[middle]! > position) above = middle;
      else symbol = middle;
    }
    const low = distribution[symbol]! * step;
    const high = symbol === model.lastSymbol ? this.length : distribution[symbol + 1]! * step;
    this.value -= low;
    this.length = high - low;
    if (this.length < MINIMUM_LENGTH) this.renormalise();
    model.counts[symbol]!++;
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
    this.length >>>= bitCount;
    const bits = Math.trunc(this.value / this.length);
    this.value -= this.length * bits;
    if (this.length < MINIMUM_LENGTH) this.renormalise();
    return bits;
  }

  private renormalise(): void {
    do {
      this.value = ((this.value << 8) | (this.at < this.end ? this.bytes[this.at]! : 0)) >>> 0;
      this.at++;
      this.length = (this.length << 8) >>> 0;
      if (this.length === 0) throw new CorruptStream('compressed bytes are damaged');
    } while (this.length < MINIMUM_LENGTH);
    if (this.at > this.end + LOOK_AHEAD) throw new CorruptStream('compressed bytes end before their points do');
  }
}
