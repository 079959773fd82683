import type { Cloud } from '../cloud/cloud.ts';
import { findRoof } from '../find/find-roof.ts';
import { measureRoof, planeTable } from '../find/measure-roof.ts';
import { assumptionsWith } from '../reading/assumptions.ts';
import type { RecordSource, RoofRecord } from '../roof/record.ts';
import type { LocalFrame } from '../site/local-frame.ts';
import { radians, toDegrees } from '../units/quantity.ts';
import { measureKernelsOn, roofKernelsOn } from './runner-kernels.ts';
import { DEFAULT_SEED, type SurveyOptions } from './survey-options.ts';
import type { FoundPlanes, SurveyHooks } from './survey-result.ts';
import type { TaskRunner } from './task-runner.ts';
import { ROOFDATUM_VERSION } from './version.ts';

const CENTIMETRES_PER_METRE = 100;

export interface MeasuredCloud {
  readonly record: RoofRecord;
  readonly labels: readonly Uint16Array[];
  readonly planeIds: readonly (string | null)[];
  readonly found: FoundPlanes;
}

/** From points in memory to a record: finds the roof, measures it, writes it down. */
export async function surveyCloud(
  cloud: Cloud,
  frame: LocalFrame,
  sources: readonly RecordSource[],
  options: SurveyOptions,
  runner: TaskRunner,
  hooks: SurveyHooks,
): Promise<MeasuredCloud> {
  const { signal, onProgress } = hooks;
  const groundSampleDistance = options.gsdCm === undefined ? null : options.gsdCm / CENTIMETRES_PER_METRE;
  const segmentation = await findRoof(cloud, {}, roofKernelsOn(runner, signal), (fraction) => onProgress?.('finding planes', fraction));
  const roof = await measureRoof(cloud, segmentation, frame, { groundSampleDistance, assumptions: assumptionsWith(options.control) }, measureKernelsOn(runner, signal), (fraction) =>
    onProgress?.('measuring edges and what stands on the roof', fraction),
  );
  const record: RoofRecord = {
    schema: 'roofdatum-record/1',
    madeBy: { version: ROOFDATUM_VERSION, options: { ...options }, seed: options.seed ?? DEFAULT_SEED },
    sources,
    frame: { origin: frame.origin, gridToTrueDeg: toDegrees(radians(frame.gridToTrue)), scaleFactor: frame.scaleFactor },
    sampling: roof.sampling,
    buildings: roof.buildings,
    readings: [],
    tape: null,
    smallFeatures: roof.smallFeatures,
    keepClear: null,
    usable: null,
    layout: null,
    decisions: [],
  };
  const { ground, noise, pointSpacing, curvedSurfaces, separations } = segmentation;
  const found: FoundPlanes = { planes: planeTable(segmentation), buildingLabels: roof.buildingLabels, buildingBoxes: roof.buildingBoxes, ground, finding: { curvedSurfaces, separations }, noise, pointSpacing, gridToTrue: frame.gridToTrue };
  return { record, labels: segmentation.labels, planeIds: roof.planeIds, found };
}
