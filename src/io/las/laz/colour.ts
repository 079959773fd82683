import { SymbolModel, type ArithmeticDecoder } from './arithmetic-decoder.ts';
import { symbolModels, type PointwiseItem } from './item.ts';

/** Bits of the symbol that says which of the six bytes differ, and whether the colour is not grey. */
const differs = { redLow: 1, redHigh: 2, greenLow: 4, greenHigh: 8, blueLow: 16, blueHigh: 32, notGrey: 64 } as const;

/** A colour coded from the one before: green from red's change, blue from that of both (LASzip, rgb12 version 2). */
export class ColourModels {
  private readonly usedModel = new SymbolModel(128);
  private readonly byteModels = symbolModels(6, 256);

  /** @param last  Red, green, blue of the point before, replaced by those of this point. */
  next(decoder: ArithmeticDecoder, last: Uint16Array): void {
    const models = this.byteModels;
    const used = decoder.decodeSymbol(this.usedModel);
    const red = last[0]!;
    const green = last[1]!;
    const blue = last[2]!;
    const redLow = (used & differs.redLow) !== 0 ? (decoder.decodeSymbol(models[0]!) + red) & 255 : red & 255;
    const redHigh = (used & differs.redHigh) !== 0 ? (decoder.decodeSymbol(models[1]!) + (red >> 8)) & 255 : red >> 8;
    last[0] = redLow | (redHigh << 8);
    if ((used & differs.notGrey) === 0) {
      last[1] = last[0];
      last[2] = last[0];
      return;
    }
    let greenLow = green & 255;
    let blueLow = blue & 255;
    let change = redLow - (red & 255);
    if ((used & differs.greenLow) !== 0) greenLow = (decoder.decodeSymbol(models[2]!) + clampByte(greenLow + change)) & 255;
    if ((used & differs.blueLow) !== 0) {
      change = Math.trunc((change + greenLow - (green & 255)) / 2);
      blueLow = (decoder.decodeSymbol(models[4]!) + clampByte(blueLow + change)) & 255;
    }
    let greenHigh = green >> 8;
    let blueHigh = blue >> 8;
    change = redHigh - (red >> 8);
    if ((used & differs.greenHigh) !== 0) greenHigh = (decoder.decodeSymbol(models[3]!) + clampByte(greenHigh + change)) & 255;
    if ((used & differs.blueHigh) !== 0) {
      change = Math.trunc((change + greenHigh - (green >> 8)) / 2);
      blueHigh = (decoder.decodeSymbol(models[5]!) + clampByte(blueHigh + change)) & 255;
    }
    last[1] = greenLow | (greenHigh << 8);
    last[2] = blueLow | (blueHigh << 8);
  }
}

const clampByte = (value: number): number => (value < 0 ? 0 : value > 255 ? 255 : value);

export function readColour(record: DataView, at: number, colour: Uint16Array): void {
  for (let channel = 0; channel < 3; channel++) colour[channel] = record.getUint16(at + 2 * channel, true);
}

export function writeColour(record: DataView, at: number, colour: Uint16Array): void {
  record.setUint16(at, colour[0]!, true);
  record.setUint16(at + 2, colour[1]!, true);
  record.setUint16(at + 4, colour[2]!, true);
}

/** The 6 bytes of colour of formats 2, 3 and 5, version 2 of their coding. */
export class Colour12 implements PointwiseItem {
  private readonly models = new ColourModels();
  private readonly last = new Uint16Array(3);

  start(record: DataView, at: number): void {
    readColour(record, at, this.last);
  }

  next(decoder: ArithmeticDecoder, record: DataView, at: number): void {
    this.models.next(decoder, this.last);
    writeColour(record, at, this.last);
  }
}
