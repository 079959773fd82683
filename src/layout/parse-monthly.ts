import { InputError } from '../units/input-error.ts';

/**
 * Reads monthly irradiation of the level: header `month,kwh_m2`, then months 1 to 12 in any order, once each. Lines
 * starting with # are notes. [kWh/m²]
 *
 * @throws InputError that names the line, the value and what was expected.
 */
export function parseMonthly(text: string, subject: string): number[] {
  const values = Array.from<unknown, number | null>({ length: 12 }, () => null);
  let headerSeen = false;
  text.replace(/^\uFEFF/, '').split(/\r?\n/).forEach((line, index) => {
    if (line.trim() === '' || line.trimStart().startsWith('#')) return;
    const where = `line ${index + 1}`;
    const cells = line.split(/[,;]/).map((cell) => cell.trim());
    if (!headerSeen) {
      if (cells[0]?.toLowerCase() !== 'month' || cells[1]?.toLowerCase() !== 'kwh_m2') {
        throw new InputError(subject, `${where} is "${line}", expected the header month,kwh_m2.`);
      }
      headerSeen = true;
      return;
    }
    const month = Number(cells[0]);
    if (!Number.isInteger(month) || month < 1 || month > 12) throw new InputError(subject, `${where}, month is "${cells[0]}", expected 1 to 12.`);
    const value = cells[1] === undefined || cells[1] === '' ? Number.NaN : Number(cells[1]);
    if (!(value >= 0 && value <= 400)) throw new InputError(subject, `${where}, kwh_m2 is "${cells[1] ?? ''}", expected 0 to 400 kWh/m² a month.`);
    if (values[month - 1] !== null) throw new InputError(subject, `${where}, month ${month} stands twice.`);
    values[month - 1] = value;
  });
  const absent = values.flatMap((value, i) => (value === null ? [i + 1] : []));
  if (absent.length > 0) throw new InputError(subject, `month ${absent.join(', ')} missing, expected twelve rows.`);
  return values as number[];
}
