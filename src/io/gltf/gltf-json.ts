import { InputError } from '../../units/input-error.ts';

/** The parts of a glTF 2.0 description that shape and colour need; every field may be missing or wrong in a given file. */
export interface GltfJson {
  readonly asset?: { readonly version?: string };
  readonly scene?: number;
  readonly scenes?: readonly { readonly nodes?: readonly number[] }[];
  readonly nodes?: readonly GltfNode[];
  readonly meshes?: readonly { readonly primitives?: readonly GltfPrimitive[] }[];
  readonly accessors?: readonly GltfAccessor[];
  readonly bufferViews?: readonly GltfBufferView[];
  readonly buffers?: readonly { readonly byteLength?: number; readonly uri?: string }[];
  readonly materials?: readonly GltfMaterial[];
  readonly textures?: readonly { readonly source?: number; readonly extensions?: Readonly<Record<string, { readonly source?: number }>> }[];
  readonly images?: readonly { readonly bufferView?: number; readonly mimeType?: string; readonly uri?: string }[];
  readonly extensionsUsed?: readonly string[];
  readonly extensionsRequired?: readonly string[];
  readonly extensions?: Readonly<Record<string, unknown>>;
}

export interface GltfNode {
  readonly children?: readonly number[];
  readonly mesh?: number;
  readonly matrix?: readonly number[];
  readonly translation?: readonly number[];
  readonly rotation?: readonly number[];
  readonly scale?: readonly number[];
  readonly extensions?: Readonly<Record<string, unknown>>;
}

export interface GltfPrimitive {
  readonly attributes?: Readonly<Record<string, number>>;
  readonly indices?: number;
  readonly mode?: number;
  readonly material?: number;
  readonly extensions?: Readonly<Record<string, unknown>>;
}

export interface GltfAccessor {
  readonly bufferView?: number;
  readonly byteOffset?: number;
  readonly componentType?: number;
  readonly normalized?: boolean;
  readonly count?: number;
  readonly type?: string;
  readonly sparse?: {
    readonly count: number;
    readonly indices: { readonly bufferView: number; readonly byteOffset?: number; readonly componentType: number };
    readonly values: { readonly bufferView: number; readonly byteOffset?: number };
  };
}

export interface GltfBufferView {
  readonly buffer?: number;
  readonly byteOffset?: number;
  readonly byteLength?: number;
  readonly byteStride?: number;
  readonly extensions?: Readonly<Record<string, MeshoptView>>;
}

export interface MeshoptView {
  readonly buffer: number;
  readonly byteOffset?: number;
  readonly byteLength: number;
  readonly byteStride: number;
  readonly count: number;
  readonly mode: string;
  readonly filter?: string;
}

export interface GltfMaterial {
  readonly pbrMetallicRoughness?: { readonly baseColorTexture?: GltfTextureInfo };
}

export interface GltfTextureInfo {
  readonly index?: number;
  readonly texCoord?: number;
  readonly extensions?: Readonly<Record<string, TextureTransform>>;
}

export interface TextureTransform {
  readonly offset?: readonly number[];
  readonly rotation?: number;
  readonly scale?: readonly number[];
  readonly texCoord?: number;
}

export const MODE = { points: 0, triangles: 4, strip: 5, fan: 6 } as const;

/** @throws InputError when a list has no such entry. */
export function entryOf<Entry>(fileName: string, list: readonly Entry[] | undefined, index: number | undefined, what: string): Entry {
  const entry = index === undefined ? undefined : list?.[index];
  if (entry === undefined || entry === null) {
    throw new InputError(fileName, `${what} ${index ?? 'without number'} is named but not there (the file has ${list?.length ?? 0}).`);
  }
  return entry;
}
