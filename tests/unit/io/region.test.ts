import { describe, expect, it } from 'vitest';
import { parseRegion, regionContains, regionKeeps } from '../../../src/io/region.ts';

const box = (x0: number, y0: number, x1: number, y1: number) => ({ min: [x0, y0, 0] as const, max: [x1, y1, 9] as const });

describe('a region of interest', () => {
  it('is read from corners', () => {
    const region = parseRegion('0,0 10,0  10,10\n0,10 0,0');
    expect(region.rings).toEqual([[0, 0, 10, 0, 10, 10, 0, 10]]);
    expect(region.bounds).toEqual({ min: [0, 0], max: [10, 10] });
    expect(regionContains(region, 5, 5)).toBe(true);
    expect(regionContains(region, 11, 5)).toBe(false);
  });

  it('is read from corners with blanks beside the commas, and from a line that crosses itself', () => {
    expect(parseRegion('0, 0 10 ,0 10 , 10').rings).toEqual([[0, 0, 10, 0, 10, 10]]);
    const bow = parseRegion('0,0 8,12 8,0 0,12');
    expect(regionContains(bow, 1, 6)).toBe(true);
    expect(regionContains(bow, 4, 1)).toBe(false);
  });

  const ring = [[0, 0], [10, 0], [10, 10], [0, 10], [0, 0]];
  const hole = [[4, 4], [6, 4], [6, 6], [4, 6], [4, 4]];
  it.each([
    ['Polygon', { type: 'Polygon', coordinates: [ring, hole] }],
    ['MultiPolygon', { type: 'MultiPolygon', coordinates: [[ring, hole]] }],
    ['Feature', { type: 'Feature', properties: {}, geometry: { type: 'Polygon', coordinates: [ring, hole] } }],
    ['FeatureCollection', { type: 'FeatureCollection', features: [{ type: 'Feature', properties: {}, geometry: { type: 'Polygon', coordinates: [ring, hole] } }] }],
    ['GeometryCollection', { type: 'GeometryCollection', geometries: [{ type: 'Polygon', coordinates: [ring, hole] }] }],
  ])('is read from a GeoJSON %s, holes kept', (_, json) => {
    const region = parseRegion(JSON.stringify(json));
    expect(regionContains(region, 2, 5)).toBe(true);
    expect(regionContains(region, 5, 5)).toBe(false);
  });

  it('keeps bounds that touch it and no others', () => {
    const triangle = parseRegion('0,0 10,0 0,10');
    expect(regionKeeps(triangle, box(1, 1, 2, 2))).toBe(true);
    expect(regionKeeps(triangle, box(-5, -5, 50, 50))).toBe(true);
    expect(regionKeeps(triangle, box(4, 4, 20, 20))).toBe(true);
    // Inside the triangle's own bounds, beyond its long side.
    expect(regionKeeps(triangle, box(8, 8, 9, 9))).toBe(false);
    expect(regionKeeps(triangle, box(20, 20, 30, 30))).toBe(false);
  });

  it('keeps every bounds that holds a position inside', () => {
    const region = parseRegion('3,1 9,4 7,9 5,5 1,8');
    for (let x = 0; x < 10; x += 0.37) {
      for (let y = 0; y < 10; y += 0.41) {
        if (regionContains(region, x, y)) expect(regionKeeps(region, box(x - 0.3, y - 0.2, x + 0.1, y + 0.4)), `${x}, ${y}`).toBe(true);
      }
    }
  });

  it.each([
    ['', /0 corners/], ['1,1 2,2 5,5', /enclose no area/], ['500000.1,0.1 500000.2,0.2 500000.4,0.4', /enclose no area/], ['1,2 3,4', /2 corners/], ['1,2 3,4 5', /corner "5" is not two numbers/], ['1,2 3,x 5,6', /corner "3,x"/],
    ['1,1 2,2 3,3 4,4'.replaceAll(/(\d),\1/g, '$1,7'), /enclose no area/], ['{"type":', /GeoJSON cannot be read/],
    ['{"type":"Point","coordinates":[1,2]}', /holds no polygon/], ['{"type":"Polygon","coordinates":[[[1,2],[3,"4"],[5,6]]]}', /position \[3,"4"\]/],
    ['{"type":"Polygon","coordinates":[[[1,2],[3,4],[1,2]]]}', /has 2 corners/],
  ])('%j is refused', (text, message) => {
    expect(() => parseRegion(text)).toThrow(message);
    expect(() => parseRegion(text)).toThrow(/--within/);
  });
});
