/**
 * Binary PLY, little-endian: doubles for the source coordinates, bytes for the colours.
 *
 * @param positions  x y z, `n × 3`. [m]
 * @param colours  Red, green, blue, `n × 3`.
 */
export function writePly(positions: Float64Array, colours: Uint8Array): Uint8Array {
  const count = positions.length / 3;
  const header = new TextEncoder().encode(
    `ply\nformat binary_little_endian 1.0\ncomment made up by the roofdatum sample generator\nelement vertex ${count}\n` +
      'property double x\nproperty double y\nproperty double z\n' +
      'property uchar red\nproperty uchar green\nproperty uchar blue\nend_header\n',
  );
  const bytes = new Uint8Array(header.length + 27 * count);
  bytes.set(header);
  const view = new DataView(bytes.buffer);
  for (let i = 0, at = header.length; i < count; i++, at += 27) {
    for (let k = 0; k < 3; k++) {
      view.setFloat64(at + 8 * k, positions[3 * i + k]!, true);
      bytes[at + 24 + k] = colours[3 * i + k]!;
    }
  }
  return bytes;
}
