import { binIntoCells, type CellFragment, type LocalPoints } from '../cloud/bin-into-cells.ts';
import { assembleCloud } from '../cloud/build-cloud.ts';
import type { Cell, CellGrid, Cloud } from '../cloud/cloud.ts';
import { InputError } from '../units/input-error.ts';
import { runInOrder, type TaskRunner } from './task-runner.ts';

/** Gathers what was binned, cell by cell, until every part is read. */
export class CellCollector {
  private readonly fragmentsOf = new Map<number, CellFragment[]>();
  pointCount = 0;

  constructor(readonly grid: CellGrid) {}

  add(fragments: readonly CellFragment[]): void {
    for (const fragment of fragments) {
      const key = fragment.row * this.grid.columns + fragment.column;
      const known = this.fragmentsOf.get(key);
      if (known) known.push(fragment);
      else this.fragmentsOf.set(key, [fragment]);
      this.pointCount += fragment.pointCount;
    }
  }

  addPoints(points: LocalPoints): void {
    this.add(binIntoCells(points, this.grid));
  }

  /**
   * Finishes every cell in the runner's threads and lets its fragments go.
   *
   * @throws InputError when no point was kept.
   */
  async finish(subject: string, runner: TaskRunner, options: Parameters<typeof runInOrder>[5]): Promise<Cloud> {
    const keys = [...this.fragmentsOf.keys()].sort((a, b) => a - b);
    if (keys.length === 0) throw new InputError(subject, 'no point lies in the region asked for.');
    const cells = new Array<Cell>(keys.length);
    await runInOrder(
      runner,
      'finish-cells',
      keys.length,
      (index) => {
        const fragments = this.fragmentsOf.get(keys[index]!)!;
        this.fragmentsOf.delete(keys[index]!);
        return { input: { grid: this.grid, fragments: [fragments], shared: runner.sharesMemory }, transfer: buffersOfFragments(fragments) };
      },
      (finished, index) => (cells[index] = finished[0]!),
      options,
    );
    return assembleCloud(this.grid, cells);
  }
}

function buffersOfFragments(fragments: readonly CellFragment[]): ArrayBuffer[] {
  return fragments.flatMap(({ positions, colours, intensity, classification }) =>
    [positions, colours, intensity, classification].flatMap((values) => (values ? [values.buffer as ArrayBuffer] : [])),
  );
}
