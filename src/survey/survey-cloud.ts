import type { Cloud } from '../cloud/cloud.ts';
import { findRoof } from '../find/find-roof.ts';
import { measureRoof, planeTable } from '../find/measure-roof.ts';
import { assumptionsWith } from '../reading/assumptions.ts';
import type { RecordSource, RoofRecord } from '../roof/record.ts';
import type { LocalFrame } from '../site/local-frame.ts';
import { radians, toDegrees } from '../units/quantity.ts';
import { letGo } from './let-go.ts';
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

/** Share of finding after which the points have been summed and this thread works alone for a while. */
const POINTS_SUMMED = 0.3;

/**
 * From points in memory to a record: finds the roof, measures it, writes it down.
 *
 * @param describeSources  Called once, while the runner's threads have nothing else to do: reading every byte of the files
 *   once more, for their hashes, delays nothing then.
 */
export async function surveyCloud(
  cloud: Cloud,
  frame: LocalFrame,
  describeSources: () => Promise<readonly RecordSource[]>,
  options: SurveyOptions,
  runner: TaskRunner,
  hooks: SurveyHooks,
): Promise<MeasuredCloud> {
  const { signal, onProgress } = hooks;
  const groundSampleDistance = options.gsdCm === undefined ? null : options.gsdCm / CENTIMETRES_PER_METRE;
  let sources: Promise<readonly RecordSource[]> | null = null;
  const segmentation = await findRoof(cloud, {}, roofKernelsOn(runner, signal), (fraction) => {
    onProgress?.('finding planes', fraction);
    if (sources || fraction < POINTS_SUMMED) return;
    void letGo(runner, hooks).catch(() => undefined);
    sources = describeSources();
    sources.catch(() => undefined); // What goes wrong is thrown where it is awaited.
  });
  await letGo(runner, hooks);
  const roof = await measureRoof(cloud, segmentation, frame, { groundSampleDistance, assumptions: assumptionsWith(options.control), mayReorder: hooks.positionsOnly === true }, measureKernelsOn(runner, signal), (fraction) =>
    onProgress?.('measuring edges and what stands on the roof', fraction),
  );
  const record: RoofRecord = {
    schema: 'roofdatum-record/1',
    madeBy: { version: ROOFDATUM_VERSION, options: { ...options }, seed: options.seed ?? DEFAULT_SEED },
    sources: await (sources ?? describeSources()),
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
  const { ground, noise, pointSpacing, curvedSurfaces, separations, joins } = segmentation;
  const found: FoundPlanes = { planes: planeTable(segmentation), buildingLabels: roof.buildingLabels, buildingBoxes: roof.buildingBoxes, ground, finding: { curvedSurfaces, separations, joins }, noise, pointSpacing, gridToTrue: frame.gridToTrue };
  return { record, labels: segmentation.labels, planeIds: roof.planeIds, found };
}
