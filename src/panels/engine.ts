import type { LabelledCloudCell } from '../find/remeasure-building.ts';
import type { Vector3 } from '../geometry/vector.ts';
import type { Parapet } from '../roof/record.ts';
import type { Refit, RefitOrder } from '../survey/correct/refit-building.ts';
import type { ReadRecord, ToRecordReader } from '../survey/record-reader.ts';
import type { SurveyOptions } from '../survey/survey-options.ts';
import type { SurveyHooks, SurveyResult } from '../survey/survey-result.ts';
import type { SourceHandle } from '../survey/source-handle.ts';

/** What the panels need done elsewhere: in workers, from the bundle. Handed in by whoever puts the page together. */
export interface Engine {
  survey(files: readonly SourceHandle[], options: SurveyOptions, hooks: SurveyHooks): Promise<SurveyResult>;
  /** Measures one building again after something was said of its points. */
  refit(cells: readonly LabelledCloudCell[], order: RefitOrder, signal: AbortSignal): Promise<{ readonly refit: Refit }>;
  /** Measures a parapet along a line a person drew. */
  parapet(cells: readonly LabelledCloudCell[], order: RefitOrder, path: readonly Vector3[], signal: AbortSignal): Promise<{ readonly parapet: Omit<Parapet, 'id'> }>;
  /** Reads and checks a record, or a survey that was kept. @throws InputError when it is none. */
  readRecord(question: ToRecordReader): Promise<ReadRecord>;
  /** The survey that comes with the page. */
  sample(): Promise<File>;
}
