import { SymbolModel, type ArithmeticDecoder } from './arithmetic-decoder.ts';
import { ColourModels, readColour, writeColour } from './colour.ts';
import { symbolModels, type LayeredItem } from './item.ts';
import { copyBytes, wavePacketSize, WavePackets } from './wave-packet.ts';

type Layers = readonly (ArithmeticDecoder | null)[];

/**
 * What every layered item but the point itself has in common: one history per scanner channel, made when the channel
 * first appears and started from the point before.
 *
 * Version 3 of the coding has a slip that is now part of the format: on a switch to a channel seen before, the point
 * before is still that of the channel left. Version 4 takes that of the channel entered.
 */
abstract class ChannelledItem<State> implements LayeredItem {
  abstract readonly layerCount: number;
  private readonly states: (State | null)[] = [null, null, null, null];
  private current = 0;
  protected layers: Layers = [];

  constructor(private readonly version: number) {}

  start(record: DataView, at: number, layers: Layers, channel: number): void {
    this.layers = layers;
    this.current = channel;
    this.states[channel] = this.stateFromRecord(record, at);
  }

  next(record: DataView, at: number, channel: number): void {
    let last = this.states[this.current]!;
    if (channel !== this.current) {
      const known = this.states[channel] ?? null;
      if (known === null) this.states[channel] = this.stateFromState(last);
      if (known === null || this.version >= 4) last = this.states[channel]!;
      this.current = channel;
    }
    this.read(this.states[channel]!, last, record, at);
  }

  protected abstract stateFromRecord(record: DataView, at: number): State;
  protected abstract stateFromState(state: State): State;
  /** @param models  Whose models decode. @param last  Whose last point is the prediction, and takes the new one. */
  protected abstract read(models: State, last: State, record: DataView, at: number): void;
}

class ColourState {
  readonly last = new Uint16Array(3);
  readonly models = new ColourModels();
  nearInfrared = 0;
  readonly usedModel = new SymbolModel(4);
  readonly lowModel = new SymbolModel(256);
  readonly highModel = new SymbolModel(256);
}

/** Colour of format 7, and colour with near infrared of formats 8 and 10. */
export class Colour14 extends ChannelledItem<ColourState> {
  readonly layerCount: number;

  constructor(version: number, private readonly withNearInfrared: boolean) {
    super(version);
    this.layerCount = withNearInfrared ? 2 : 1;
  }

  protected stateFromRecord(record: DataView, at: number): ColourState {
    const state = new ColourState();
    readColour(record, at, state.last);
    if (this.withNearInfrared) state.nearInfrared = record.getUint16(at + 6, true);
    return state;
  }

  protected stateFromState(state: ColourState): ColourState {
    const copy = new ColourState();
    copy.last.set(state.last);
    copy.nearInfrared = state.nearInfrared;
    return copy;
  }

  protected read(models: ColourState, last: ColourState, record: DataView, at: number): void {
    const [colours, nearInfrared] = this.layers;
    if (colours) models.models.next(colours, last.last);
    writeColour(record, at, last.last);
    if (!this.withNearInfrared) return;
    if (nearInfrared) readNearInfrared(nearInfrared, models, last);
    record.setUint16(at + 6, last.nearInfrared, true);
  }
}

function readNearInfrared(decoder: ArithmeticDecoder, models: ColourState, last: ColourState): void {
  const used = decoder.decodeSymbol(models.usedModel);
  let low = last.nearInfrared & 255;
  let high = last.nearInfrared >> 8;
  if ((used & 1) !== 0) low = (low + decoder.decodeSymbol(models.lowModel)) & 255;
  if ((used & 2) !== 0) high = (high + decoder.decodeSymbol(models.highModel)) & 255;
  last.nearInfrared = low | (high << 8);
}

class WaveState {
  readonly last = new DataView(new ArrayBuffer(wavePacketSize));
  readonly packets = new WavePackets();
}

/** Waveform fields of formats 9 and 10. */
export class WavePacket14 extends ChannelledItem<WaveState> {
  readonly layerCount = 1;

  protected stateFromRecord(record: DataView, at: number): WaveState {
    const state = new WaveState();
    copyBytes(record, at, state.last, 0, wavePacketSize);
    return state;
  }

  protected stateFromState(state: WaveState): WaveState {
    return this.stateFromRecord(state.last, 0);
  }

  protected read(models: WaveState, last: WaveState, record: DataView, at: number): void {
    const decoder = this.layers[0];
    if (decoder) models.packets.next(decoder, last.last);
    copyBytes(last.last, 0, record, at, wavePacketSize);
  }
}

class ByteState {
  readonly last: Uint8Array;
  readonly models: readonly SymbolModel[];

  constructor(size: number) {
    this.last = new Uint8Array(size);
    this.models = symbolModels(size, 256);
  }
}

/** Extra bytes: a layer each. */
export class ExtraBytes14 extends ChannelledItem<ByteState> {
  constructor(version: number, readonly layerCount: number) {
    super(version);
  }

  protected stateFromRecord(record: DataView, at: number): ByteState {
    const state = new ByteState(this.layerCount);
    for (let byte = 0; byte < this.layerCount; byte++) state.last[byte] = record.getUint8(at + byte);
    return state;
  }

  protected stateFromState(state: ByteState): ByteState {
    const copy = new ByteState(this.layerCount);
    copy.last.set(state.last);
    return copy;
  }

  protected read(models: ByteState, last: ByteState, record: DataView, at: number): void {
    for (let byte = 0; byte < this.layerCount; byte++) {
      const decoder = this.layers[byte];
      if (decoder) last.last[byte]! += decoder.decodeSymbol(models.models[byte]!);
      record.setUint8(at + byte, last.last[byte]!);
    }
  }
}
