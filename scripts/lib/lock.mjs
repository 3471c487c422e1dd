import { mkdirSync, readFileSync, rmSync, statSync, utimesSync, writeFileSync } from 'node:fs';
import { hostname } from 'node:os';
import { dirname, join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { Stop, say } from './say.mjs';

/** The holder touches its folder this often; a folder untouched for STALE_MS belongs to nobody. */
const TOUCH_MS = 5_000;
const STALE_MS = 60_000;

/**
 * @typedef {object} Owner
 * @property {number} pid
 * @property {string} host
 */

/**
 * Whether a lock folder was left by a process that is gone.
 * @param {{ owner: Owner | undefined, ageMs: number, host: string, isAlive: (pid: number) => boolean }} lock
 */
export function isAbandoned({ owner, ageMs, host, isAlive }) {
  if (ageMs > STALE_MS) return true;
  return owner !== undefined && owner.host === host && !isAlive(owner.pid);
}

/**
 * Runs a piece of work while no other process does it in the same clone.
 * @template T
 * @param {string} folder
 * @param {() => Promise<T>} work
 * @param {{ pollMs?: number, limitMs?: number }} [options]
 * @returns {Promise<T>}
 */
export async function withLock(folder, work, { pollMs = 500, limitMs = 30 * 60_000 } = {}) {
  try {
    mkdirSync(dirname(folder), { recursive: true });
  } catch {
    throw notWritable(folder);
  }
  const started = Date.now();
  let told = false;
  while (!take(folder)) {
    if (looksAbandoned(folder)) {
      discard(folder);
      await wait(pollMs / 10);
      continue;
    }
    if (!told)
      say(
        `Another process (${readOwner(folder)?.pid ?? 'unknown'}) is at the same work in this clone; waiting for it ...`,
      );
    told = true;
    if (Date.now() - started > limitMs) {
      throw new Stop(
        `Still waiting after ${limitMs / 60_000} minutes. If nothing else is running, delete ${folder}`,
      );
    }
    await wait(pollMs);
  }
  const touch = setInterval(() => {
    try {
      utimesSync(folder, new Date(), new Date());
    } catch {
      // Deleted by hand: the work goes on, only unguarded.
    }
  }, TOUCH_MS);
  const release = () => rmSync(folder, { recursive: true, force: true });
  process.once('exit', release);
  const onSignal = () => process.exit(130);
  process.once('SIGINT', onSignal);
  process.once('SIGTERM', onSignal);
  try {
    return await work();
  } finally {
    clearInterval(touch);
    process.off('exit', release);
    process.off('SIGINT', onSignal);
    process.off('SIGTERM', onSignal);
    release();
  }
}

/** @param {string} folder */
function notWritable(folder) {
  return new Stop(
    `This user may not write to ${dirname(folder)}. Run the command as the owner of the clone.`,
  );
}

/** @param {string} folder */
function take(folder) {
  try {
    mkdirSync(folder);
  } catch (error) {
    const { code } = /** @type {NodeJS.ErrnoException} */ (error);
    if (code === 'EEXIST') return false;
    if (code === 'EACCES' || code === 'EPERM' || code === 'EROFS') throw notWritable(folder);
    throw error;
  }
  writeFileSync(join(folder, 'owner.json'), JSON.stringify({ pid: process.pid, host: hostname() }));
  return true;
}

/**
 * Removes an abandoned lock. Two processes may both find it abandoned, and the slower one must not remove
 * what the faster one has taken since: so one at a time, and each looks again.
 * @param {string} folder
 */
function discard(folder) {
  const guard = `${folder}.discarding`;
  try {
    mkdirSync(guard);
  } catch {
    if (ageOf(guard) > STALE_MS) rmSync(guard, { recursive: true, force: true });
    return;
  }
  try {
    if (looksAbandoned(folder)) rmSync(folder, { recursive: true, force: true });
  } finally {
    rmSync(guard, { recursive: true, force: true });
  }
}

/** @param {string} folder */
function looksAbandoned(folder) {
  return isAbandoned({ owner: readOwner(folder), ageMs: ageOf(folder), host: hostname(), isAlive });
}

/**
 * @param {string} folder
 * @returns {Owner | undefined}
 */
function readOwner(folder) {
  try {
    return JSON.parse(readFileSync(join(folder, 'owner.json'), 'utf8'));
  } catch {
    return undefined;
  }
}

/** @param {string} folder */
function ageOf(folder) {
  try {
    return Date.now() - statSync(folder).mtimeMs;
  } catch {
    return 0;
  }
}

/** @param {number} pid */
function isAlive(pid) {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return /** @type {NodeJS.ErrnoException} */ (error).code === 'EPERM';
  }
}
