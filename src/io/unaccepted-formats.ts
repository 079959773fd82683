/** Files people are likely to try, and what to do instead. */
const BY_BYTES: readonly { readonly bytes: readonly number[]; readonly says: string }[] = [
  { bytes: text('ASTM-E57'), says: 'this is an E57 file, which is not read yet: export it as LAS, LAZ or PLY' },
  { bytes: [0x50, 0x4b, 0x03, 0x04], says: 'this is a ZIP archive: unpack it and open the files in it' },
  { bytes: [0x1f, 0x8b], says: 'this is a gzip archive: unpack it and open the file in it' },
  { bytes: [0x37, 0x7a, 0xbc, 0xaf], says: 'this is a 7z archive: unpack it and open the files in it' },
  { bytes: text('Kaydara FBX'), says: 'this is an FBX file, which is not read: export it as OBJ, PLY or GLB' },
  { bytes: text('%PDF'), says: 'this is a PDF, which holds no measurable surface' },
  { bytes: [0xff, 0xd8, 0xff], says: 'this is a photograph (JPEG), not a reconstruction' },
  { bytes: [0x89, 0x50, 0x4e, 0x47], says: 'this is a picture (PNG), not a reconstruction' },
  { bytes: text('AutoCAD Binary DXF'), says: 'this is a DXF drawing, which is written here but not read' },
  { bytes: text('b3dm'), says: 'this is a single tile of a tile set: export the mesh as GLB' },
  { bytes: text('pnts'), says: 'this is a single tile of a tile set: export the points as LAS or PLY' },
  { bytes: text('OFF'), says: 'this is an OFF file, which is not read: export it as PLY or OBJ' },
  { bytes: text('# .PCD'), says: 'this is a PCD file, which is not read: export it as PLY' },
  { bytes: text('solid '), says: 'this is an STL file, which states no unit and no colour: export it as PLY or OBJ' },
  { bytes: text('ncols'), says: 'this is a text grid: convert it to GeoTIFF' },
];

const BY_NAME: readonly { readonly ending: RegExp; readonly says: string }[] = [
  { ending: /\.dxf$/i, says: 'this is a DXF drawing, which is written here but not read' },
  { ending: /\.dwg$/i, says: 'this is a DWG drawing, which is not read' },
  { ending: /\.stl$/i, says: 'this is an STL file, which states no unit and no colour: export it as PLY or OBJ' },
  { ending: /\.(fbx|dae|3ds|skp|ifc|step|stp)$/i, says: 'this kind of model is not read: export it as OBJ, PLY or GLB' },
  { ending: /\.(rcp|rcs|pod|fls|zfs|ptx)$/i, says: 'this scan format is not read: export it as LAS, LAZ or PLY' },
  { ending: /\.(mtl|prj|tfw|aux|xml)$/i, says: 'this file only goes with another one: open that one' },
];

/** @returns What a file is when it is known and not read; null otherwise. */
export function notAccepted(head: Uint8Array, name: string): string | null {
  const byBytes = BY_BYTES.find(({ bytes }) => bytes.every((byte, at) => head[at] === byte));
  return (byBytes ?? BY_NAME.find(({ ending }) => ending.test(name)))?.says ?? null;
}

function text(word: string): number[] {
  return [...word].map((character) => character.charCodeAt(0));
}
