import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, expect, test } from 'vitest';
import { seededRandom } from '../../src/geometry/seeded-random.ts';
import { length, subtract, type Vector3 } from '../../src/geometry/vector.ts';
import { directRunner } from '../../src/survey/direct-runner.ts';
import { portableEnvironment } from '../../src/survey/portable-environment.ts';
import { surveyFiles } from '../../src/survey/survey-files.ts';
import { planeElevationAt } from '../../src/geometry/plane.ts';
import { twoPickNumbers } from '../../src/survey/measure/numbers.ts';
import { snapAt } from '../../src/survey/measure/snap.ts';
import { snapTargets, type SnapTargets } from '../../src/survey/measure/snap-targets.ts';
import type { PickRay } from '../../src/survey/measure/pick-ray.ts';
import type { RecordPick, Sampling } from '../../src/roof/record.ts';
import { isKnown } from '../../src/units/measured.ts';

/**
 * Whether the ± of measured numbers hold, against the truth file of the sample: a person points straight down at true
 * corners and at places on true roof planes, and measures between them.
 */

const SAMPLE = join(import.meta.dirname, '..', '..', 'sample-data');
const PICKS = 200;
/** A corner that was found farther off than this is another corner. [m] */
const SAME_CORNER = 0.2;

interface Place {
  readonly truth: Vector3;
  readonly pick: RecordPick;
}

let places: Place[] = [];

beforeAll(async () => {
  const handle = { name: 'harbour-works.las', where: new Uint8Array(readFileSync(join(SAMPLE, 'harbour-works.las'))) };
  const { record } = await surveyFiles([handle], {}, directRunner(portableEnvironment));
  const truth = JSON.parse(readFileSync(join(SAMPLE, 'harbour-works.truth.json'), 'utf8')) as { planes: { roof: string; normal: Vector3; ring: Vector3[] }[] };
  const targets = snapTargets(record);
  const local = (corner: Vector3): Vector3 => subtract(corner, record.frame.origin);
  const random = seededRandom(5);
  places = truth.planes.flatMap(({ ring, normal }) => {
    const corners = ring.map(local);
    const inside = Array.from({ length: 3 }, () => placeInside(corners, normal, random));
    return [...corners, ...inside].flatMap((at) => pickAt(at, targets, record.sampling));
  });
});

/** A random mix of the first three corners, on the true plane. */
function placeInside([a, b, c]: Vector3[], normal: Vector3, random: ReturnType<typeof seededRandom>): Vector3 {
  const [u, v] = [0.2 + 0.3 * random.uniform(), 0.2 + 0.3 * random.uniform()];
  const at = [0, 1].map((axis) => a![axis]! + u * (b![axis]! - a![axis]!) + v * (c![axis]! - a![axis]!)) as [number, number];
  const offset = -(normal[0] * a![0] + normal[1] * a![1] + normal[2] * a![2]);
  return [at[0], at[1], planeElevationAt({ normal, offset }, at)];
}

function pickAt(truth: Vector3, targets: SnapTargets, { pointSpacingM, noiseM }: Sampling): Place[] {
  const ray: PickRay = { origin: [truth[0], truth[1], 100], direction: [0, 0, -1], right: [1, 0, 0], up: [0, 1, 0], metresPerPixel: 0.01 };
  const snap = snapAt(ray, targets, { snapping: true, previous: null, point: null, spacingM: pointSpacingM, noiseM });
  // A plane pick stands plumb under the pointer; an edge is no place that the truth file tells.
  if (!snap || snap.pick.landedOn === 'edge' || length(subtract(snap.pick.at, truth)) > SAME_CORNER) return [];
  return [{ truth, pick: snap.pick }];
}

test(`of ${PICKS} distances, level distances and heights at least 93 in 100 hold the truth within their ±`, () => {
  expect(places.length).toBeGreaterThan(60);
  const random = seededRandom(17);
  const any = (): Place => places[Math.floor(random.uniform() * places.length)]!;
  let [held, made] = [0, 0];
  while (made < PICKS) {
    const [from, to] = [any(), any()];
    const between = subtract(to.truth, from.truth);
    if (length(between) < 1) continue;
    const { slope, level, height } = twoPickNumbers(from.pick, to.pick);
    const [ours, true_] = [[slope, length(between)], [level, Math.hypot(between[0], between[1])], [height, between[2]]][made % 3] as [typeof slope, number];
    if (isKnown(ours) && Math.abs(ours.value - true_) <= ours.u95) held++;
    made++;
  }
  expect(held / PICKS).toBeGreaterThanOrEqual(0.93);
});
