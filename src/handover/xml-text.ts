/** Text for XML content and attributes: marks replaced, characters XML 1.0 forbids left out. */
export function escapeXml(text: string): string {
  return text
    // eslint-disable-next-line no-control-regex -- the control characters XML 1.0 does not allow
    .replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\ufffe\uffff]/g, '')
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;');
}
