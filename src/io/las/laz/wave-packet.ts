import { SymbolModel, type ArithmeticDecoder } from './arithmetic-decoder.ts';
import { IntegerDecompressor } from './integer-decompressor.ts';
import { symbolModels, type PointwiseItem } from './item.ts';

/** How the place of a wave packet follows from the one before. */
const place = { same: 0, behind: 1, near: 2 } as const;
const WORDS_AT = [17, 21, 25] as const;

/** The 29 bytes that point into the waveform data (LASzip, wavepacket13 version 1). */
export class WavePackets {
  private readonly indexModel = new SymbolModel(256);
  private readonly placeModels = symbolModels(4, 4);
  private readonly offsets = new IntegerDecompressor(32, 1);
  private readonly sizes = new IntegerDecompressor(32, 1);
  private readonly returnPoints = new IntegerDecompressor(32, 1);
  private readonly directions = new IntegerDecompressor(32, 3);
  private lastPlace = 0;
  private lastDifference = 0;

  /** @param last  Descriptor of the point before, replaced by that of this point; 29 bytes. */
  next(decoder: ArithmeticDecoder, last: DataView): void {
    last.setUint8(0, decoder.decodeSymbol(this.indexModel));
    this.readPlace(decoder, last);
    last.setInt32(9, this.sizes.decompress(decoder, last.getInt32(9, true), 0), true);
    last.setInt32(13, this.returnPoints.decompress(decoder, last.getInt32(13, true), 0), true);
    WORDS_AT.forEach((at, axis) => {
      last.setInt32(at, this.directions.decompress(decoder, last.getInt32(at, true), axis), true);
    });
  }

  private readPlace(decoder: ArithmeticDecoder, last: DataView): void {
    this.lastPlace = decoder.decodeSymbol(this.placeModels[this.lastPlace]!);
    if (this.lastPlace === place.same) return;
    if (this.lastPlace === place.behind) {
      last.setBigInt64(1, last.getBigInt64(1, true) + BigInt(last.getUint32(9, true)), true);
    } else if (this.lastPlace === place.near) {
      this.lastDifference = this.offsets.decompress(decoder, this.lastDifference, 0);
      last.setBigInt64(1, last.getBigInt64(1, true) + BigInt(this.lastDifference), true);
    } else {
      last.setInt32(1, decoder.readInt32(), true);
      last.setInt32(5, decoder.readInt32(), true);
    }
  }
}

export const wavePacketSize = 29;

export function copyBytes(from: DataView, fromAt: number, to: DataView, toAt: number, size: number): void {
  for (let byte = 0; byte < size; byte++) to.setUint8(toAt + byte, from.getUint8(fromAt + byte));
}

/** The waveform fields of formats 4 and 5. */
export class WavePacket13 implements PointwiseItem {
  private readonly packets = new WavePackets();
  private readonly last = new DataView(new ArrayBuffer(wavePacketSize));

  start(record: DataView, at: number): void {
    copyBytes(record, at, this.last, 0, wavePacketSize);
  }

  next(decoder: ArithmeticDecoder, record: DataView, at: number): void {
    this.packets.next(decoder, this.last);
    copyBytes(this.last, 0, record, at, wavePacketSize);
  }
}
