import type { RoofRecord } from '../../roof/record.ts';
import { IntervalList } from './interval-list.ts';
import { localTruth } from './local-truth.ts';
import { scoreEdges } from './score-edges.ts';
import { compareOutline } from './score-outlines.ts';
import { comparePlane, scorePlanes, type PlanePair } from './score-planes.ts';
import { scoreDrains, scoreObstructions, scoreParapets } from './score-things.ts';
import type { Score } from './score.ts';
import type { Truth } from './truth.ts';

/**
 * Judges a record against the truth, thing by thing.
 *
 * Planes pair one to one by greatest overlap in plan (intersection over union, Hungarian), only where they differ by less
 * than 10° and 0.1 m; from 0.5 a pair counts as found. Angles, areas, outlines are compared on found pairs; edges pair by
 * common length, obstructions by footprint; every interval the record states is kept with its error.
 *
 * @param record  Any valid record; its frame places it.
 * @param truth  Source coordinates.
 * @param scene  Name under which the entries stand when scores are pooled. Default: kind and seed of the truth.
 */
export function scoreRecord(record: RoofRecord, truth: Truth, scene = `${truth.scene.kind} ${truth.scene.seed}`): Score {
  const local = localTruth(truth, record.frame.origin);
  const intervals = new IntervalList(scene);
  const planes = scorePlanes(record, local, scene);
  const outlines = planes.pairs.map((pair) => compareOutline(pair, local, scene));
  const planeMatches = planes.pairs.map((pair) => comparePlane(pair, record, intervals));
  const edges = scoreEdges(record, local, intervals);
  const obstructions = scoreObstructions(record, local, intervals);
  const parapets = scoreParapets(record, local, intervals);
  const drains = scoreDrains(record, local, scene);
  scoreGround(record, local, planes.pairs, intervals);
  scoreRoofAreas(record, local, planes.pairs, intervals);
  return {
    scenes: [{
      scene, spacingM: truth.sampling.spacingM, groundSampleDistanceM: truth.sampling.groundSampleDistanceM, buildingCount: truth.buildings.length,
    }],
    truthPlanes: planes.truthPlanes, recordPlanes: planes.recordPlanes, planesOnCurves: planes.planesOnCurves, topology: planes.topology,
    planeMatches, sides: outlines.flatMap((o) => o.sides), outlines: outlines.map((o) => o.outline),
    ...edges, ...obstructions, ...parapets, ...drains,
    intervals: intervals.seen, unknowns: intervals.unknowns,
  };
}

/** Ground below each building of the record that holds a found plane. */
function scoreGround(record: RoofRecord, truth: Truth, pairs: readonly PlanePair[], intervals: IntervalList): void {
  for (const building of record.buildings) {
    const pair = pairs.find((p) => building.roofPlanes.includes(p.record));
    const real = pair && truth.buildings.find((b) => b.id === pair.truth.building);
    if (real) intervals.add('ground elevation', building.id, building.groundElevationM, real.groundElevationM);
  }
}

/** Area of all planes together, of buildings whose planes were all found and no others. */
function scoreRoofAreas(record: RoofRecord, truth: Truth, pairs: readonly PlanePair[], intervals: IntervalList): void {
  for (const { id, roofPlanes, roofArea } of record.buildings) {
    const own = pairs.filter((pair) => roofPlanes.includes(pair.record));
    if (!roofArea || own.length === 0 || own.length < roofPlanes.length) continue;
    const buildings = new Set(own.map((pair) => pair.truth.building));
    const there = truth.planes.filter(({ building }) => buildings.has(building));
    if (there.length === own.length) intervals.add('roof area', id, roofArea.slopeAreaM2, there.reduce((sum, { slopeAreaM2 }) => sum + slopeAreaM2, 0) / record.frame.scaleFactor ** 2);
  }
}
