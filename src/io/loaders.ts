import { registerLoaders, type LoaderWithParser } from '@loaders.gl/core';
import type { Mesh } from '../cloud/mesh.ts';
import { bytesSource } from './byte-source.ts';
import { lasReader } from './las/las-reader.ts';
import { plyReader } from './ply/ply-reader.ts';
import type { PointBatch } from './point-batch.ts';
import type { FileDescription, SurveyFileReader } from './survey-file.ts';

/** A whole file read through the registry of loaders.gl: what it says of itself, and its points or its mesh. */
export interface LoadedSurveyFile {
  readonly description: FileDescription;
  /** One batch per part; none for a mesh. */
  readonly batches: readonly PointBatch[];
  readonly mesh: Mesh | null;
}

export type SurveyLoader = LoaderWithParser<LoadedSurveyFile>;

/** LAS 1.0 to 1.4 and LAZ, all record formats, in float64: more than the loader of that registry reads. */
export const lasLoader = makeLoader('LAS', 'roofdatum-las', ['las', 'laz'], 'LASF', lasReader);

/** PLY with doubles kept double, in both byte orders. */
export const plyLoader = makeLoader('PLY', 'roofdatum-ply', ['ply'], 'ply', plyReader);

/** Makes `load` and `selectLoader` of @loaders.gl/core choose this program's readers. */
export function registerSurveyLoaders(): void {
  registerLoaders([lasLoader, plyLoader]);
}

function makeLoader(name: string, id: string, extensions: string[], signature: string, reader: SurveyFileReader): SurveyLoader {
  return {
    name,
    id,
    module: 'roofdatum',
    version: '1',
    extensions,
    mimeTypes: ['application/octet-stream'],
    binary: true,
    tests: [signature],
    options: {},
    async parse(bytes, _options, context) {
      return readWhole(reader, context?.filename ?? `file.${extensions[0]}`, new Uint8Array(bytes));
    },
  };
}

async function readWhole(reader: SurveyFileReader, name: string, bytes: Uint8Array): Promise<LoadedSurveyFile> {
  const source = bytesSource(name, bytes);
  const description = await reader.describe(source, { salvage: false });
  if (description.kind === 'mesh' && reader.readMesh) return { description, batches: [], mesh: await reader.readMesh(source, description) };
  const batches: PointBatch[] = [];
  for (let part = 0; part < description.parts.length; part++) batches.push(await reader.readPoints(source, description, part));
  return { description, batches, mesh: null };
}
