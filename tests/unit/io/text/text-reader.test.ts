import { describe, expect, it } from 'vitest';
import { bytesSource } from '../../../../src/io/byte-source.ts';
import { textReader } from '../../../../src/io/text/text-reader.ts';
import { bytesOf, concatenated, readPoints, textSource } from '../../../fixtures/read-source.ts';

const positionsOf = async (text: string): Promise<number[]> => [...(await readPoints(textReader, textSource('p.txt', text))).batches[0]!.positions];

describe('point text', () => {
  it.each([
    ['blanks', '1 2.5 3\n4 5 6\n'],
    ['tabs', '1\t2.5\t3\n4\t5\t6'],
    ['commas', '1,2.5,3\r\n4,5,6\r\n'],
    ['commas and blanks', '1, 2.5, 3\n4, 5, 6\n'],
    ['semicolons', '1;2.5;3\n4;5;6\n'],
    ['semicolons and decimal commas', '1,0;2,5;3,0\n4,0;5,0;6,0\n'],
    ['blanks and decimal commas', '1,0 2,5 3,0\n4,0 5,0 6,0\n'],
    ['runs of blanks before and between', '   1   2.5    3\n   4   5    6\n\n'],
    ['comments', '# made by hand\n// x y z\n1 2.5 3\n# between\n4 5 6\n'],
  ])('parts columns by %s', async (_, text) => {
    expect(await positionsOf(text)).toEqual([1, 2.5, 3, 4, 5, 6]);
  });

  it('goes by column names in any order, with units in brackets', async () => {
    const text = 'id,Northing [m],Easting [m],Height [m],Intensity,Class\n1,6277546.5,770622.25,20.5,0.5,6\n2,6277547.5,770623.25,21.5,1.0,2\n';
    const { batches } = await readPoints(textReader, textSource('p.csv', text));
    expect([...batches[0]!.positions]).toEqual([770622.25, 6277546.5, 20.5, 770623.25, 6277547.5, 21.5]);
    expect([...batches[0]!.intensity!]).toEqual([32768, 65535]);
    expect([...batches[0]!.classification!]).toEqual([6, 2]);
  });

  it.each([
    ['whole numbers in the first row do not make the point of the next a mistake', 'X;Y;Z;\n1;2;3;\n1.5;2.5;3.5;\n'],
    ['nor the comma', 'X;Y;Z\n1;2;3\n1,5;2,5;3,5\n'],
    ['quoted numbers and names', '"","x","y","z"\n"1","1","2","3"\n"2", "1.5" ,"2.5","3.5"\n'],
    ['quoted numbers with a decimal comma', '"x","y","z"\n"1,0";"2,0";"3,0"\n"1,5";"2,5";"3,5"\n'.replace(',"y","z"', ';"y";"z"')],
    ['a quoted word with a comma in it', 'code,x,y,z\n"kerb, left",1,2,3\n"kerb, right",1.5,2.5,3.5\n'],
    ['names of points in front', 'name;easting;northing;height\nP1;1;2;3\nP2;1.5;2.5;3.5\n'],
  ])('%s', async (_what, text) => expect(await positionsOf(text)).toEqual([1, 2, 3, 1.5, 2.5, 3.5]));

  it('takes names from a comment', async () => {
    const { batches } = await readPoints(textReader, textSource('p.txt', '//X Y Z R G B\n1 2 3 10 20 30\n'));
    expect([...batches[0]!.colours!]).toEqual([10, 20, 30]);
  });

  it('reads PTS: counts, signed intensity, colour; several scans', async () => {
    const { description, batches } = await readPoints(textReader, textSource('p.pts', '2\n1 2 3 -2048 10 20 30\n4 5 6 2047 40 50 60\n1\n7 8 9 0 1 2 3\n'));
    expect(description.pointCount).toBe(3);
    expect([...batches[0]!.positions]).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9]);
    expect([...batches[0]!.intensity!]).toEqual([0, 65520, 32768]);
    expect([...batches[0]!.colours!]).toEqual([10, 20, 30, 40, 50, 60, 1, 2, 3]);
  });

  it('refuses a PTS that promises more points than it holds, and salvages it', async () => {
    const source = textSource('p.pts', '3\n1 2 3\n4 5 6\n');
    await expect(textReader.describe(source, { salvage: false })).rejects.toThrow('p.pts: the file promises 3 points and holds 2.');
    expect((await readPoints(textReader, source, true)).description).toMatchObject({ pointCount: 2, notes: ['The file promises 3 points and holds 2; what is there was read.'] });
  });

  it('takes six columns of bytes for colours, and leaves others alone with a note', async () => {
    expect((await readPoints(textReader, textSource('p.xyz', '1 2 3 0 128 255\n'))).batches[0]!.colours).toEqual(Uint8Array.of(0, 128, 255));
    const normals = await readPoints(textReader, textSource('p.xyz', '1 2 3 0.1 0.2 0.97\n'));
    expect(normals.batches[0]!.colours).toBeNull();
    expect(normals.description.notes).toEqual(['Columns 4 to 6 are not used: no line names them.']);
  });

  it('says that longitude and latitude are degrees', async () => {
    const { description } = await readPoints(textReader, textSource('p.csv', 'lon,lat,height\n4.3,52.1,3\n'));
    expect(description.crsStatements).toMatchObject([{ kind: 'geographic', origin: 'column names' }]);
  });

  it('steps over a byte order mark', async () => {
    const { batches } = await readPoints(textReader, bytesSource('p.txt', concatenated(Uint8Array.of(0xef, 0xbb, 0xbf), bytesOf('1 2 3\n'))));
    expect([...batches[0]!.positions]).toEqual([1, 2, 3]);
  });

  it('names line and column of a bad row, unless told to salvage', async () => {
    const source = textSource('p.xyz', '# c\n1 2 3\n4 5 six\n7 8\n9 10 11\n');
    await expect(readPoints(textReader, source)).rejects.toThrow('p.xyz: line 3: column 3 is "six", expected a number.');
    expect([...(await readPoints(textReader, source, true)).batches[0]!.positions]).toEqual([1, 2, 3, 9, 10, 11]);
  });

  it.each([
    ['an empty file', '', /is empty/],
    ['words', 'hello world\nthis is text\n', /holds three numbers/],
    ['two columns', '1 2\n3 4\n', /holds three numbers/],
    ['names without a height', 'x,y,class\n1,2,3\n', /none is called z/],
  ])('refuses %s', async (_, text, message) => {
    await expect(readPoints(textReader, textSource('p.txt', text))).rejects.toThrow(message);
  });

  it('cuts a long list into parts, with right line numbers in later ones', async () => {
    const rows = Array.from({ length: 1_000_010 }, (_, i) => `${i} 0 1`);
    rows[1_000_004] = 'oops 0 1';
    const source = textSource('p.xyz', rows.join('\n'));
    const description = await textReader.describe(source, { salvage: false });
    expect(description.parts.map((part) => part.pointCount)).toEqual([1_000_000, 10]);
    await expect(textReader.readPoints(source, description, 1)).rejects.toThrow('line 1000005: column 1 is "oops"');
    expect((await textReader.readPoints(source, description, 0)).positions[2_999_997]).toBe(999_999);
  });
});
