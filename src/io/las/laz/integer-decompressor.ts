import { BitModel, SymbolModel, type ArithmeticDecoder } from './arithmetic-decoder.ts';

/** How many leading bits of a correction have a model; the rest are raw. (Isenburg 2013, "bits high") */
const MODELLED_BITS = 8;

/**
 * Predictive coding of whole numbers: the decoder gets `k`, the size class of the correction to a prediction, then the
 * correction among the 2^k values of that class (Isenburg 2013, section "Compressing integers").
 */
export class IntegerDecompressor {
  /** Size class of the last correction: a hint at how well predictions do, used to pick contexts elsewhere. */
  lastClass = 0;
  private readonly range: number;
  private readonly classModels: readonly SymbolModel[];
  private readonly zeroModel = new BitModel();
  private readonly correctionModels: (SymbolModel | null)[];

  /** @param bitCount  Width of the numbers: 8, 16 or 32. @param contextCount  How many models of the size class. */
  constructor(bitCount: number, contextCount: number) {
    // At 32 bits the sum wraps by itself.
    this.range = bitCount < 32 ? 1 << bitCount : 0;
    this.classModels = Array.from({ length: contextCount }, () => new SymbolModel(bitCount + 1));
    this.correctionModels = Array.from({ length: bitCount + 1 }, () => null);
  }

  decompress(decoder: ArithmeticDecoder, prediction: number, context: number): number {
    const value = prediction + this.readCorrection(decoder, this.classModels[context]!);
    if (this.range === 0) return value | 0;
    if (value < 0) return value + this.range;
    return value >= this.range ? value - this.range : value;
  }

  private readCorrection(decoder: ArithmeticDecoder, classModel: SymbolModel): number {
    const size = decoder.decodeSymbol(classModel);
    this.lastClass = size;
    if (size === 0) return decoder.decodeBit(this.zeroModel);
    if (size === 32) return -0x80000000;
    const model = (this.correctionModels[size] ??= new SymbolModel(1 << Math.min(size, MODELLED_BITS)));
    let correction = decoder.decodeSymbol(model);
    if (size > MODELLED_BITS) {
      const raw = size - MODELLED_BITS;
      correction = (correction << raw) | decoder.readBits(raw);
    }
    // 2^31 - 1 is built without leaving 32 bits.
    return correction >= 1 << (size - 1) ? correction + 1 : (correction - (((1 << size) - 1) | 0)) | 0;
  }
}
