import { SymbolModel, type ArithmeticDecoder } from './arithmetic-decoder.ts';

/**
 * One compressed part of a point record in a run where all parts share one stream. It keeps what it needs of the
 * points before, and writes the part of the next point into the record.
 */
export interface PointwiseItem {
  /** Takes the first point, which stands uncompressed in the record. */
  start(record: DataView, at: number): void;
  next(decoder: ArithmeticDecoder, record: DataView, at: number): void;
}

/** The same where every attribute has a run (a layer) of its own, which may be empty or left out. */
export interface LayeredItem {
  readonly layerCount: number;
  /** Takes the first point, and one decoder per layer; null for a layer that is empty or not wanted. */
  start(record: DataView, at: number, layers: readonly (ArithmeticDecoder | null)[], channel: number): void;
  /** @param channel  Scanner channel of the point: each of the four has its own history. */
  next(record: DataView, at: number, channel: number): void;
}

/** A set of models with 256 symbols, made when first used. */
export class ModelBank {
  private readonly models: (SymbolModel | null)[];

  constructor(size: number, private readonly symbolCount = 256) {
    this.models = Array.from({ length: size }, () => null);
  }

  at(index: number): SymbolModel {
    return (this.models[index] ??= new SymbolModel(this.symbolCount));
  }
}

export const symbolModels = (count: number, symbolCount: number): SymbolModel[] =>
  Array.from({ length: count }, () => new SymbolModel(symbolCount));
