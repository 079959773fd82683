import { planeElevationAt } from '../../geometry/plane.ts';
import { ringContains } from '../../geometry/polygon.ts';
import { length, subtract, type Vector2, type Vector3 } from '../../geometry/vector.ts';
import type { Building, RecordPick, RecordReading, RoofPlane, RoofRecord, SmallFeature } from '../../roof/record.ts';
import type { SurveyCommand } from '../commands.ts';
import { assumptionsOf } from '../measure/model-parts.ts';
import { withNumber, type NumberContext } from '../measure/make-readings.ts';
import { cornerSigma, planeHeightSigma } from '../measure/pick-sigma.ts';
import { snapTargets, type SnapTargets } from '../measure/snap-targets.ts';
import { nearestOnSegmentInSpace } from './nearest-in-space.ts';

/** A corner or an edge that shifted less is still the one a pick was taken on. [m] */
const SHIFTED_M = 0.5;
/** A plane under a pick lies no farther below or above it. [m] */
const LEVEL_M = 0.6;

export const TAKEN_AGAIN = 'taken again after the roof was corrected';
export const STALE = 'stale: ';

/** Whether a mark of a reading is gone since the roof was corrected. */
export const isStale = ({ note }: RecordReading): boolean => note?.startsWith(STALE) ?? false;

/**
 * What else changes in a record when one building becomes another: readings on it are taken again from the same marks,
 * or said to be stale where a mark is gone; pins find their plane.
 *
 * @param after  The building as it will stand.
 */
export function followBuilding(record: RoofRecord, after: Building): SurveyCommand[] {
  const before = record.buildings.find(({ id }) => id === after.id) ?? null;
  const buildings = before ? record.buildings.map((building) => (building === before ? after : building)) : [...record.buildings, after];
  const targets = snapTargets({ ...record, buildings });
  const { noiseM, pointSpacingM } = record.sampling;
  const context: NumberContext = { targets, buildings, noiseM, gridToTrueDeg: record.frame.gridToTrueDeg, assumptions: assumptionsOf(record) };
  if (!before) return [];
  const follow = follower(before, after, targets, { noiseM, spacingM: pointSpacingM });
  const readings = record.readings.flatMap((reading): SurveyCommand[] => {
    const next = followed(reading, follow, context);
    return next ? [{ kind: 'set-reading', reading: next }] : [];
  });
  const features = record.smallFeatures.flatMap((feature): SurveyCommand[] => {
    const next = movedFeature(feature, before, after);
    return next ? [{ kind: 'set-feature', feature: next }] : [];
  });
  return [...readings, ...features];
}

/** A pick on the changed building as it is now; the same one when nothing changed for it, null when its mark is gone. */
type Follow = (pick: RecordPick) => RecordPick | null;

function followed(reading: RecordReading, follow: Follow, context: NumberContext): RecordReading | null {
  const picks = reading.picks.map(follow);
  if (picks.some((pick) => pick === null)) {
    const lost = reading.picks[picks.indexOf(null)]!;
    const note = `${STALE}the ${lost.landedOn} of pick ${picks.indexOf(null) + 1} is no more`;
    return reading.note === note ? null : { ...reading, note };
  }
  const found = picks as RecordPick[];
  // Readings on other buildings, and those nothing changed for, stay untouched.
  if (JSON.stringify(found) === JSON.stringify(reading.picks)) return null;
  return { ...withNumber({ ...reading, picks: found }, context), note: TAKEN_AGAIN };
}

function follower(before: Building, after: Building, targets: SnapTargets, quality: { readonly noiseM: number; readonly spacingM: number }): Follow {
  return (pick) => {
    if (pick.landedOn === 'plane') return onPlane(pick, before, after, targets, quality);
    if (pick.landedOn === 'edge') return onEdge(pick, before, after);
    if (pick.landedOn === 'corner') return onCorner(pick, before, after, targets, quality);
    return pick;
  };
}

function onPlane(pick: RecordPick, before: Building, after: Building, targets: SnapTargets, quality: { readonly noiseM: number; readonly spacingM: number }): RecordPick | null {
  const old = before.roofPlanes.find(({ id }) => id === pick.of);
  if (!old) return pick;
  const place: Vector2 = [pick.at[0], pick.at[1]];
  const now = after.roofPlanes.find(({ id, outline }) => id === pick.of && ringContains(outline, place)) ?? planeUnder(after, pick.at);
  if (!now) return null;
  if (now === old) return pick;
  const target = targets.planes.find(({ id }) => id === now.id);
  if (!target) return null;
  return { at: [...place, planeElevationAt(now, place)], landedOn: 'plane', of: now.id, sigmaM: [pick.sigmaM[0], pick.sigmaM[1], planeHeightSigma(target, pick.at, quality)] };
}

const planeUnder = (building: Building, at: Vector3): RoofPlane | undefined =>
  building.roofPlanes.find((plane) => plane.normal[2] > 0.05 && ringContains(plane.outline, [at[0], at[1]]) && Math.abs(planeElevationAt(plane, [at[0], at[1]]) - at[2]) < LEVEL_M);

function onEdge(pick: RecordPick, before: Building, after: Building): RecordPick | null {
  const old = before.edges.find(({ id }) => id === pick.of);
  if (!old) return pick;
  const now = after.edges.find(({ id }) => id === pick.of) ?? after.edges.find((edge) => length(subtract(nearestOnSegmentInSpace(edge.from, edge.to, pick.at), pick.at)) < SHIFTED_M / 5);
  if (!now) return null;
  if (now === old) return pick;
  const at = nearestOnSegmentInSpace(now.from, now.to, pick.at);
  return length(subtract(at, pick.at)) < SHIFTED_M ? { ...pick, at, of: now.id } : null;
}

function onCorner(pick: RecordPick, before: Building, after: Building, targets: SnapTargets, quality: { readonly noiseM: number; readonly spacingM: number }): RecordPick | null {
  const old = before.roofPlanes.find(({ id }) => id === pick.of);
  if (!old) return pick;
  const now = after.roofPlanes.find(({ id }) => id === pick.of);
  if (now === old) return pick;
  // A corner a hand moved is the same corner as long as its plane has as many.
  const index = old.outline.findIndex((corner) => length(subtract(corner, pick.at)) < 0.05);
  const moved = now && index >= 0 && now.outline.length === old.outline.length ? now.outline[index]! : null;
  const near = targets.corners.filter(({ at }) => length(subtract(at, moved ?? pick.at)) < (moved ? 0.06 : SHIFTED_M));
  const corner = near.toSorted((a, b) => length(subtract(a.at, moved ?? pick.at)) - length(subtract(b.at, moved ?? pick.at)))[0];
  return corner ? { at: corner.at, landedOn: 'corner', of: corner.of, sigmaM: cornerSigma(corner, quality) } : null;
}

function movedFeature(feature: SmallFeature, before: Building, after: Building): SmallFeature | null {
  if (feature.onPlane === null || !before.roofPlanes.some(({ id }) => id === feature.onPlane)) return null;
  if (after.roofPlanes.some(({ id, outline }) => id === feature.onPlane && ringContains(outline, [feature.at[0]![0], feature.at[0]![1]]))) return null;
  const under = planeUnder(after, feature.at[0]!)?.id ?? null;
  return under === feature.onPlane ? null : { ...feature, onPlane: under };
}
