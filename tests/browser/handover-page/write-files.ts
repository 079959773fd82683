import { handover, HANDOVER_KINDS } from '../../../src/handover/handover.ts';
import { recordHarbour } from '../../fixtures/record-harbour.ts';

/** Writes every kind of file and leaves what came of it on the page's global object, for the test to read. */
async function writeFiles(): Promise<{ readonly name: string; readonly sha256: string }[]> {
  const files = await handover(recordHarbour(), HANDOVER_KINDS.map((one) => one.kind));
  const written: { readonly name: string; readonly sha256: string }[] = [];
  for (const { name, bytes } of files) {
    const digest = new Uint8Array(await crypto.subtle.digest('SHA-256', new Uint8Array(bytes)));
    written.push({ name, sha256: Array.from(digest, (byte) => byte.toString(16).padStart(2, '0')).join('') });
  }
  return written;
}

(globalThis as unknown as { written: ReturnType<typeof writeFiles> }).written = writeFiles();
