import { readFileSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { basename, dirname } from 'node:path';
import { AppError } from '../errors.ts';

/** Writes beside the target and renames, so that a stop in the middle leaves the old file. @returns bytes written */
export function writeWhole(path: string, content: string | Uint8Array): number {
  const draft = `${path}.part-${process.pid}`;
  try {
    writeFileSync(draft, content);
    renameSync(draft, path);
    return statSync(path).size;
  } catch (error) {
    rmSync(draft, { force: true });
    const { code } = error as NodeJS.ErrnoException;
    const reasons: Record<string, string> = {
      ENOENT: `the folder ${dirname(path)} does not exist`,
      EACCES: 'there is no permission to write here',
      ENOSPC: 'the disk is full',
      EROFS: 'the disk is read-only',
      EISDIR: 'it is a folder',
    };
    const reason = reasons[code ?? ''] ?? String(error);
    throw new AppError('BAD_INPUT', `${path} cannot be written: ${reason}.`, { file: path }, error);
  }
}

/** @throws AppError BAD_INPUT where there is no such file or it cannot be read */
export function readWhole(path: string): Uint8Array {
  try {
    return readFileSync(path);
  } catch (error) {
    const reason =
      (error as NodeJS.ErrnoException).code === 'ENOENT' ? 'there is no such file' : String(error);
    throw new AppError('BAD_INPUT', `${path} cannot be read: ${reason}.`, { file: basename(path) }, error);
  }
}
