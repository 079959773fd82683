import { SymbolModel, type ArithmeticDecoder } from './arithmetic-decoder.ts';
import { IntegerDecompressor } from './integer-decompressor.ts';
import { ModelBank, symbolModels, type PointwiseItem } from './item.ts';
import { runningMedians } from './running-median.ts';

/** Context by number of returns, then return number (LASzip, point10 version 2). */
const RETURN_MAP = [
  [15, 14, 13, 12, 11, 10, 9, 8],
  [14, 0, 1, 3, 6, 10, 10, 9],
  [13, 1, 2, 4, 7, 11, 11, 10],
  [12, 3, 4, 5, 8, 12, 12, 11],
  [11, 6, 7, 8, 9, 13, 13, 12],
  [10, 10, 11, 12, 13, 14, 14, 13],
  [9, 10, 11, 12, 13, 14, 15, 14],
  [8, 9, 10, 11, 12, 13, 14, 15],
].flat();

/** Bits of the symbol that says which fields differ from the point before. */
const changed = { source: 1, userData: 2, scanAngle: 4, classification: 8, intensity: 16, returns: 32 } as const;

/** The 20 bytes all formats 0 to 5 begin with, version 2 of their coding. */
export class Point10 implements PointwiseItem {
  private x = 0;
  private y = 0;
  private z = 0;
  private intensity = 0;
  private returns = 0;
  private classification = 0;
  private scanAngle = 0;
  private userData = 0;
  private source = 0;
  private readonly lastIntensity = new Uint16Array(16);
  private readonly lastHeight = new Int32Array(8);
  private readonly medianX = runningMedians(16);
  private readonly medianY = runningMedians(16);
  private readonly changedModel = new SymbolModel(64);
  private readonly scanAngleModels = symbolModels(2, 256);
  private readonly returnsModels = new ModelBank(256);
  private readonly classModels = new ModelBank(256);
  private readonly userDataModels = new ModelBank(256);
  private readonly intensities = new IntegerDecompressor(16, 4);
  private readonly sources = new IntegerDecompressor(16, 1);
  private readonly xs = new IntegerDecompressor(32, 2);
  private readonly ys = new IntegerDecompressor(32, 22);
  private readonly zs = new IntegerDecompressor(32, 20);

  start(record: DataView, at: number): void {
    this.x = record.getInt32(at, true);
    this.y = record.getInt32(at + 4, true);
    this.z = record.getInt32(at + 8, true);
    // The coding starts from intensity 0, whatever the first point has.
    this.intensity = 0;
    this.returns = record.getUint8(at + 14);
    this.classification = record.getUint8(at + 15);
    this.scanAngle = record.getUint8(at + 16);
    this.userData = record.getUint8(at + 17);
    this.source = record.getUint16(at + 18, true);
  }

  next(decoder: ArithmeticDecoder, record: DataView, at: number): void {
    const differs = decoder.decodeSymbol(this.changedModel);
    if ((differs & changed.returns) !== 0) this.returns = decoder.decodeSymbol(this.returnsModels.at(this.returns));
    const returnNumber = this.returns & 7;
    const returnCount = (this.returns >> 3) & 7;
    const context = RETURN_MAP[returnCount * 8 + returnNumber]!;
    if (differs !== 0) this.readAttributes(decoder, differs, context);
    this.readPosition(decoder, context, Math.abs(returnCount - returnNumber), returnCount === 1 ? 1 : 0);
    record.setInt32(at, this.x, true);
    record.setInt32(at + 4, this.y, true);
    record.setInt32(at + 8, this.z, true);
    record.setUint16(at + 12, this.intensity, true);
    record.setUint8(at + 14, this.returns);
    record.setUint8(at + 15, this.classification);
    record.setUint8(at + 16, this.scanAngle);
    record.setUint8(at + 17, this.userData);
    record.setUint16(at + 18, this.source, true);
  }

  private readAttributes(decoder: ArithmeticDecoder, differs: number, context: number): void {
    this.intensity = this.lastIntensity[context]!;
    if ((differs & changed.intensity) !== 0) {
      this.intensity = this.intensities.decompress(decoder, this.intensity, Math.min(context, 3));
      this.lastIntensity[context] = this.intensity;
    }
    if ((differs & changed.classification) !== 0) this.classification = decoder.decodeSymbol(this.classModels.at(this.classification));
    if ((differs & changed.scanAngle) !== 0) {
      const direction = (this.returns >> 6) & 1;
      this.scanAngle = (this.scanAngle + decoder.decodeSymbol(this.scanAngleModels[direction]!)) & 255;
    }
    if ((differs & changed.userData) !== 0) this.userData = decoder.decodeSymbol(this.userDataModels.at(this.userData));
    if ((differs & changed.source) !== 0) this.source = this.sources.decompress(decoder, this.source, 0);
  }

  private readPosition(decoder: ArithmeticDecoder, context: number, level: number, single: 0 | 1): void {
    const medianX = this.medianX[context]!;
    const differenceX = this.xs.decompress(decoder, medianX.middle, single);
    this.x = (this.x + differenceX) | 0;
    medianX.add(differenceX);
    const medianY = this.medianY[context]!;
    const differenceY = this.ys.decompress(decoder, medianY.middle, single + evenUpTo(this.xs.lastClass, 20));
    this.y = (this.y + differenceY) | 0;
    medianY.add(differenceY);
    const size = (this.xs.lastClass + this.ys.lastClass) >> 1;
    this.z = this.zs.decompress(decoder, this.lastHeight[level]!, single + evenUpTo(size, 18));
    this.lastHeight[level] = this.z;
  }
}

/** Size class with its lowest bit cleared, at most `limit`: contexts in pairs, the odd one for single returns. */
export const evenUpTo = (size: number, limit: number): number => (size < limit ? size & ~1 : limit);
