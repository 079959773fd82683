import type { SymbolModel, ArithmeticDecoder } from './arithmetic-decoder.ts';
import { symbolModels, type PointwiseItem } from './item.ts';

/** Bytes behind the standard fields, each coded by its difference to the point before (LASzip, byte version 2). */
export class ExtraBytes implements PointwiseItem {
  private readonly last: Uint8Array;
  private readonly models: readonly SymbolModel[];

  constructor(size: number) {
    this.last = new Uint8Array(size);
    this.models = symbolModels(size, 256);
  }

  start(record: DataView, at: number): void {
    for (let byte = 0; byte < this.last.length; byte++) this.last[byte] = record.getUint8(at + byte);
  }

  next(decoder: ArithmeticDecoder, record: DataView, at: number): void {
    for (let byte = 0; byte < this.last.length; byte++) {
      this.last[byte]! += decoder.decodeSymbol(this.models[byte]!);
      record.setUint8(at + byte, this.last[byte]!);
    }
  }
}
