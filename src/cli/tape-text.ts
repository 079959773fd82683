import { partNames } from '../roof/part-names.ts';
import type { CheckedReading, CheckpointAccuracy, RoofRecord, SiteFit } from '../roof/record.ts';
import { isKnown, type Measured } from '../units/measured.ts';

/** A tape check for the terminal; the record must hold one. */
export function tapeText(record: RoofRecord): string {
  const check = record.tape!;
  const names = partNames(record);
  const [low, high] = check.rmseBracketM;
  const lines = [
    `verdict: ${check.verdict} (tolerance ${millimetres(check.toleranceM)}, ${check.count} lengths compared)`,
    ...(check.count > 0 ? [`bias ${written(check.biasM)}; RMSE ${millimetres(check.rmseM)}, true value between ${millimetres(low)} and ${millimetres(high)} (95 %)`] : []),
    ...(check.count === 0 ? [] : [`explanation: ${check.explanation.kind}; odds ${Object.entries(check.explanation.odds).map(([kind, odds]) => `${kind} ${Math.round(100 * odds)} %`).join(', ')}`, ...(check.explanation.why ? [`  ${check.explanation.why}`] : [])]),
    ...check.readings.flatMap(readingLines),
    ...instrumentLines(check.readings),
    ...(check.accuracy ? accuracyLines(check.accuracy) : []),
    ...(check.site ? siteLines(check.site) : []),
    ...(check.notes ?? []),
    ...(check.next.length > 0 ? ['tape next:'] : []),
    ...check.next.map(({ edge, why }) => `  ${names.get(edge) ?? ''} ${edge}: ${why}`),
  ];
  return `${lines.join('\n')}\n`;
}

function readingLines(row: CheckedReading): string[] {
  const number = row.residualDeg ?? row.residualM;
  const residual = isKnown(number) ? `ours minus tape ${written(number, row.residualDeg ? '°' : 'm')}  ${row.note ?? ''}` : number.why;
  const device = row.device ? `  [${row.device}, ${row.toleranceStated!.replace(/ \(.*/, '')}]` : '';
  return [
    `  ${row.id.padEnd(10)} ${row.verdict.padEnd(12)} ${residual}${device}`,
    ...(row.written ? [`  ${''.padEnd(10)} written down ${row.written}: ${(row.readM ?? row.tapeM.value!).toFixed(4)} m`] : []),
    ...(row.corrections ?? []).map(({ name, amountM, formula }) => `  ${''.padEnd(10)} ${name}: ${signed(amountM)} = ${formula}`),
    ...(row.corrections?.length ? [`  ${''.padEnd(10)} read ${row.readM!.toFixed(4)} m, corrected ${row.tapeM.value!.toFixed(4)} m (${row.corrections[0]!.source})`] : []),
  ];
}

/** Where the promise of each instrument is written. */
function instrumentLines(rows: readonly CheckedReading[]): string[] {
  const sources = new Map(rows.flatMap(({ device, toleranceStated }) => (device && toleranceStated ? [[device, /\((.*)\)$/.exec(toleranceStated)?.[1] ?? '']] : [])));
  return [...sources].map(([device, source]) => `${device}: ${source}`);
}

function accuracyLines({ rmseM, rmseHorizontalM, rmse3dM, nssdaHorizontal95M, nssdaVertical95M, statement }: CheckpointAccuracy): string[] {
  return [
    `checkpoints: RMSE x ${millimetres(rmseM[0])}, y ${millimetres(rmseM[1])}, z ${millimetres(rmseM[2])}, horizontal ${millimetres(rmseHorizontalM)}, in space ${millimetres(rmse3dM)}`,
    `  NSSDA (1998), 95 %: horizontal ${millimetres(nssdaHorizontal95M)}, vertical ${millimetres(nssdaVertical95M)}`,
    `  ${statement}`,
  ];
}

function siteLines(site: SiteFit): string[] {
  const trust = site.probability === null ? 'no redundancy' : `${site.degreesOfFreedom} degrees of freedom, probability ${site.probability.toFixed(3)}`;
  const parameter = (name: string, number: Measured, unit: string, factor = 1): string => {
    if (!isKnown(number)) return `  ${name.padEnd(18)} not known: ${number.why}`;
    const { value, u95 } = number;
    return `  ${name.padEnd(18)} ${(value * factor).toFixed(3).replace(/^-(0\.0+)$/, '$1')} ± ${(u95 * factor).toFixed(3)} ${unit}${Math.abs(value) > u95 ? ', significant' : ''}`;
  };
  return [
    `ours against ${site.points} checkpoints (${trust}):`,
    parameter('east', site.eastM, 'm'),
    parameter('north', site.northM, 'm'),
    parameter('up', site.upM, 'm'),
    parameter('rises to the north', site.tiltNorthDeg, '°'),
    parameter('rises to the east', site.tiltEastDeg, '°'),
    parameter('bearings', site.turnDeg, '°'),
    parameter('scale', site.scale, '%', 100),
  ];
}

const millimetres = (value: number): string => `${(1000 * value).toFixed(1)} mm`;
const signed = (metres: number): string => `${metres < 0 ? '−' : '+'}${millimetres(Math.abs(metres))}`;
const written = (number: Measured, unit = 'm'): string => (isKnown(number) ? `${number.value.toFixed(3).replace(/^-(0\.0+)$/, '$1')} ± ${number.u95.toFixed(3)} ${unit}` : number.why);
