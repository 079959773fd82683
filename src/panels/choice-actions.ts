import { batch } from '@preact/signals';
import type { Vector2 } from '../geometry/vector.ts';
import type { UnitChoice } from '../units/written-reading.ts';
import { boxBetween, type ClipBox } from '../viewer/clip-box.ts';
import { AnswerActions } from './answer-actions.ts';
import type { PaperName } from './store.ts';

/** What a person chose for the sheet: paper, units and initials, which are kept, and where points are shown. */
export class ChoiceActions extends AnswerActions {
  /** Shows no points outside a box whose corners in plan were given. */
  clipBetween(from: Vector2, to: Vector2, site: ClipBox | null): void {
    const { clip, tool } = this.store;
    if (site) batch(() => ([clip.value, tool.value] = [boxBetween(from, to, clip.value ?? site), 'none']));
    this.say('Points outside are left out, in every view and of every pick. Its sides and heights stand under "shown".', 'Clip box.');
  }

  startClipping(): void {
    const { tool, view } = this.store;
    batch(() => ([view.value, tool.value] = ['plan', 'clip']));
    this.say('Drag over what shall be shown, or click two opposite corners.', 'Clip box.');
  }

  /** Brings back paper, units and initials of the last visit. */
  async restoreChoices(): Promise<void> {
    const [paper, units, initials] = await Promise.all(['paper', 'units', 'initials'].map((key) => this.keeping?.chosen(key)));
    batch(() => {
      if (paper === 'film' || paper === 'vandyke') this.store.paper.value = paper;
      if (isUnitChoice(units)) this.store.units.value = units;
      if (typeof initials === 'string') this.store.initials.value = initials;
    });
  }

  choosePaper(paper: PaperName): void {
    this.store.paper.value = paper;
    void this.keeping?.choose('paper', paper);
  }

  chooseUnits(units: UnitChoice): void {
    this.store.units.value = units;
    void this.keeping?.choose('units', units);
  }

  setInitials(initials: string): void {
    this.store.initials.value = initials;
    void this.keeping?.choose('initials', initials);
  }
}

function isUnitChoice(value: unknown): value is UnitChoice {
  const choice = value as Partial<UnitChoice> | undefined;
  return ['m', 'mm', 'ft-in'].includes(choice?.length ?? '') && ['deg', 'percent', 'in-12'].includes(choice?.pitch ?? '');
}
