import { expect, test } from 'vitest';
import { directRunner } from '../../../src/survey/direct-runner.ts';
import { withCompanions } from '../../../src/survey/companions.ts';
import { portableEnvironment } from '../../../src/survey/portable-environment.ts';
import { surveyFiles } from '../../../src/survey/survey-files.ts';
import { recordText } from '../../../src/survey/write-record.ts';
import { bytesOf } from '../../fixtures/read-source.ts';

const named = (...names: string[]) => names.map((name) => ({ name, where: bytesOf(name) }));

test('an OBJ has materials and pictures with it; other files have none, and without an OBJ a picture stands for itself', () => {
  const parted = withCompanions(named('a.jpg', 'House.OBJ', 'points.las', 'house.MTL', 'b.png'));
  expect(parted.map(({ name, beside }) => [name, beside?.map((one) => one.name)])).toEqual([['House.OBJ', ['a.jpg', 'house.MTL', 'b.png']], ['points.las', undefined]]);
  expect(withCompanions(named('a.jpg', 'points.las')).map(({ name }) => name)).toEqual(['a.jpg', 'points.las']);
});

// A gable of 12 m by 8 m on flat ground, eaves at 3 m and ridge at 6 m: slopes of 36.87°, as in a triangle of 3, 4 and 5.
const HOUSE = 'mtllib h.mtl\nvt 0 0\nv 0 0 3\nv 12 0 3\nv 12 4 6\nv 0 4 6\nv 12 8 3\nv 0 8 3\nv -15 -15 0\nv 27 -15 0\nv 27 23 0\nv -15 23 0\nusemtl tiles\nf 1/1 2/1 3/1 4/1\nf 5/1 6/1 4/1 3/1\nf 7 8 9 10\n';

test('pictures change nothing but a note; they are drawn, and are no sources of the record', async () => {
  const file = (name: string, text: string) => ({ name, where: bytesOf(text) });
  const obj = file('h.obj', HOUSE);
  const survey = (files: readonly ReturnType<typeof file>[]) => surveyFiles(files, { meshSpacingM: 0.25 }, directRunner(portableEnvironment));
  const plain = await survey([obj]);
  const draped = await survey([file('t.png', '\x89PNG'), obj, file('h.mtl', 'newmtl tiles\nmap_Kd t.png\n')]);
  expect(draped.record.sources.map((source) => source.file)).toEqual(['h.obj']);
  expect(draped.record.buildings[0]!.roofPlanes[0]!.pitchDeg.value).toBeCloseTo(36.87, 1);
  const said = 'Materials and textures stand in another file and are not shown.';
  const without = ({ record }: typeof plain) => recordText({ ...record, sources: record.sources.map((source) => ({ ...source, notes: source.notes.filter((note) => note !== said) })) });
  expect(without(draped)).toBe(without(plain));
  expect(plain.record.sources[0]!.notes).toContain(said);
  expect(draped.record.sources[0]!.notes).not.toContain(said);
  expect([...draped.meshes[0]!.pictureOf!]).toEqual([1, 1, 1, 1, 0, 0]);
});
