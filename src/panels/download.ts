/** Hands a file to the browser to save. */
export function download(name: string, mime: string, content: string | Uint8Array): void {
  const address = URL.createObjectURL(new Blob([content as BlobPart], { type: mime }));
  const link = document.createElement('a');
  link.href = address;
  link.download = name;
  link.click();
  // The browser has taken the blob by the next task; some take it only then.
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}

/** Start of file names of a survey. */
export const fileName = (survey: string): string => survey.replace(/[^\p{L}\p{N}]+/gu, '-').replace(/^-|-$/g, '').toLowerCase() || 'roof';
