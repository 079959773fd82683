import { InputError } from '../units/input-error.ts';
import type { ByteSource } from './byte-source.ts';
import { geotiffReader } from './geotiff/geotiff-reader.ts';
import { glbReader } from './gltf/glb-reader.ts';
import { lasReader } from './las/las-reader.ts';
import { objReader } from './obj/obj-reader.ts';
import { plyReader } from './ply/ply-reader.ts';
import type { SurveyFileReader } from './survey-file.ts';
import { textReader } from './text/text-reader.ts';
import { notAccepted } from './unaccepted-formats.ts';

/** In the order they are asked: those with a signature first, those known by name and looks last. */
const READERS: readonly SurveyFileReader[] = [lasReader, plyReader, glbReader, geotiffReader, objReader, textReader];

/** [bytes] */
const HEAD_SIZE = 4096;

/** Names of the formats a person may open. */
export const ACCEPTED = 'LAS, LAZ, COPC, PLY, OBJ, GLB, point text (XYZ, CSV, PTS) or a GeoTIFF height raster';

/**
 * Finds the reader for a file by its first bytes and, where these say nothing, by its name.
 *
 * @throws InputError that names what the file is, where that can be seen, and what is accepted.
 */
export async function readerFor(source: ByteSource): Promise<SurveyFileReader> {
  const head = await source.read(0, Math.min(HEAD_SIZE, source.size));
  const refusal = notAccepted(head, source.name);
  if (refusal !== null) throw new InputError(source.name, `${refusal}; accepted are ${ACCEPTED}.`);
  const reader = READERS.find((candidate) => candidate.recognises(head, source.name));
  if (reader) return reader;
  if (source.size === 0) throw new InputError(source.name, 'the file is empty (0 bytes).');
  throw new InputError(source.name, `neither its first bytes nor its name tell what it is; accepted are ${ACCEPTED}.`);
}
