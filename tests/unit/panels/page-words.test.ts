import { expect, it } from 'vitest';
import { onPage } from '../../../src/panels/page-words.ts';
import { resolveCrs } from '../../../src/site/resolve-crs.ts';

it.each([
  ['Say --unit ft or --unit us-ft if they are feet.', 'State international feet or US survey feet if they are feet.'],
  ['They would lie inside it as metres: say --unit m if so.', 'They would lie inside it as metres: state metres if so.'],
  ['Say --crs EPSG:n if you know it.', 'State the projection if you know it.'],
  ['If both are in EPSG:26910, say --crs EPSG:26910.', 'If both are in EPSG:26910, state projection EPSG:26910.'],
  ['Say --crs to decide.', 'State the projection to decide.'],
  ['it seems cut off. Say --salvage to read what is there.', 'it seems cut off. State that what is there may be read.'],
  ['The colour fields are zero.', 'The colour fields are zero.'],
])('%s', (said, expected) => expect(onPage(said)).toBe(expected));

it('no note about unit or projection names a flag on the page', async () => {
  const bounds = { min: [0, 0, 0] as const, max: [100, 100, 10] as const };
  const stated = { origin: 'GeoTIFF keys', kind: 'projected' as const, name: null, epsg: 2154, verticalEpsg: null, unitToMetre: 0.3048, verticalUnitToMetre: null, wkt: null };
  const notes = [
    ...(await resolveCrs({ statements: [], bounds, name: 'a.las' }, {})).notes,
    ...(await resolveCrs({ statements: [stated, { ...stated, origin: 'WKT record', epsg: 28992, unitToMetre: 1 }], bounds, name: 'a.las' }, {})).notes,
  ];
  expect(notes.join(' ')).toContain('--');
  expect(notes.map(onPage).join(' ')).not.toContain('--');
});
