import { MeshoptDecoder } from 'meshoptimizer/decoder';
import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';
import type { GltfContainer } from './glb-container.ts';
import { entryOf, type MeshoptView } from './gltf-json.ts';

const MESHOPT = ['EXT_meshopt_compression', 'KHR_meshopt_compression'];
/** A count that a small file could not mean. [bytes] */
const LARGEST_VIEW = 2 ** 31 - 1;

/** Bytes of the buffer views of a file, read when first asked for and unpacked where they are compressed. */
export class GltfBuffers {
  private readonly views = new Map<number, Promise<Uint8Array>>();

  constructor(
    private readonly source: ByteSource,
    private readonly container: GltfContainer,
  ) {}

  view(index: number): Promise<Uint8Array> {
    let bytes = this.views.get(index);
    if (!bytes) {
      bytes = this.readView(index);
      this.views.set(index, bytes);
    }
    return bytes;
  }

  private async readView(index: number): Promise<Uint8Array> {
    const view = entryOf(this.source.name, this.container.json.bufferViews, index, 'buffer view');
    const packed = MESHOPT.map((extension) => view.extensions?.[extension]).find((extension) => extension !== undefined);
    if (packed) return this.unpack(index, packed);
    return this.range(view.buffer, view.byteOffset ?? 0, view.byteLength, `buffer view ${index}`);
  }

  private async unpack(index: number, packed: MeshoptView): Promise<Uint8Array> {
    const { count, byteStride, mode, filter } = packed;
    const what = `compressed buffer view ${index}`;
    const size = count * byteStride;
    if (!(size >= 0) || size > LARGEST_VIEW) throw new InputError(this.source.name, `${what} states ${count} entries of ${byteStride} bytes.`);
    const bytes = await this.range(packed.buffer, packed.byteOffset ?? 0, packed.byteLength, what);
    const target = new Uint8Array(size);
    await MeshoptDecoder.ready;
    try {
      MeshoptDecoder.decodeGltfBuffer(target, count, byteStride, bytes, mode, filter);
    } catch (error) {
      throw new InputError(this.source.name, `${what} cannot be unpacked (${error instanceof Error ? error.message : String(error)}).`);
    }
    return target;
  }

  private async range(bufferIndex: number | undefined, offset: number, length: number | undefined, what: string): Promise<Uint8Array> {
    const { name } = this.source;
    const buffer = entryOf(name, this.container.json.buffers, bufferIndex, 'buffer');
    const { binary } = this.container;
    const embedded = buffer.uri === undefined ? null : embeddedBytes(name, buffer.uri);
    if (!embedded && (bufferIndex !== 0 || !binary)) throw new InputError(name, `${what} needs the binary chunk, which is not there.`);
    const held = embedded ? embedded.length : binary!.end - binary!.begin;
    if (!(offset >= 0) || !(length! >= 0) || offset + length! > held) {
      throw new InputError(name, `${what} runs from byte ${offset} to ${offset + (length ?? NaN)}, its buffer holds ${held}.`);
    }
    if (embedded) return embedded.subarray(offset, offset + length!);
    return this.source.read(binary!.begin + offset, binary!.begin + offset + length!);
  }
}

/** @throws InputError for an address of another file. */
export function embeddedBytes(fileName: string, uri: string): Uint8Array {
  const match = /^data:[^,]*;base64,/.exec(uri);
  if (!match) throw new InputError(fileName, `names another file (${uri.slice(0, 60)}), expected everything in one: export it as GLB.`);
  try {
    return Uint8Array.from(atob(uri.slice(match[0].length)), (character) => character.charCodeAt(0));
  } catch {
    throw new InputError(fileName, 'embedded data are not valid base 64.');
  }
}
