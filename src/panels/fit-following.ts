import type { BuildingStands } from '../layout/refit-building.ts';
import type { Building, ModuleLayout, RoofRecord } from '../roof/record.ts';
import type { FitWishes } from '../survey/fit-messages.ts';

/** The roof and the wishes a layout was made for. */
export interface MadeFor {
  readonly buildings: readonly Building[];
  readonly refused: ReadonlySet<string>;
  /** Null where they are not known: the layout came with the record. */
  readonly wishes: FitWishes | null;
  /** Buildings of which a first answer stands, the light on their modules being worked out. */
  readonly first: readonly (StaleBuilding & { readonly stands: BuildingStands })[];
}

/** A building whose roof is not the one its modules were placed on. */
export interface StaleBuilding {
  readonly id: string;
  /** The obstruction that was refused, where nothing else changed. */
  readonly gone: string | null;
}

/** Remembers what each layout was made for, also those undo brings back. */
export class LayoutBook {
  private readonly made = new WeakMap<ModuleLayout, MadeFor>();

  of(layout: ModuleLayout): MadeFor | undefined {
    return this.made.get(layout);
  }

  enter(layout: ModuleLayout | null | undefined, made: MadeFor): void {
    if (layout) this.made.set(layout, made);
  }
}

/** Buildings that changed, or of which something was refused or accepted, since a layout was made. */
export function staleBuildings({ buildings }: RoofRecord, refused: ReadonlySet<string>, made: MadeFor): StaleBuilding[] {
  if (buildings === made.buildings && sameIds(refused, made.refused)) return [];
  const before = new Map(made.buildings.map((building) => [building.id, building]));
  const judged = new Set([...refused].filter((id) => !made.refused.has(id)));
  const accepted = [...made.refused].filter((id) => !refused.has(id));
  return buildings.flatMap((building): StaleBuilding[] => {
    const ids = partsOf(building);
    const gone = [...judged].filter((id) => ids.has(id));
    const back = accepted.some((id) => ids.has(id));
    const changed = before.get(building.id) !== building;
    if (!changed && gone.length === 0 && !back) return [];
    const isOneThing = !changed && !back && gone.length === 1 && building.obstructions.some(({ id }) => id === gone[0]);
    return [{ id: building.id, gone: isOneThing ? gone[0]! : null }];
  });
}

const sameIds = (a: ReadonlySet<string>, b: ReadonlySet<string>): boolean => a.size === b.size && [...a].every((id) => b.has(id));

const partsOf = ({ roofPlanes, edges, parapets, obstructions, lowPoints }: Building): Set<string> =>
  new Set([roofPlanes, edges, parapets, obstructions, lowPoints].flatMap((list) => list.map(({ id }) => id)));
