import { describe, expect, it } from 'vitest';
import { summaryOf } from '../../../src/cli/record-summary.ts';
import { missing } from '../../../src/units/measured.ts';
import { gableRecord } from '../../fixtures/gable-record.ts';

describe('what the terminal says of a record', () => {
  it('counts in words, and names a building whose ground is not seen once', () => {
    const record = gableRecord();
    const [building] = record.buildings;
    const text = summaryOf({
      ...record,
      sources: [{ ...record.sources[0]!, pointCount: 1, triangleCount: 0 }],
      buildings: [{ ...building!, groundElevationM: missing('no ground seen'), edges: building!.edges.slice(0, 1) }],
    });
    expect(text).toMatch(/^1 point, spacing [\d.]+ mm, noise [\d.]+ mm, 1 building\n/);
    expect(text).toContain('b1: no ground seen; 1 edge, ');
  });

  it('shows neither spacing nor noise where there is no plane they could be of', () => {
    const record = gableRecord();
    const text = summaryOf({ ...record, sources: [{ ...record.sources[0]!, pointCount: 0, triangleCount: 12 }], buildings: [] });
    expect(text).toMatch(/^12 triangles, no roof plane found\n/);
    expect(text).not.toMatch(/spacing|noise/);
    expect(text).toContain('--unit');
  });
});
