import { expect, test } from 'vitest';
import { parseRegion } from '../../../src/io/region.ts';
import { pastedCorners } from '../../../src/panels/pasted-corners.ts';

const ring = [571195.5, 6020394.25, 571215, 6020394.25, 571215, 6020412];

test.each([
  ['as the command takes them', '571195.5,6020394.25 571215,6020394.25 571215,6020412'],
  ['with blanks after commas', '571195.5, 6020394.25  571215, 6020394.25 571215, 6020412'],
  ['a corner a line', '571195.5 6020394.25\n571215 6020394.25\n571215 6020412\n'],
  ['columns of a table, lines of a Windows file', '571195.5\t6020394.25\r\n571215\t6020394.25\r\n571215\t6020412'],
  ['decimal commas between semicolons, heights left out', '571195,5; 6020394,25; 12,1\n571215; 6020394,25; 12,1\n571215; 6020412; 12,1'],
  ['all in one line', '571195.5 6020394.25 571215 6020394.25 571215 6020412'],
])('%s', (_, text) => expect(parseRegion(pastedCorners(text)).rings).toEqual([ring]));

test('GeoJSON stays as it is, and what is no corner is named', () => {
  const json = ' {"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]} ';
  expect(pastedCorners(json)).toBe(json.trim());
  expect(() => parseRegion(pastedCorners('round the hall'), 'Region')).toThrow('Region: corner "round" is not two numbers');
  expect(() => parseRegion(pastedCorners('1;2\n3;4'), 'Region')).toThrow('Region: 2 corners');
});
