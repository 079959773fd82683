import type { Vector3 } from '../../geometry/vector.ts';
import type { Assumptions } from '../../reading/assumptions.ts';
import type { RecordPick, RecordReading } from '../../roof/record.ts';
import type { CorrectTool } from '../../survey/correct/correct-step.ts';
import type { MeasureTool } from '../../survey/measure/measure-step.ts';
import type { Snap } from '../../survey/measure/snap.ts';
import type { UnitChoice } from '../../units/written-reading.ts';
import type { ClipBox } from '../clip-box.ts';
import type { FittingLines } from './fitting-lines.ts';
import type { HiddenLines } from '../hidden-lines.ts';
import type { Projection, ViewName } from '../projection.ts';
import type { PartRef, RoofScene } from '../scene.ts';
import type { CutPiece, SectionLine } from '../section-cut.ts';

/** Everything one picture in ink depends on; the same frame gives the same picture. */
export interface InkFrame {
  readonly name: ViewName;
  readonly view: Projection;
  readonly scene: RoofScene | null;
  /** The building whose parts carry letters; others are drawn thin. */
  readonly building: string | null;
  readonly selection: PartRef | null;
  readonly units: UnitChoice;
  readonly gridToTrueDeg: number;
  readonly noiseM: number;
  readonly assumptions: Assumptions;
  /** Elevation of the local frame's zero. [m] */
  readonly zeroElevationM: number;
  readonly hidden: HiddenLines | null;
  readonly sectionLine: SectionLine | null;
  readonly clip: ClipBox | null;
  readonly cut: readonly CutPiece[];
  readonly readings: readonly RecordReading[];
  readonly measuring: { readonly tool: MeasureTool | CorrectTool | 'section' | 'pin' | 'region' | 'clip'; readonly picks: readonly RecordPick[] } | null;
  readonly snap: Snap | null;
  /** Measured points about the place that would be taken, for the detail. */
  readonly detail: readonly Vector3[];
  /** What the points' colours mean: a number they span [m], or classes. */
  readonly pointColours: { readonly by: 'elevation' | 'residual'; readonly from: number; readonly to: number } | { readonly by: 'class'; readonly classes: readonly number[] } | null;
  readonly layers: InkLayers;
  /** Zones where nothing may stand, usable area and module places, when the record holds them. */
  readonly fitting: FittingLines | null;
  readonly compact: boolean;
  /** Neither points nor a roof: nothing has a size yet. */
  readonly blank: boolean;
}

export interface InkLayers {
  readonly edges: boolean;
  readonly letters: boolean;
  readonly things: boolean;
  readonly readings: boolean;
}
