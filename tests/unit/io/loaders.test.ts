import { load, selectLoader } from '@loaders.gl/core';
import { PLYLoader } from '@loaders.gl/ply';
import { beforeAll, describe, expect, it } from 'vitest';
import { lasLoader, plyLoader, registerSurveyLoaders, type LoadedSurveyFile } from '../../../src/io/loaders.ts';
import { bytesOf, concatenated } from '../../fixtures/read-source.ts';

const cloud = concatenated(
  bytesOf('ply\nformat binary_little_endian 1.0\nelement vertex 2\nproperty float x\nproperty float y\nproperty float z\nproperty uchar red\nproperty uchar green\nproperty uchar blue\nend_header\n'),
  ...[[0.5, 1.5, -2.25, 10, 20, 30], [3, 4, 5, 40, 50, 60]].map((row) => concatenated(new Uint8Array(Float32Array.from(row.slice(0, 3)).buffer), Uint8Array.from(row.slice(3)))),
);

describe('our readers in the registry of loaders.gl', () => {
  beforeAll(registerSurveyLoaders);

  it('are chosen by their first bytes', async () => {
    expect(await selectLoader(cloud.buffer as ArrayBuffer)).toMatchObject({ id: plyLoader.id });
    expect(await selectLoader(bytesOf('LASF\0\0\0\0').buffer as ArrayBuffer)).toMatchObject({ id: lasLoader.id });
  });

  it('are run by load, and agree with the library where that is right (floats, no face)', async () => {
    const ours = (await load(cloud.buffer as ArrayBuffer, [plyLoader])) as LoadedSurveyFile;
    const theirs = (await load(cloud.buffer as ArrayBuffer, PLYLoader, { worker: false, core: { worker: false } })) as unknown as { attributes: Record<string, { value: ArrayLike<number> }> };
    expect([...ours.batches[0]!.positions]).toEqual(Array.from(theirs.attributes['POSITION']!.value));
    expect([...ours.batches[0]!.colours!]).toEqual(Array.from(theirs.attributes['COLOR_0']!.value));
  });
});
