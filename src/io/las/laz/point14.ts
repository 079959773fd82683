import { SymbolModel, type ArithmeticDecoder } from './arithmetic-decoder.ts';
import { GpsTimes } from './gps-time.ts';
import { IntegerDecompressor } from './integer-decompressor.ts';
import { ModelBank, symbolModels } from './item.ts';
import { evenUpTo } from './point10.ts';
import { runningMedians } from './running-median.ts';

/** Context by number of returns, then return number (LASzip, point14 version 3). */
const RETURN_MAP = [
  [0, 1, 2, 3, 4, 5, 3, 4, 4, 5, 5, 5, 5, 5, 5, 5],
  [1, 0, 1, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3],
  [2, 1, 2, 4, 4, 4, 4, 4, 4, 4, 4, 3, 3, 3, 3, 3],
  [3, 3, 4, 5, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4],
  [4, 3, 4, 4, 5, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4],
  [5, 3, 4, 4, 4, 5, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4],
  [3, 3, 4, 4, 4, 4, 5, 4, 4, 4, 4, 4, 4, 4, 4, 4],
  [4, 3, 4, 4, 4, 4, 4, 5, 4, 4, 4, 4, 4, 4, 4, 4],
  [4, 3, 4, 4, 4, 4, 4, 4, 5, 4, 4, 4, 4, 4, 4, 4],
  [5, 3, 4, 4, 4, 4, 4, 4, 4, 5, 4, 4, 4, 4, 4, 4],
  [5, 3, 4, 4, 4, 4, 4, 4, 4, 4, 5, 4, 4, 4, 4, 4],
  [5, 3, 3, 4, 4, 4, 4, 4, 4, 4, 4, 5, 5, 4, 4, 4],
  [5, 3, 3, 4, 4, 4, 4, 4, 4, 4, 4, 5, 5, 5, 4, 4],
  [5, 3, 3, 4, 4, 4, 4, 4, 4, 4, 4, 4, 5, 5, 5, 4],
  [5, 3, 3, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 5, 5, 5],
  [5, 3, 3, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 5, 5],
].flat();

const CHANNELS = 4;
/** Layers in the order they stand in a chunk. */
export const pointLayer = {
  position: 0, height: 1, classification: 2, flags: 3, intensity: 4, scanAngle: 5, userData: 6, source: 7, time: 8,
} as const;
export const pointLayerCount = 9;

/** Bits of the symbol that opens a point; the two lowest tell how the return number changed. */
const changed = { returnCount: 4, scanAngle: 8, time: 16, source: 32, channel: 64 } as const;

type Layers = readonly (ArithmeticDecoder | null)[];

/** Everything remembered of the points of one scanner channel. */
class Channel {
  x = 0;
  y = 0;
  z = 0;
  intensity = 0;
  returnNumber = 0;
  returnCount = 0;
  /** Edge, direction and the four class flags, in the order the coding packs them. */
  flags = 0;
  classification = 0;
  userData = 0;
  scanAngle = 0;
  source = 0;
  timeChanged = false;
  readonly times = new GpsTimes(0);
  readonly lastHeight = new Int32Array(8);
  readonly lastIntensity = new Uint16Array(8);
  readonly medianX = runningMedians(12);
  readonly medianY = runningMedians(12);
  readonly changedModels = symbolModels(8, 128);
  readonly channelModel = new SymbolModel(3);
  readonly returnCountModels = new ModelBank(16, 16);
  readonly returnNumberModels = new ModelBank(16, 16);
  readonly sameTimeReturnModel = new SymbolModel(13);
  readonly classModels = new ModelBank(64);
  readonly flagModels = new ModelBank(64, 64);
  readonly userDataModels = new ModelBank(64);
  readonly xs = new IntegerDecompressor(32, 2);
  readonly ys = new IntegerDecompressor(32, 22);
  readonly zs = new IntegerDecompressor(32, 20);
  readonly intensities = new IntegerDecompressor(16, 4);
  readonly scanAngles = new IntegerDecompressor(16, 2);
  readonly sources = new IntegerDecompressor(16, 1);

  /** @param record  The point to start from: the first of the chunk, or the last of the channel left. */
  constructor(record: DataView, at: number) {
    this.x = record.getInt32(at, true);
    this.y = record.getInt32(at + 4, true);
    this.z = record.getInt32(at + 8, true);
    this.intensity = record.getUint16(at + 12, true);
    const returns = record.getUint8(at + 14);
    this.returnNumber = returns & 15;
    this.returnCount = returns >> 4;
    const flags = record.getUint8(at + 15);
    this.flags = (flags & 15) | ((flags >> 2) & 48);
    this.classification = record.getUint8(at + 16);
    this.userData = record.getUint8(at + 17);
    this.scanAngle = record.getInt16(at + 18, true);
    this.source = record.getUint16(at + 20, true);
    this.times.start(record, at + 22);
    this.lastHeight.fill(this.z);
    this.lastIntensity.fill(this.intensity);
  }

  write(record: DataView, at: number, channel: number): void {
    record.setInt32(at, this.x, true);
    record.setInt32(at + 4, this.y, true);
    record.setInt32(at + 8, this.z, true);
    record.setUint16(at + 12, this.intensity, true);
    record.setUint8(at + 14, this.returnNumber | (this.returnCount << 4));
    record.setUint8(at + 15, (this.flags & 15) | (channel << 4) | ((this.flags & 48) << 2));
    record.setUint8(at + 16, this.classification);
    record.setUint8(at + 17, this.userData);
    record.setInt16(at + 18, this.scanAngle, true);
    record.setUint16(at + 20, this.source, true);
    this.times.write(record, at + 22);
  }
}

