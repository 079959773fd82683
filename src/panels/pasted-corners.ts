const NUMBER = String.raw`[-−+]?\d+(?:\.\d+)?(?:e[-+]?\d+)?`;
const PAIRS = new RegExp(String.raw`^(?:${NUMBER},${NUMBER}\s*)+$`, 'i');
const BARE_PAIRS = new RegExp(String.raw`^(?:${NUMBER}\s+${NUMBER}\s*)+$`, 'i');

/**
 * Corners as they come from a table, a plan or a text, written `x,y x,y …`: one corner a line, numbers parted by tab,
 * semicolon, comma or blanks; between tabs and semicolons a comma is a decimal comma. GeoJSON and what is not understood
 * stay as they are, for whoever reads them to say what is wrong.
 */
export function pastedCorners(text: string): string {
  const trimmed = text.trim();
  if (trimmed.startsWith('{')) return trimmed;
  return trimmed.split(/\r?\n/).map(cornersOfLine).filter((line) => line !== '').join(' ');
}

function cornersOfLine(line: string): string {
  const written = line.trim().replaceAll('−', '-');
  if (/[\t;]/.test(written)) {
    const fields = written.split(/[\t;]/).map((field) => field.trim().replace(',', '.')).filter((field) => field !== '');
    // A third number is a height, which a region in plan has no use for.
    return fields.length === 2 || fields.length === 3 ? fields.slice(0, 2).join(',') : written;
  }
  const close = written.replace(/\s*,\s*/g, ',');
  if (PAIRS.test(close)) return close;
  return BARE_PAIRS.test(written) ? written.split(/\s+/).reduce((pairs, number, i) => pairs + (i === 0 ? '' : i % 2 === 0 ? ' ' : ',') + number, '') : written;
}
