/**
 * Splits comma-separated text by RFC 4180: quoted cells may hold commas, line ends and doubled quotes; lines end with
 * LF or CRLF. Semicolons separate where the first line has more of them than commas, as some spreadsheets write.
 */
export function parseCsv(text: string): string[][] {
  const firstLine = text.slice(0, text.search(/[\r\n]|$/));
  const separator = firstLine.split(';').length > firstLine.split(',').length ? ';' : ',';
  const rows: string[][] = [];
  let row: string[] = [];
  let cell = '';
  let quoted = false;
  const endCell = (): void => {
    row.push(cell);
    cell = '';
  };
  for (let i = 0; i < text.length; i++) {
    const letter = text[i]!;
    if (quoted) {
      if (letter !== '"') cell += letter;
      else if (text[i + 1] === '"') cell += text[i++]!;
      else quoted = false;
    } else if (letter === '"' && cell === '') {
      quoted = true;
    } else if (letter === separator) {
      endCell();
    } else if (letter === '\n') {
      endCell();
      rows.push(row);
      row = [];
    } else if (letter !== '\r') {
      cell += letter;
    }
  }
  if (cell !== '' || row.length > 0) {
    endCell();
    rows.push(row);
  }
  return rows;
}
