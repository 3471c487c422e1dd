import { copyFileSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join, resolve } from 'node:path';
import { AppError } from '../errors.ts';
import { lookAtProjectFile } from '../store/file-header.ts';
import { loadMigrations } from '../store/migrate.ts';
import type { ReadableStore } from '../store/open-project.ts';
import { openProject } from '../store/open-project.ts';

/**
 * Hands another project to `use` for reading; its file is never altered. One of an older version is copied to a
 * temporary folder and brought up to date there.
 * @param own - the open project, which cannot be its own colleague
 * @throws AppError STORE_DAMAGED also where rows and record disagree; STORE_NEWER, STORE_FOREIGN, STORE_LOCKED, NOT_FOUND
 */
export function withOtherProject<R>(own: ReadableStore, path: string, use: (other: ReadableStore) => R): R {
  if (resolve(path) === own.path)
    throw new AppError(
      'BAD_INPUT',
      `"${basename(path)}" is the project that is open: choose the other one.`,
      {
        file: path,
      },
    );
  const versions = loadMigrations().map((m) => m.version);
  const look = lookAtProjectFile(path, versions);
  if (look.version === versions.at(-1) || look.hotJournal)
    return used(openProject(path, { readOnly: true }), path, use);
  const folder = mkdtempSync(join(tmpdir(), 'gasplat-other-'));
  try {
    const copy = join(folder, basename(path));
    copyFileSync(path, copy);
    return used(openProject(copy, { actor: own.actors().at(-1)?.name ?? 'Gasplat' }), path, use);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function used<R>(other: ReadableStore, path: string, use: (other: ReadableStore) => R): R {
  try {
    const check = other.verifyRecord();
    if (!check.intact)
      throw new AppError(
        'STORE_DAMAGED',
        `"${path}" is damaged: ${check.problem}. Nothing of it was taken in. Ask for the file again.`,
        { file: path },
      );
    return use(other);
  } finally {
    other.close();
  }
}
