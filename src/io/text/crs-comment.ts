import type { CrsStatement } from '../../site/crs-statement.ts';
import { wktStatement } from '../crs/wkt-statement.ts';

/**
 * What comments of a text header say of the projection: a code "EPSG:2154", or a well-known text.
 *
 * @param comments  Without their marks.
 */
export function crsFromComments(comments: readonly string[]): CrsStatement[] {
  const statements: CrsStatement[] = [];
  for (const comment of comments) {
    const wktAt = comment.search(/\b(COMPD_CS|PROJCS|GEOGCS|PROJCRS|COMPOUNDCRS|GEOGCRS)\s*\[/i);
    if (wktAt >= 0) {
      const statement = wktStatement(comment.slice(wktAt), 'comment with well-known text');
      if (statement) statements.push(statement);
      continue;
    }
    const code = /\bEPSG:\s*(\d{4,6})(?:\+(\d{4,6}))?\b/i.exec(comment);
    if (!code) continue;
    statements.push({
      origin: 'comment',
      kind: 'unknown',
      name: null,
      epsg: Number(code[1]),
      verticalEpsg: code[2] === undefined ? null : Number(code[2]),
      unitToMetre: null,
      verticalUnitToMetre: null,
      wkt: null,
    });
  }
  return statements;
}
