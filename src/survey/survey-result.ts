import type { Cloud } from '../cloud/cloud.ts';
import type { Mesh } from '../cloud/mesh.ts';
import type { RoofRecord } from '../roof/record.ts';
import type { LocalFrame } from '../site/local-frame.ts';

/** A measured survey: the record, and the points it was made from. */
export interface SurveyResult {
  readonly record: RoofRecord;
  readonly cloud: Cloud;
  /** One array per cell, aligned with its points: 0 for a point on no roof plane, else a label. */
  readonly labels: readonly Uint16Array[];
  /** Record id of the plane of each label; null for label 0 and for labels that became no plane of the record. */
  readonly planeIds: readonly (string | null)[];
  /** In the local frame, metres, z up; for drawing. */
  readonly meshes: readonly Mesh[];
  readonly frame: LocalFrame;
}

export interface SurveyHooks {
  /** Stage in plain words, and its share done from 0 to 1. */
  readonly onProgress?: (stage: string, fraction: number) => void;
  /** The points are there, nothing is found yet: time for the first picture. */
  readonly onCloud?: (cloud: Cloud, frame: LocalFrame) => void;
  readonly signal?: AbortSignal;
}
