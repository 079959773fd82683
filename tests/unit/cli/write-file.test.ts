import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { checkFolder, writeWholeFile } from '../../../src/cli/write-file.ts';
import { InputError } from '../../../src/units/input-error.ts';

const fresh = (): string => mkdtempSync(join(tmpdir(), 'roofdatum-write-'));

describe('writing a file as a whole', () => {
  it('makes the folders on the way, and leaves nothing else beside it', async () => {
    const folder = fresh();
    await writeWholeFile(join(folder, 'a', 'b', 'record.json'), 'one');
    await writeWholeFile(join(folder, 'a', 'b', 'record.json'), 'two');
    expect(readFileSync(join(folder, 'a', 'b', 'record.json'), 'utf8')).toBe('two');
    expect(readdirSync(join(folder, 'a', 'b'))).toEqual(['record.json']);
  });

  it('a file in the way of the folder is the caller’s mistake, said before and at the writing', async () => {
    const file = join(fresh(), 'house.las');
    writeFileSync(file, 'points');
    await expect(checkFolder(file)).rejects.toThrow(`--out: ${file} is a file, expected a folder.`);
    await expect(checkFolder(join(file, 'deeper'))).rejects.toThrow(`--out: ${file} is a file, expected a folder.`);
    await expect(writeWholeFile(join(file, 'record.json'), 'x')).rejects.toThrow(InputError);
    expect(readFileSync(file, 'utf8')).toBe('points');
  });

  it('what cannot be renamed into place leaves no part behind', async () => {
    const folder = fresh();
    mkdirSync(join(folder, 'record.json'));
    await expect(writeWholeFile(join(folder, 'record.json'), 'x')).rejects.toThrow(/cannot be written/);
    expect(readdirSync(folder)).toEqual(['record.json']);
  });

  it('a folder that does not exist yet is fine, and is not made by asking', async () => {
    const folder = join(fresh(), 'new', 'newer');
    await checkFolder(folder);
    expect(existsSync(folder)).toBe(false);
  });

  it.skipIf(!existsSync('/proc/self'))('ends where the system refuses new folders with "not found"', async () => {
    await expect(writeWholeFile('/proc/roofdatum-nowhere/record.json', 'x')).rejects.toThrow(/cannot be written \(ENOENT\)/);
  });
});