/** The 30 bytes all formats 6 to 10 begin with, versions 3 and 4 of their coding (LAS 1.4 layered LAZ). */
export class Point14 {
  private readonly channels: (Channel | null)[] = Array.from({ length: CHANNELS }, () => null);
  private current = 0;
  private readonly before = new DataView(new ArrayBuffer(30));

  /**
   * Whose history the other items of the point last read go by. In version 3 of the coding that is channel 0 for every
   * point but the first of a chunk and those that switch channel (a slip that is part of the format by now); from
   * version 4 on it is the channel of the point.
   */
  channelOfOthers: number;

  constructor(record: DataView, at: number, private readonly layers: Layers, private readonly version: number) {
    this.current = (record.getUint8(at + 15) >> 4) & 3;
    this.channelOfOthers = this.current;
    this.channels[this.current] = new Channel(record, at);
  }

  next(record: DataView, at: number): void {
    const positions = this.layers[pointLayer.position]!;
    let channel = this.channels[this.current]!;
    const state = (channel.returnNumber === 1 ? 1 : 0) + (channel.returnNumber >= channel.returnCount ? 2 : 0) + (channel.timeChanged ? 4 : 0);
    const differs = positions.decodeSymbol(channel.changedModels[state]!);
    const switches = (differs & changed.channel) !== 0;
    if (switches) channel = this.switchChannel(positions, channel);
    this.channelOfOthers = switches || this.version >= 4 ? this.current : 0;
    const timeChanged = (differs & changed.time) !== 0;
    readReturns(positions, channel, differs, timeChanged);
    readPosition(positions, this.layers[pointLayer.height]!, channel, timeChanged);
    readAttributes(this.layers, channel, differs, timeChanged);
    channel.timeChanged = timeChanged;
    channel.write(record, at, this.current);
  }

  private switchChannel(positions: ArithmeticDecoder, from: Channel): Channel {
    const next = (this.current + positions.decodeSymbol(from.channelModel) + 1) % CHANNELS;
    if (this.channels[next] === null) {
      from.write(this.before, 0, this.current);
      this.channels[next] = new Channel(this.before, 0);
    }
    this.current = next;
    return this.channels[next]!;
  }
}

function readReturns(positions: ArithmeticDecoder, channel: Channel, differs: number, timeChanged: boolean): void {
  if ((differs & changed.returnCount) !== 0) {
    channel.returnCount = positions.decodeSymbol(channel.returnCountModels.at(channel.returnCount));
  }
  const last = channel.returnNumber;
  switch (differs & 3) {
    case 1:
      channel.returnNumber = (last + 1) & 15;
      break;
    case 2:
      channel.returnNumber = (last + 15) & 15;
      break;
    case 3:
      channel.returnNumber = timeChanged
        ? positions.decodeSymbol(channel.returnNumberModels.at(last))
        : (last + positions.decodeSymbol(channel.sameTimeReturnModel) + 2) & 15;
  }
}

function readPosition(positions: ArithmeticDecoder, heights: ArithmeticDecoder | null, channel: Channel, timeChanged: boolean): void {
  const { returnNumber, returnCount, xs, ys } = channel;
  const context = (RETURN_MAP[returnCount * 16 + returnNumber]! << 1) | (timeChanged ? 1 : 0);
  const single = returnCount === 1 ? 1 : 0;
  const medianX = channel.medianX[context]!;
  const differenceX = xs.decompress(positions, medianX.middle, single);
  channel.x = (channel.x + differenceX) | 0;
  medianX.add(differenceX);
  const medianY = channel.medianY[context]!;
  const differenceY = ys.decompress(positions, medianY.middle, single + evenUpTo(xs.lastClass, 20));
  channel.y = (channel.y + differenceY) | 0;
  medianY.add(differenceY);
  if (heights === null) return;
  const level = Math.min(7, Math.abs(returnCount - returnNumber));
  const size = (xs.lastClass + ys.lastClass) >> 1;
  channel.z = channel.zs.decompress(heights, channel.lastHeight[level]!, single + evenUpTo(size, 18));
  channel.lastHeight[level] = channel.z;
}

function readAttributes(layers: Layers, channel: Channel, differs: number, timeChanged: boolean): void {
  const place = (channel.returnNumber === 1 ? 2 : 0) + (channel.returnNumber >= channel.returnCount ? 1 : 0);
  const classes = layers[pointLayer.classification]!;
  if (classes !== null) {
    const context = ((channel.classification & 31) << 1) + (place === 3 ? 1 : 0);
    channel.classification = classes.decodeSymbol(channel.classModels.at(context));
  }
  const flags = layers[pointLayer.flags]!;
  if (flags !== null) channel.flags = flags.decodeSymbol(channel.flagModels.at(channel.flags));
  const intensities = layers[pointLayer.intensity]!;
  if (intensities !== null) {
    const context = (place << 1) | (timeChanged ? 1 : 0);
    channel.intensity = channel.intensities.decompress(intensities, channel.lastIntensity[context]!, place);
    channel.lastIntensity[context] = channel.intensity;
  }
  const scanAngles = layers[pointLayer.scanAngle]!;
  if (scanAngles !== null && (differs & changed.scanAngle) !== 0) {
    channel.scanAngle = channel.scanAngles.decompress(scanAngles, channel.scanAngle & 0xffff, timeChanged ? 1 : 0);
  }
  const userData = layers[pointLayer.userData]!;
  if (userData !== null) channel.userData = userData.decodeSymbol(channel.userDataModels.at(channel.userData >> 2));
  const sources = layers[pointLayer.source]!;
  if (sources !== null && (differs & changed.source) !== 0) channel.source = channel.sources.decompress(sources, channel.source, 0);
  const times = layers[pointLayer.time]!;
  if (times !== null && timeChanged) channel.times.next(times);
}
