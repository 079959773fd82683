import type { RoofPlane } from '../../src/roof/record.ts';
import { quantile } from '../../src/survey/score/statistics.ts';
import { angleBetween, GREATEST_ANGLE, LEAST_SHARE } from './compare-faces.ts';
import { heightAbove } from './face-points.ts';
import { tellings, type NeighbourLines } from './neighbour-lines.ts';
import type { ListedFace } from './published-faces.ts';

/** In parts of the median density of the faces: fewer points show no surface. [-] */
const THIN = 0.25;
/** Share of a face that planes of ours in its plane cover, for it to count as found in part. [-] */
const IN_PART = 0.1;

const CAUSES = [
  'runs on into a neighbour; the points do not show the line, though it is taken as known',
  'runs on into a neighbour; noise alone would tell them, but no step does',
  'runs on into a neighbour, though a step shows the line',
  'found; the reference lies more than 2° off a robust fit of the face\'s own points',
  'found in pieces: several planes of ours make up half of it',
  'found in part: dormers and other things take more than half of it from its plane',
  'a plane of ours covers it, turned by more than 2°',
  'not found',
  'too few points: under a quarter of the others\' density',
  'ground drawn with the model',
] as const;
type Cause = (typeof CAUSES)[number];

/** Why published faces have no plane of ours of their own: counts by cause, and each one by name. */
export function causeLines(
  faces: readonly ListedFace[],
  planes: readonly RoofPlane[],
  shares: readonly (readonly number[])[],
  partner: readonly (RoofPlane | null)[],
  lines: NeighbourLines,
): string[] {
  const density = quantile(faces.map(densityOf), 0.5) ?? 0;
  const named = new Map<Cause, string[]>();
  faces.forEach((face, i) => {
    if (partner[i]) return;
    const cause = causeOf(face, i);
    named.set(cause, [...(named.get(cause) ?? []), describe(face, i)]);
  });
  const missed = faces.length - partner.filter((p) => p !== null).length;
  return [
    `Why ${missed} of ${faces.length} have none of their own:`, '', '| cause | faces | which (slope area; of our planes there: share of the face, angle to the list and to trimmed least squares) |', '| - | - | - |',
    ...CAUSES.flatMap((cause) => (named.has(cause) ? [`| ${cause} | ${named.get(cause)!.length} | ${named.get(cause)!.join('; ')} |`] : [])),
  ];

  function causeOf(face: ListedFace, i: number): Cause {
    if (face.isGround) return CAUSES[9];
    if (densityOf(face) < THIN * density) return CAUSES[8];
    const there = planes.flatMap((plane, j) => (shares[i]![j]! > 0 ? [{ plane, share: shares[i]![j]!, angle: angleBetween(plane.normal, face.normal), robust: angleBetween(plane.normal, face.trimmed.normal) }] : []));
    const whole = there.filter(({ share }) => share >= LEAST_SHARE);
    const taken = whole.find(({ angle }) => angle < GREATEST_ANGLE);
    if (taken) return runningOn(face, planes.indexOf(taken.plane));
    if (whole.some(({ robust }) => robust < GREATEST_ANGLE)) return CAUSES[3];
    const inPlane = there.filter(({ robust }) => robust < GREATEST_ANGLE).reduce((sum, { share }) => sum + share, 0);
    if (inPlane >= LEAST_SHARE) return CAUSES[4];
    if (inPlane >= IN_PART) return CAUSES[5];
    return whole.some(({ robust }) => robust < 5) ? CAUSES[6] : CAUSES[7];
  }

  /** Of the neighbours that our plane covers as well, the one that is least apart decides. */
  function runningOn(face: ListedFace, j: number): Cause {
    const [byNoise, , byStep] = tellings(lines);
    const tests = lines.pairs.flatMap(({ first, second, test }) => {
      const other = first === face ? second : second === face ? first : null;
      return other && shares[faces.indexOf(other)]![j]! >= LEAST_SHARE ? [test] : [];
    });
    if (tests.some((test) => !byNoise!.tells(test) && !byStep!.tells(test))) return CAUSES[0];
    return tests.some((test) => !byStep!.tells(test)) ? CAUSES[1] : CAUSES[2];
  }

  function describe(face: ListedFace, i: number): string {
    const there = planes.map((plane, j) => ({ plane, share: shares[i]![j]! })).filter(({ share }) => share > 0.1).sort((a, b) => b.share - a.share).slice(0, 2)
      .map(({ plane, share }) => `${share.toFixed(2)}, ${angleBetween(plane.normal, face.normal).toFixed(1)}°, ${angleBetween(plane.normal, face.trimmed.normal).toFixed(1)}°`);
    const on = face.points.filter((p) => Math.abs(heightAbove(face.trimmed, p)) < Math.max(0.06, 3 * face.trimmed.rms)).length;
    return `${face.name} ${face.areaM2.toFixed(0)} m²${there.length > 0 ? ` (${there.join(' | ')}; ${((100 * on) / face.points.length).toFixed(0)} % of its points in its plane)` : ''}`;
  }
}

/** Points in plan over slope area: enough to tell thin from usual. [1/m²] */
const densityOf = ({ points, areaM2, trimmed }: ListedFace): number => points.length / (areaM2 * Math.max(0.1, trimmed.normal[2]));
