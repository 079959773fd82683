import { describe, expect, it } from 'vitest';
import { bytesSource } from '../../../src/io/byte-source.ts';
import { geotiffReader } from '../../../src/io/geotiff/geotiff-reader.ts';
import { glbReader } from '../../../src/io/gltf/glb-reader.ts';
import { lasReader } from '../../../src/io/las/las-reader.ts';
import { objReader } from '../../../src/io/obj/obj-reader.ts';
import { plyReader } from '../../../src/io/ply/ply-reader.ts';
import { readerFor } from '../../../src/io/readers.ts';
import { textReader } from '../../../src/io/text/text-reader.ts';
import { bytesOf } from '../../fixtures/read-source.ts';

describe('the reader of a file', () => {
  it.each([
    ['roof.las', 'LASF\0\0', lasReader],
    ['wrongly-named.txt', 'ply\nformat ascii 1.0\n', plyReader],
    ['roof.bin', 'glTF\x02\0\0\0', glbReader],
    ['dsm.tif', 'II*\0\x08\0\0\0', geotiffReader],
    ['big.tif', 'MM\0+\0\x08\0\0', geotiffReader],
    ['roof.obj', '# made by hand\nv 0 0 0\n', objReader],
    ['roof.xyz', '# x y z\n1 2 3\n', textReader],
    ['noname', '770500.25 6277599.75 20.5\n', textReader],
  ])('%s is chosen by its bytes, then its name', async (name, head, reader) => {
    expect(await readerFor(bytesSource(name, bytesOf(head)))).toBe(reader);
  });

  it.each([
    ['scan.e57', 'ASTM-E57\0\0', /E57 file, which is not read yet: export it as LAS, LAZ or PLY; accepted are LAS, LAZ/],
    ['all.zip', 'PK\x03\x04', /ZIP archive: unpack it/],
    ['plan.dxf', '  0\nSECTION\n', /DXF drawing, which is written here but not read/],
    ['photo.jpg', '\xff\xd8\xff\xe0', /photograph/],
    ['roof.mtl', 'newmtl a\n', /only goes with another one/],
    ['nothing', '', /the file is empty \(0 bytes\)/],
    ['noise.bin', '\x01\x02\x03\x04', /neither its first bytes nor its name/],
  ])('%s is refused with what to do instead', async (name, head, message) => {
    await expect(readerFor(bytesSource(name, bytesOf(head)))).rejects.toThrow(message);
    await expect(readerFor(bytesSource(name, bytesOf(head)))).rejects.toMatchObject({ name: 'InputError', subject: name });
  });
});
