import { describe, expect, test } from 'vitest';
import type { RoofRecord } from '../../../src/roof/record.ts';
import { recordText } from '../../../src/survey/write-record.ts';
import { CancelledError } from '../../../src/survey/task-runner.ts';
import { InputError } from '../../../src/units/input-error.ts';
import { gableRecord } from '../../fixtures/gable-record.ts';
import { pageOfGable } from '../../fixtures/page-of-gable.ts';

const source = (file: string, sha256: string): RoofRecord['sources'][number] => ({ ...gableRecord().sources[0]!, file, sha256 });
const madeOf = (file: string, sha256: string): RoofRecord => ({ ...gableRecord(), sources: [source(file, sha256)] });
const recordFile = (record: RoofRecord): File => new File([recordText(record)], 'gable.record.json');

describe('files opened under a record that waits for its points', () => {
  test('its own files bring the points, and everything that was done stays', async () => {
    const { actions, store, kept } = pageOfGable(() => madeOf('gable.las', 'a'.repeat(64)));
    await actions.openFiles([recordFile(madeOf('gable.las', 'a'.repeat(64)))]);
    actions.decide('accept', 'b1.p1', 'accept p1');
    const id = store.surveyId.value;
    await actions.openFiles([new File([], 'gable.las')]);
    expect(store.points.value).not.toBeNull();
    expect(store.surveyId.value).toBe(id);
    expect(store.record.value!.decisions).toMatchObject([{ what: 'accept', about: 'b1.p1' }]);
    expect(kept.size).toBe(1);
  });

  test('files that are only called the same are a survey of their own', async () => {
    const { actions, store, kept } = pageOfGable(() => madeOf('gable.las', 'b'.repeat(64)));
    await actions.openFiles([recordFile(madeOf('gable.las', 'a'.repeat(64)))]);
    actions.decide('accept', 'b1.p1', 'accept p1');
    const id = store.surveyId.value!;
    await actions.openFiles([new File([], 'gable.las')]);
    expect(store.surveyId.value).not.toBe(id);
    expect(store.record.value!.decisions).toEqual([]);
    expect(kept.get(id)!.saved.steps).toHaveLength(1);
    expect(store.spoken.value.text).toMatch(/hold something else/);
  });

  test('materials and pictures that come with its mesh are no other files', async () => {
    const { actions, store } = pageOfGable(() => madeOf('gable.obj', 'a'.repeat(64)));
    await actions.openFiles([recordFile(madeOf('gable.obj', 'a'.repeat(64)))]);
    const id = store.surveyId.value;
    await actions.openFiles(['gable.mtl', 'tiles.jpg', 'gable.obj'].map((name) => new File([], name)));
    expect(store.points.value).not.toBeNull();
    expect(store.surveyId.value).toBe(id);
  });

  test('a survey is called after its mesh, not after a picture of it', async () => {
    const { actions, store } = pageOfGable();
    await actions.openFiles(['a.jpg', 'hall.mtl', 'hall.obj'].map((name) => new File([], name)));
    expect(store.surveyName.value).toBe('hall');
  });

  test('other files are a survey of their own', async () => {
    const { actions, store, surveyed } = pageOfGable(() => madeOf('hall.las', 'c'.repeat(64)));
    await actions.openFiles([recordFile(madeOf('gable.las', 'a'.repeat(64)))]);
    await actions.openFiles([new File([], 'hall.las')]);
    expect(surveyed).toEqual([{}]);
    expect(store.surveyName.value).toBe('hall');
  });
});

describe('a survey that comes to nothing', () => {
  test.each([
    ['was stopped', new CancelledError(), /Nothing was changed/, false],
    ['met a damaged part', new InputError('hall.laz', 'points at bytes 9 to 99: compressed bytes end before their points do'), /compressed bytes/, true],
  ] as const)('because it %s leaves what was shown before it', async (_why, fault, said, canBeStated) => {
    const { actions, store } = pageOfGable((names) => {
      if (names.includes('hall.laz')) throw fault;
      return gableRecord();
    });
    await actions.openSample();
    actions.decide('accept', 'b1.p1', 'accept p1');
    const before = [store.record.value, store.surveyName.value, store.surveyId.value, store.points.value, store.building.value];
    await actions.openFiles([new File([], 'hall.laz')]);
    expect(store.spoken.value.text).toMatch(said);
    expect([store.record.value, store.surveyName.value, store.surveyId.value, store.points.value, store.building.value]).toEqual(before);
    expect(store.refusedFiles.value !== null).toBe(canBeStated);
    actions.undo();
    expect(store.record.value!.decisions).toEqual([]);
  });
});

test('a sample somebody worked on is never written over', async () => {
  const { actions, store, kept } = pageOfGable();
  await actions.openSample();
  const first = store.surveyId.value!;
  // Untouched it may be made again in its place.
  await actions.openSample();
  expect(store.surveyId.value).toBe(first);
  actions.decide('accept', 'b1.p1', 'accept p1');
  await actions.openSample();
  expect(store.surveyId.value).not.toBe(first);
  expect(store.record.value!.decisions).toEqual([]);
  expect(kept.get(first)!.saved.steps).toHaveLength(1);
});

describe('a region', () => {
  test('that is no region is told before anything is read, and may be mended', async () => {
    const { actions, store, surveyed } = pageOfGable();
    await actions.openSample();
    actions.startRegion();
    await actions.surveyRegion('round the hall');
    expect(store.spoken.value).toMatchObject({ strong: 'Region:' });
    expect(store.tool.value).toBe('region');
    expect(surveyed).toHaveLength(1);
    await actions.surveyRegion('0\t0\n20\t0\n20\t20');
    expect(surveyed.at(-1)).toEqual({ within: '0,0 20,0 20,20' });
    expect(store.tool.value).toBe('none');
    expect(store.surveyName.value).toMatch(/, a region$/);
  });

  test('without a point says nothing against the files', async () => {
    const { actions, store } = pageOfGable((_, { within }) => {
      if (within) throw new InputError('--within', 'the region lies outside the files, expected corners in their coordinates.');
      return gableRecord();
    });
    await actions.openSample();
    await actions.surveyRegion('1,1 2,1 2,2');
    expect(store.spoken.value).toEqual({ strong: 'Region:', text: 'the region lies outside the files, expected corners in their coordinates.' });
    expect(store.refusedFiles.value).toBeNull();
    expect(store.surveyName.value).not.toMatch(/region/);
  });
});
