import type { Cloud } from '../cloud/cloud.ts';
import type { Building } from '../roof/record.ts';
import type { LocalFrame } from '../site/local-frame.ts';
import type { CrossedError } from './crossed-error.ts';
import type { SourceHandle } from './source-handle.ts';
import type { SurveyOptions } from './survey-options.ts';
import type { SurveyResult } from './survey-result.ts';

/**
 * A survey keeps a page responsive only when the page's own thread does none of its work. So one worker coordinates and
 * the others do tasks for it. The page alone can start workers: it hands the coordinator one end of a channel for each.
 */
export type ToCoordinator =
  | { readonly kind: 'survey'; readonly files: readonly SourceHandle[]; readonly options: SurveyOptions; readonly width: number }
  | { readonly kind: 'cancel' }
  | { readonly kind: 'died'; readonly seat: number; readonly why: string };

export type FromCoordinator =
  | { readonly kind: 'start'; readonly seat: number; readonly port: MessagePort }
  | { readonly kind: 'end'; readonly seat: number }
  | { readonly kind: 'progress'; readonly stage: string; readonly fraction: number }
  | { readonly kind: 'cloud'; readonly cloud: Cloud; readonly frame: LocalFrame }
  // A record of many buildings in one message would hold up the page: each comes in a message of its own, before the rest.
  | { readonly kind: 'building'; readonly building: Building }
  | { readonly kind: 'done'; readonly result: SurveyResult }
  | { readonly kind: 'failed'; readonly error: CrossedError | null };
