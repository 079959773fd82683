import { SymbolModel, type ArithmeticDecoder } from './arithmetic-decoder.ts';
import { IntegerDecompressor } from './integer-decompressor.ts';
import { ModelBank, type PointwiseItem } from './item.ts';

/** Version 1 of the codings of formats 0 to 3: files of the years before 2011, one run for all points. */

/** Highest context of size class in version 1. */
const HIGHEST_CLASS = 19;
const bit = { source: 1, userData: 2, scanAngle: 4, classification: 8, returns: 16, intensity: 32 } as const;

export class Point10First implements PointwiseItem {
  private readonly last = new DataView(new ArrayBuffer(20));
  private readonly differencesX = new Int32Array(3);
  private readonly differencesY = new Int32Array(3);
  private oldest = 0;
  private readonly changedModel = new SymbolModel(64);
  private readonly returnsModels = new ModelBank(256);
  private readonly classModels = new ModelBank(256);
  private readonly userDataModels = new ModelBank(256);
  private readonly xs = new IntegerDecompressor(32, 1);
  private readonly ys = new IntegerDecompressor(32, 20);
  private readonly zs = new IntegerDecompressor(32, 20);
  private readonly intensities = new IntegerDecompressor(16, 1);
  private readonly scanAngles = new IntegerDecompressor(8, 2);
  private readonly sources = new IntegerDecompressor(16, 1);

  start(record: DataView, at: number): void {
    for (let byte = 0; byte < 20; byte++) this.last.setUint8(byte, record.getUint8(at + byte));
  }

  next(decoder: ArithmeticDecoder, record: DataView, at: number): void {
    const { last } = this;
    const differenceX = this.xs.decompress(decoder, medianOfThree(this.differencesX), 0);
    const differenceY = this.ys.decompress(decoder, medianOfThree(this.differencesY), Math.min(this.xs.lastClass, HIGHEST_CLASS));
    const size = (this.xs.lastClass + this.ys.lastClass) >> 1;
    last.setInt32(0, last.getInt32(0, true) + differenceX, true);
    last.setInt32(4, last.getInt32(4, true) + differenceY, true);
    last.setInt32(8, this.zs.decompress(decoder, last.getInt32(8, true), Math.min(size, HIGHEST_CLASS)), true);
    this.differencesX[this.oldest] = differenceX;
    this.differencesY[this.oldest] = differenceY;
    this.oldest = (this.oldest + 1) % 3;
    const differs = decoder.decodeSymbol(this.changedModel);
    if (differs !== 0) this.readAttributes(decoder, differs, size);
    for (let byte = 0; byte < 20; byte++) record.setUint8(at + byte, last.getUint8(byte));
  }

  private readAttributes(decoder: ArithmeticDecoder, differs: number, size: number): void {
    const { last } = this;
    const recode = (at: number, models: ModelBank): void => last.setUint8(at, decoder.decodeSymbol(models.at(last.getUint8(at))));
    if ((differs & bit.intensity) !== 0) last.setUint16(12, this.intensities.decompress(decoder, last.getUint16(12, true), 0), true);
    if ((differs & bit.returns) !== 0) recode(14, this.returnsModels);
    if ((differs & bit.classification) !== 0) recode(15, this.classModels);
    if ((differs & bit.scanAngle) !== 0) last.setUint8(16, this.scanAngles.decompress(decoder, last.getUint8(16), size < 3 ? 1 : 0));
    if ((differs & bit.userData) !== 0) recode(17, this.userDataModels);
    if ((differs & bit.source) !== 0) last.setUint16(18, this.sources.decompress(decoder, last.getUint16(18, true), 0), true);
  }
}

function medianOfThree(values: Int32Array): number {
  const [a, b, c] = [values[0]!, values[1]!, values[2]!];
  return Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));
}

const TIME_SYMBOLS = 512;

export class GpsTime11First implements PointwiseItem {
  private time = 0n;
  private difference = 0;
  private extremes = 0;
  private readonly firstModel = new SymbolModel(3);
  private readonly multipleModel = new SymbolModel(TIME_SYMBOLS);
  private readonly numbers = new IntegerDecompressor(32, 6);

  start(record: DataView, at: number): void {
    this.time = record.getBigInt64(at, true);
  }

  next(decoder: ArithmeticDecoder, record: DataView, at: number): void {
    if (this.difference === 0) this.readFirst(decoder);
    else this.readMultiple(decoder);
    record.setBigInt64(at, this.time, true);
  }

  private readFirst(decoder: ArithmeticDecoder): void {
    const code = decoder.decodeSymbol(this.firstModel);
    if (code === 1) {
      this.difference = this.numbers.decompress(decoder, 0, 0);
      this.time += BigInt(this.difference);
    } else if (code === 2) {
      this.time = readTime(decoder);
    }
  }

  private readMultiple(decoder: ArithmeticDecoder): void {
    const multiple = decoder.decodeSymbol(this.multipleModel);
    if (multiple === TIME_SYMBOLS - 1) return;
    if (multiple === TIME_SYMBOLS - 2) {
      this.time = readTime(decoder);
      return;
    }
    const prediction = multiple === 0 ? Math.trunc(this.difference / 4) : Math.imul(multiple, this.difference);
    const context = multiple === 0 ? 2 : multiple === 1 ? 1 : multiple < 10 ? 3 : multiple < 50 ? 4 : 5;
    const step = this.numbers.decompress(decoder, prediction, context);
    if (multiple === 1) {
      this.difference = step;
      this.extremes = 0;
    } else if ((multiple === 0 || multiple === TIME_SYMBOLS - 3) && ++this.extremes > 3) {
      this.difference = step;
      this.extremes = 0;
    }
    this.time += BigInt(step);
  }
}

function readTime(decoder: ArithmeticDecoder): bigint {
  const low = decoder.readInt32() >>> 0;
  return (BigInt(decoder.readInt32()) << 32n) | BigInt(low);
}

export class Colour12First implements PointwiseItem {
  private readonly last = new Uint8Array(6);
  private readonly usedModel = new SymbolModel(64);
  private readonly bytes = new IntegerDecompressor(8, 6);

  start(record: DataView, at: number): void {
    for (let byte = 0; byte < 6; byte++) this.last[byte] = record.getUint8(at + byte);
  }

  next(decoder: ArithmeticDecoder, record: DataView, at: number): void {
    const used = decoder.decodeSymbol(this.usedModel);
    for (let byte = 0; byte < 6; byte++) {
      if ((used & (1 << byte)) !== 0) this.last[byte] = this.bytes.decompress(decoder, this.last[byte]!, byte);
      record.setUint8(at + byte, this.last[byte]!);
    }
  }
}

export class ExtraBytesFirst implements PointwiseItem {
  private readonly last: Uint8Array;
  private readonly bytes: IntegerDecompressor;

  constructor(size: number) {
    this.last = new Uint8Array(size);
    this.bytes = new IntegerDecompressor(8, size);
  }

  start(record: DataView, at: number): void {
    for (let byte = 0; byte < this.last.length; byte++) this.last[byte] = record.getUint8(at + byte);
  }

  next(decoder: ArithmeticDecoder, record: DataView, at: number): void {
    for (let byte = 0; byte < this.last.length; byte++) {
      this.last[byte] = this.bytes.decompress(decoder, this.last[byte]!, byte);
      record.setUint8(at + byte, this.last[byte]!);
    }
  }
}
