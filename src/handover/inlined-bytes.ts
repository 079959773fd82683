/** Bytes of a file the bundler wrote into the program as a `data:` address. */
export function inlinedBytes(dataAddress: string): Uint8Array<ArrayBuffer> {
  const comma = dataAddress.indexOf(',');
  if (!dataAddress.startsWith('data:') || !dataAddress.slice(0, comma).endsWith(';base64')) {
    throw new Error(`Expected a base64 data address, got "${dataAddress.slice(0, 40)}".`);
  }
  const text = atob(dataAddress.slice(comma + 1));
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
  return bytes;
}
