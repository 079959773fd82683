import { ArithmeticDecoder, CorruptStream } from './arithmetic-decoder.ts';
import { Colour12 } from './colour.ts';
import { ExtraBytes } from './extra-bytes.ts';
import { Colour12First, ExtraBytesFirst, GpsTime11First, Point10First } from './first-versions.ts';
import { GpsTime11 } from './gps-time.ts';
import type { LayeredItem, PointwiseItem } from './item.ts';
import { Colour14, ExtraBytes14, WavePacket14 } from './layered-items.ts';
import { Point10 } from './point10.ts';
import { Point14, pointLayer, pointLayerCount } from './point14.ts';
import type { LazItem, LazSettings } from './settings.ts';
import { WavePacket13 } from './wave-packet.ts';

/** Item types of the compression record (LASzip 3). */
const itemType = {
  byte: 0, point10: 6, gpsTime: 7, colour: 8, wavePacket: 9,
  point14: 10, colour14: 11, colourNearInfrared14: 12, wavePacket14: 13, byte14: 14,
} as const;

/** Which attributes are wanted: formats 6 to 10 keep them in layers of their own, and the others are then not decoded. */
export type Wanted = 'all' | 'positions, colour, intensity, class' | 'plan positions';

/** What is to be decoded of a chunk. */
export interface ChunkRequest {
  /** Points wanted, from the first on. */
  readonly pointCount: number;
  /** [bytes] */
  readonly recordLength: number;
  readonly wanted: Wanted;
  /** True when the chunk holds exactly `pointCount` points: leftover bytes are then damage. */
  readonly whole: boolean;
}

/**
 * Decodes one chunk into plain point records.
 *
 * @param bytes  The compressed bytes of the chunk, no more and no less.
 * @returns `pointCount × recordLength` bytes. Unwanted attributes repeat those of the first point.
 * @throws CorruptStream where the bytes cannot be what they should be.
 */
export function decodeChunk(bytes: Uint8Array, settings: LazSettings, request: ChunkRequest): Uint8Array {
  const { pointCount, recordLength } = request;
  if (pointCount === 0) return new Uint8Array();
  if (bytes.length < recordLength) throw new CorruptStream('compressed bytes end inside the first point');
  const records = new Uint8Array(pointCount * recordLength);
  records.set(bytes.subarray(0, recordLength));
  if (pointCount === 1) return records;
  if (settings.compressor === 3) decodeLayers(bytes, new DataView(records.buffer), settings.items, request);
  else decodeRun(bytes, new DataView(records.buffer), settings.items, request);
  return records;
}

/**
 * How far a run of points reaches when nobody tells: decodes until the bytes or the points end.
 *
 * @param limit  Stops after this many points.
 * @returns Points decoded from bytes that are there, and the first byte behind them.
 */
export function measureRun(bytes: Uint8Array, settings: LazSettings, recordLength: number, limit: number): { pointCount: number; end: number } {
  if (bytes.length < recordLength || limit === 0) return { pointCount: 0, end: 0 };
  const record = new DataView(bytes.slice(0, recordLength).buffer);
  const places = itemOffsets(settings.items);
  const items = settings.items.map((item) => pointwiseItem(item)!);
  items.forEach((item, index) => item.start(record, places[index]!));
  let pointCount = 1;
  let end = recordLength;
  try {
    const decoder = new ArithmeticDecoder(bytes, recordLength, bytes.length);
    for (; pointCount < limit; pointCount++) {
      for (let item = 0; item < items.length; item++) items[item]!.next(decoder, record, places[item]!);
      end = decoder.position;
    }
  } catch (error) {
    if (!(error instanceof CorruptStream)) throw error;
  }
  return { pointCount, end };
}

/** The lengths a layered chunk states of itself; null where `bytes` end before they do. */
export function layeredChunkSize(bytes: Uint8Array, settings: LazSettings, recordLength: number): { pointCount: number; length: number } | null {
  const layers = layerTotal(settings.items);
  const head = recordLength + 4 + 4 * layers;
  if (bytes.length < head) return null;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  let length = head;
  for (let layer = 0; layer < layers; layer++) length += view.getUint32(recordLength + 4 + 4 * layer, true);
  return { pointCount: view.getUint32(recordLength, true), length };
}

/** Names the item that this decoder does not know, or null when it knows all. */
export function unknownItem(settings: LazSettings): LazItem | null {
  const known = settings.compressor === 3
    ? (item: LazItem) => layeredTypes.has(item.type) && (item.version === 3 || item.version === 4)
    : (item: LazItem) => pointwiseItem(item) !== null;
  const first = settings.compressor === 3 ? itemType.point14 : itemType.point10;
  if (settings.items[0]?.type !== first) return settings.items[0] ?? { type: -1, size: 0, version: 0 };
  return settings.items.find((item) => !known(item)) ?? null;
}

const layeredTypes = new Set<number>([
  itemType.point14, itemType.colour14, itemType.colourNearInfrared14, itemType.wavePacket14, itemType.byte14,
]);

