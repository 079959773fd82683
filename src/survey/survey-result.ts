import type { Cloud } from '../cloud/cloud.ts';
import type { Mesh } from '../cloud/mesh.ts';
import type { GroundModel, Segmentation } from '../find/segmentation.ts';
import type { RoofRecord } from '../roof/record.ts';
import type { LocalFrame } from '../site/local-frame.ts';

/** What a correction of one building starts from. */
export interface FoundPlanes {
  /** Four numbers a label, label 0 included: unit normal and offset of the plane its points were found on. */
  readonly planes: Float64Array;
  /** Labels of each building of the record, in the record's order. */
  readonly buildingLabels: readonly (readonly number[])[];
  /** Least and greatest x and y looked at for each of them. Local frame. [m] */
  readonly buildingBoxes: readonly (readonly [number, number, number, number])[];
  readonly ground: GroundModel;
  /** Which of them stand for curved surfaces, and how sure neighbours are two planes. */
  readonly finding: Pick<Segmentation, 'curvedSurfaces' | 'separations' | 'joins'>;
  /** One sigma of points about their local plane. [m] */
  readonly noise: number;
  /** [m] */
  readonly pointSpacing: number;
  /** Angle to add to a grid bearing to get a true one. [rad] */
  readonly gridToTrue: number;
}

/** A measured survey: the record, and the points it was made from. */
export interface SurveyResult {
  readonly record: RoofRecord;
  readonly cloud: Cloud;
  /** One array per cell, aligned with its points: 0 for a point on no roof plane, else a label. */
  readonly labels: readonly Uint16Array[];
  /** Record id of the plane of each label; null for label 0 and for labels that became no plane of the record. */
  readonly planeIds: readonly (string | null)[];
  readonly found: FoundPlanes;
  /** In the local frame, metres, z up; for drawing. */
  readonly meshes: readonly Mesh[];
  readonly frame: LocalFrame;
}

export interface SurveyHooks {
  /** Stage in plain words, and its share done from 0 to 1. */
  readonly onProgress?: (stage: string, fraction: number) => void;
  /** Points to show before anything is found: a growing sample while files are read, then all of them. In a page the last is a sample too. */
  readonly onCloud?: (cloud: Cloud, frame: LocalFrame) => void;
  /** True where nobody will draw the points: their colours, intensities and classes are neither read nor kept, and a cell's points may be left in any order. Default false. */
  readonly positionsOnly?: boolean;
  /**
   * Frees at once what nothing refers to any more, where the platform lets one ask. Large arrays otherwise stay until others
   * have been made beside them: a sixth of the memory of a large survey.
   */
  readonly collect?: () => void;
  readonly signal?: AbortSignal;
}
