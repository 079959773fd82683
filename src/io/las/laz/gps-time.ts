import { SymbolModel, type ArithmeticDecoder } from './arithmetic-decoder.ts';
import { IntegerDecompressor } from './integer-decompressor.ts';
import type { PointwiseItem } from './item.ts';

/** Multiples of the last difference that have a symbol: -10 to 500. */
const HIGHEST_MULTIPLE = 500;
const LOWEST_MULTIPLE = -10;
/** First symbol past the multiples. */
const PAST_MULTIPLES = HIGHEST_MULTIPLE - LOWEST_MULTIPLE + 1;
/** An extreme multiple this often in a row becomes the new difference. */
const PATIENCE = 3;
/** Four interleaved sequences of times are remembered. */
const SEQUENCES = 4;
const TWO_32 = 4294967296;

/**
 * Times are 64-bit numbers whose bit patterns, taken as integers, grow evenly: differences are coded as a multiple of
 * the one before, in one of four sequences (LASzip, gpstime11 version 2; point14 version 3 uses the same coding
 * without the symbol for "unchanged", which there stands elsewhere).
 */
export class GpsTimes {
  private current = 0;
  private newest = 0;
  private readonly high = new Int32Array(SEQUENCES);
  private readonly low = new Uint32Array(SEQUENCES);
  private readonly difference = new Int32Array(SEQUENCES);
  private readonly extremes = new Uint8Array(SEQUENCES);
  private readonly firstModel: SymbolModel;
  private readonly multipleModel: SymbolModel;
  private readonly numbers = new IntegerDecompressor(32, 9);

  /** @param unchangedSymbols  1 where "unchanged" has a symbol of its own, 0 where it has not. */
  constructor(private readonly unchangedSymbols: 0 | 1) {
    this.firstModel = new SymbolModel(5 + unchangedSymbols);
    this.multipleModel = new SymbolModel(PAST_MULTIPLES + SEQUENCES + unchangedSymbols);
  }

  start(record: DataView, at: number): void {
    this.low[0] = record.getUint32(at, true);
    this.high[0] = record.getInt32(at + 4, true);
  }

  write(record: DataView, at: number): void {
    record.setUint32(at, this.low[this.current]!, true);
    record.setInt32(at + 4, this.high[this.current]!, true);
  }

  next(decoder: ArithmeticDecoder): void {
    // A switch of sequence is followed by the code of the time in it.
    while (this.difference[this.current] === 0 ? this.readFirst(decoder) : this.readMultiple(decoder));
  }

  /** @returns True when only the sequence was switched. */
  private readFirst(decoder: ArithmeticDecoder): boolean {
    const code = decoder.decodeSymbol(this.firstModel) - this.unchangedSymbols;
    if (code < 0) return false;
    if (code > 0) return this.readFullOrSwitch(decoder, code - 1);
    this.difference[this.current] = this.numbers.decompress(decoder, 0, 0);
    this.advance(this.difference[this.current]!);
    this.extremes[this.current] = 0;
    return false;
  }

  private readMultiple(decoder: ArithmeticDecoder): boolean {
    const code = decoder.decodeSymbol(this.multipleModel);
    if (code >= PAST_MULTIPLES) {
      const past = code - PAST_MULTIPLES - this.unchangedSymbols;
      return past < 0 ? false : this.readFullOrSwitch(decoder, past);
    }
    const multiple = code <= HIGHEST_MULTIPLE ? code : HIGHEST_MULTIPLE - code;
    const last = this.difference[this.current]!;
    const step = this.numbers.decompress(decoder, Math.imul(multiple, last), contextOf(multiple));
    if (multiple === 1) {
      this.extremes[this.current] = 0;
    } else if ((multiple === 0 || multiple === HIGHEST_MULTIPLE || multiple === LOWEST_MULTIPLE) && ++this.extremes[this.current]! > PATIENCE) {
      this.difference[this.current] = step;
      this.extremes[this.current] = 0;
    }
    this.advance(step);
    return false;
  }

  /** @param code  0: a whole new time; else how many sequences ahead. */
  private readFullOrSwitch(decoder: ArithmeticDecoder, code: number): boolean {
    if (code > 0) {
      this.current = (this.current + code) % SEQUENCES;
      return true;
    }
    const high = this.numbers.decompress(decoder, this.high[this.current]!, 8);
    this.newest = (this.newest + 1) % SEQUENCES;
    this.high[this.newest] = high;
    this.low[this.newest] = decoder.readInt32();
    this.current = this.newest;
    this.difference[this.current] = 0;
    this.extremes[this.current] = 0;
    return false;
  }

  private advance(step: number): void {
    const sum = this.low[this.current]! + step;
    this.low[this.current] = sum;
    this.high[this.current]! += Math.floor(sum / TWO_32);
  }
}

/** Context of the correction by multiple of the last difference. */
function contextOf(multiple: number): number {
  if (multiple === 0) return 7;
  if (multiple === 1) return 1;
  if (multiple === HIGHEST_MULTIPLE) return 4;
  if (multiple === LOWEST_MULTIPLE) return 6;
  if (multiple < 0) return 5;
  return multiple < 10 ? 2 : 3;
}

/** The 8 bytes of time of formats 1, 3, 4 and 5, version 2 of their coding. */
export class GpsTime11 implements PointwiseItem {
  private readonly times = new GpsTimes(1);

  start(record: DataView, at: number): void {
    this.times.start(record, at);
  }

  next(decoder: ArithmeticDecoder, record: DataView, at: number): void {
    this.times.next(decoder);
    this.times.write(record, at);
  }
}
