/**
 * The lock file beside an open project. It exists for the message: who has the project, and since when.
 * The guard itself is SQLite's exclusive lock, so a wrong guess here cannot let two writers in.
 */
import { execFileSync } from 'node:child_process';
import { readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { hostname } from 'node:os';
import { z } from 'zod';
import { AppError } from '../errors.ts';
import { codeOf } from './file-header.ts';

const lockSchema = z.object({
  host: z.string(),
  pid: z.number().int().positive(),
  /** The system's own statement of when the process began; null where it gives none. */
  processStart: z.string().nullable(),
  program: z.string(),
  sinceUtc: z.string(),
  token: z.string(),
});

export type LockHolder = z.infer<typeof lockSchema>;

/** Another process may have made its lock file but not yet written to it. */
const WRITING_MS = 5000;

export const lockPathOf = (path: string): string => `${path}-lock`;

/**
 * Makes `<path>-lock`, taking over one whose process is gone.
 * @returns releases the lock; it leaves a lock that is no longer ours alone
 * @throws AppError STORE_LOCKED naming host, process and since when; BAD_INPUT where the folder cannot be written
 */
export function takeLock(path: string, program: string): () => void {
  const lockPath = lockPathOf(path);
  const mine: LockHolder = {
    host: hostname(),
    pid: process.pid,
    processStart: processStart(process.pid),
    program,
    sinceUtc: new Date().toISOString(),
    token: crypto.randomUUID(),
  };
  for (let attempt = 0; attempt < 3; attempt += 1) {
    try {
      writeFileSync(lockPath, `${JSON.stringify(mine)}\n`, { flag: 'wx' });
      return () => {
        if (readLock(lockPath)?.token === mine.token) rmSync(lockPath, { force: true });
      };
    } catch (error) {
      if (codeOf(error) !== 'EEXIST') throw unwritableFolder(path, error);
    }
    refuseLiveLock(path);
    rmSync(lockPath, { force: true });
  }
  throw new AppError('STORE_LOCKED', `"${path}" is being opened by another program. Try again.`, {
    file: path,
  });
}

/** @throws AppError STORE_LOCKED where a lock file names a process that is, or may be, still there */
export function refuseLiveLock(path: string): void {
  const lockPath = lockPathOf(path);
  const holder = readLock(lockPath);
  if (holder === null) {
    const ageMs = Date.now() - (statSync(lockPath, { throwIfNoEntry: false })?.mtimeMs ?? 0);
    if (ageMs > WRITING_MS) return;
    throw new AppError('STORE_LOCKED', `"${path}" is being opened by another program. Try again.`, {
      file: path,
    });
  }
  if (!mayBeAlive(holder)) return;
  const hint =
    holder.host === hostname()
      ? 'Close it there first.'
      : `Close it there first. If that computer is off or no longer has it open, delete "${lockPath}".`;
  throw new AppError(
    'STORE_LOCKED',
    `"${path}" is open in ${holder.program} on ${holder.host} (process ${holder.pid}) since ${holder.sinceUtc.slice(0, 16).replace('T', ' ')} UTC. ${hint}`,
    { file: path, host: holder.host, pid: holder.pid, program: holder.program, sinceUtc: holder.sinceUtc },
  );
}

/** null where there is no lock file, or none that can be read. */
function readLock(lockPath: string): LockHolder | null {
  try {
    return lockSchema.parse(JSON.parse(readFileSync(lockPath, 'utf8')));
  } catch {
    return null;
  }
}

function mayBeAlive(holder: LockHolder): boolean {
  if (holder.host !== hostname()) return true;
  try {
    process.kill(holder.pid, 0);
  } catch (error) {
    // EPERM: it exists and belongs to someone else.
    if (codeOf(error) === 'ESRCH') return false;
  }
  const start = processStart(holder.pid);
  return start === null || holder.processStart === null || start === holder.processStart;
}

/**
 * Text that differs between two processes that had the same number. Linux: boot id and start tick; macOS: `ps`.
 * null on Windows (asking takes half a second) and where the process is gone.
 */
export function processStart(pid: number): string | null {
  try {
    if (process.platform === 'linux') {
      const stat = readFileSync(`/proc/${pid}/stat`, 'utf8');
      // Field 22 of proc(5); the name in field 2 may hold spaces and brackets.
      const startTick = stat
        .slice(stat.lastIndexOf(')') + 2)
        .split(' ')
        .at(19);
      const bootId = readFileSync('/proc/sys/kernel/random/boot_id', 'utf8').trim();
      return `${bootId} ${startTick}`;
    }
    if (process.platform === 'darwin') {
      const env = { ...process.env, LC_ALL: 'C', TZ: 'UTC' };
      return execFileSync('/bin/ps', ['-o', 'lstart=', '-p', String(pid)], { encoding: 'utf8', env }).trim();
    }
  } catch {
    return null;
  }
  return null;
}

function unwritableFolder(path: string, cause: unknown): AppError {
  const code = codeOf(cause);
  if (code === 'ENOENT')
    return new AppError('BAD_INPUT', `The folder of "${path}" does not exist.`, { file: path }, cause);
  if (code === 'ENOSPC' || code === 'EDQUOT')
    return new AppError('BAD_INPUT', `The disk of "${path}" is full.`, { file: path, reason: code }, cause);
  return new AppError(
    'BAD_INPUT',
    `"${path}" cannot be changed because its folder cannot be written to (${code}). Copy the project to a folder of your own, or open it for reading only.`,
    { file: path, reason: code },
    cause,
  );
}