function pointwiseItem({ type, size, version }: LazItem): PointwiseItem | null {
  switch (`${type}.${version}`) {
    case `${itemType.point10}.1`: return new Point10First();
    case `${itemType.point10}.2`: return new Point10();
    case `${itemType.gpsTime}.1`: return new GpsTime11First();
    case `${itemType.gpsTime}.2`: return new GpsTime11();
    case `${itemType.colour}.1`: return new Colour12First();
    case `${itemType.colour}.2`: return new Colour12();
    case `${itemType.wavePacket}.1`: return new WavePacket13();
    case `${itemType.byte}.1`: return new ExtraBytesFirst(size);
    case `${itemType.byte}.2`: return new ExtraBytes(size);
  }
  return null;
}

function decodeRun(bytes: Uint8Array, records: DataView, layout: readonly LazItem[], request: ChunkRequest): void {
  const { pointCount, recordLength } = request;
  const places = itemOffsets(layout);
  const items = layout.map((item) => pointwiseItem(item)!);
  items.forEach((item, index) => item.start(records, places[index]!));
  const decoder = new ArithmeticDecoder(bytes, recordLength, bytes.length);
  for (let point = 1, at = recordLength; point < pointCount; point++, at += recordLength) {
    for (let item = 0; item < items.length; item++) items[item]!.next(decoder, records, at + places[item]!);
  }
  if (request.whole) decoder.expectEnd();
}

function decodeLayers(bytes: Uint8Array, records: DataView, layout: readonly LazItem[], request: ChunkRequest): void {
  const { pointCount, recordLength } = request;
  const places = itemOffsets(layout);
  const items = layout.slice(1).map(layeredItem);
  const layers = splitLayers(bytes, layout, items, request);
  const point = new Point14(records, 0, layers[0]!, layout[0]!.version);
  items.forEach((item, index) => item.start(records, places[index + 1]!, layers[index + 1]!, point.channelOfOthers));
  for (let number = 1, at = recordLength; number < pointCount; number++, at += recordLength) {
    point.next(records, at);
    for (let item = 0; item < items.length; item++) items[item]!.next(records, at + places[item + 1]!, point.channelOfOthers);
  }
  if (request.whole) layers.flat().forEach((layer) => layer?.expectEnd());
}

function layeredItem({ type, size, version }: LazItem): LayeredItem {
  switch (type) {
    case itemType.colour14: return new Colour14(version, false);
    case itemType.colourNearInfrared14: return new Colour14(version, true);
    case itemType.wavePacket14: return new WavePacket14(version);
    default: return new ExtraBytes14(version, size);
  }
}

const unwantedPointLayers = new Set<number>([
  pointLayer.flags, pointLayer.scanAngle, pointLayer.userData, pointLayer.source, pointLayer.time,
]);

/** After the first point: the point count, the length of every layer of every item, then the layers. */
function splitLayers(
  bytes: Uint8Array, layout: readonly LazItem[], items: readonly LayeredItem[], { recordLength, pointCount, wanted }: ChunkRequest,
): (ArithmeticDecoder | null)[][] {
  const counts = [pointLayerCount, ...items.map((item) => item.layerCount)];
  const lengthsAt = recordLength + 4;
  let begin = lengthsAt + 4 * layerTotal(layout);
  if (begin > bytes.length) throw new CorruptStream('compressed bytes end inside the lengths of the layers');
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const held = view.getUint32(recordLength, true);
  if (held < pointCount) throw new CorruptStream(`the chunk says it holds ${held} points`);
  let number = 0;
  return counts.map((count, item) => Array.from({ length: count }, (_, layer) => {
    const length = view.getUint32(lengthsAt + 4 * number++, true);
    const end = begin + length;
    if (end > bytes.length) throw new CorruptStream('a layer runs past the end of its chunk');
    const skip = !isWanted(wanted, layout[item]!.type, layer);
    const decoder = length === 0 || skip ? null : new ArithmeticDecoder(bytes, begin, end);
    if (item === 0 && layer === pointLayer.position && decoder === null) throw new CorruptStream('the layer of positions is empty');
    begin = end;
    return decoder;
  }));
}

const layerTotal = (layout: readonly LazItem[]): number =>
  layout.slice(1).reduce((sum, item) => sum + layeredItem(item).layerCount, pointLayerCount);

function isWanted(wanted: Wanted, type: number, layer: number): boolean {
  if (wanted === 'all') return true;
  if (wanted === 'plan positions') return type === itemType.point14 && layer === pointLayer.position;
  if (type === itemType.point14) return !unwantedPointLayers.has(layer);
  return (type === itemType.colour14 || type === itemType.colourNearInfrared14) && layer === 0;
}

function itemOffsets(layout: readonly LazItem[]): number[] {
  let offset = 0;
  return layout.map((item) => {
    const at = offset;
    offset += item.size;
    return at;
  });
}
