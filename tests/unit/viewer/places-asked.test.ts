import { expect, test } from 'vitest';
import type { Vector3 } from '../../../src/geometry/vector.ts';
import type { RecordPick } from '../../../src/roof/record.ts';
import type { SnapTargets } from '../../../src/survey/measure/snap-targets.ts';
import { placesAsked } from '../../../src/viewer/places-asked.ts';

const outline: readonly Vector3[] = [[0, 0, 2], [4, 0, 2], [4, 4, 2], [0, 4, 2]];
const targets: SnapTargets = {
  corners: outline.map((at) => ({ at, of: 'b1.p1', name: 'corner', key: String(at), sidewaysSigmaM: null, planeCount: 1, planes: [], slope: 0 })),
  edges: [{ id: 'b1.e1', key: 'b1.e1', name: 'E1', from: [0, 0, 2], to: [4, 0, 2], sidewaysSigmaM: null, planes: [], slope: 0 }],
  planes: [{ id: 'b1.p1', name: 'p1', normal: [0, 0, 1], offset: -2, outline, holes: [], evidence: null, pointCount: 9 }],
};
const pick: RecordPick = { at: [1, 1, 2], landedOn: 'plane', of: 'b1.p1', sigmaM: [0, 0, 0] };

test('keys go to what the tool asks for next: an edge for a new corner, then corners; planes for what is said of planes', () => {
  expect(placesAsked({ tool: 'add-corner', picks: [] }, targets)).toEqual([[2, 0, 2]]);
  expect(placesAsked({ tool: 'add-corner', picks: [pick] }, targets)).toEqual(outline);
  expect(placesAsked({ tool: 'merge', picks: [] }, targets)).toEqual([[2, 2, 2]]);
  expect(placesAsked({ tool: 'height-above-roof', picks: [] }, targets)).toEqual([[2, 2, 2]]);
  expect(placesAsked({ tool: 'height-above-roof', picks: [pick] }, targets)).toEqual(outline);
  expect(placesAsked({ tool: 'split', picks: [] }, targets)).toEqual([...outline, [2, 0, 2]]);
  expect(placesAsked({ tool: 'distance', picks: [] }, targets)).toEqual(outline);
});
