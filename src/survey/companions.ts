import type { SourceHandle } from './source-handle.ts';

const TAKES_COMPANIONS = /\.obj$/i;
const COMPANION = /\.(mtl|jpe?g|png|webp)$/i;

/** Parts files into those that are surveyed, and materials and pictures that only go with an OBJ file; without one of these all are the former. */
export function partCompanions<File extends { readonly name: string }>(files: readonly File[]): { readonly surveyed: readonly File[]; readonly beside: readonly File[] } {
  if (!files.some(({ name }) => TAKES_COMPANIONS.test(name))) return { surveyed: files, beside: [] };
  return { surveyed: files.filter(({ name }) => !COMPANION.test(name)), beside: files.filter(({ name }) => COMPANION.test(name)) };
}

/** The surveyed ones of files; each OBJ file has the others with it. */
export function withCompanions(files: readonly SourceHandle[]): readonly SourceHandle[] {
  const { surveyed, beside } = partCompanions(files);
  return beside.length === 0 ? files : surveyed.map((file) => (TAKES_COMPANIONS.test(file.name) ? { ...file, beside } : file));
}
