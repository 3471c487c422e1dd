import { type ChildProcess, spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { onTestFinished } from 'vitest';
import { type AppError, AppError as AppErrorClass } from '../../../core/errors.ts';
import { createProject } from '../../../core/store/open-project.ts';
import type { ProjectStore } from '../../../core/store/project-store.ts';
import type { NewRow } from '../../../core/store/rows.ts';

/** An empty folder, gone after the test. */
export function tempFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'gasplat-store-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

export const projectFields = {
  name: 'Invented lot',
  is_demo: 0,
  crs_json: '{"kind":"local","unit":"m","label":"invented grid"}',
  origin_x: 0,
  origin_y: 0,
  settings_json: '{}',
} as const;

export function newStore(path: string, actor = 'Ann Example'): ProjectStore {
  const store = createProject(path, { actor, project: projectFields });
  onTestFinished(() => store.close());
  return store;
}

export function newProbe(label: string, more: Partial<NewRow<'probe'>> = {}): NewRow<'probe'> {
  return { label, state: 'driven', added: 0, ...more };
}

export function newSample(probeId: string, more: Partial<NewRow<'sample'>> = {}): NewRow<'sample'> {
  return { probe_id: probeId, kind: 'grab', said_fresh_air: 0, said_water: 0, ...more };
}

/** A closed project with a few probes and samples. */
export function smallProject(folder: string, name = 'small.gasplat'): string {
  const path = join(folder, name);
  const store = newStore(path);
  for (let number = 1; number <= 12; number += 1) {
    store.change('probe.add', `Probe ${number}`, (tx) => {
      const probe = tx.insert('probe', newProbe(`P${number}`, { driven_x: number * 5.1, driven_y: -2.5 }));
      tx.insert('sample', newSample(probe, { radon_kbq_per_m3: 10 + number / 3 }));
    });
  }
  store.putAttachment(Buffer.from('label;radon\nP1;10,3\n'.repeat(400)), 'sheet.csv', 'text/csv');
  store.close();
  return path;
}

export const fileHash = (path: string): string =>
  createHash('sha256').update(readFileSync(path)).digest('hex');

/** The AppError that `work` throws; anything else fails the test. */
export function refusalOf(work: () => unknown): AppError {
  try {
    work();
  } catch (error) {
    if (error instanceof AppErrorClass) return error;
    throw error;
  }
  throw new Error('nothing was refused');
}

const CHILD = fileURLToPath(new URL('child.ts', import.meta.url));

/** Runs child.ts on the Node that runs the tests. */
export function startChild(
  mode: string,
  path: string,
  more: { uid?: number; shell?: string } = {},
): ChildProcess {
  const [command, args] =
    more.shell === undefined
      ? [process.execPath, [CHILD, mode, path]]
      : ['/bin/sh', ['-c', `${more.shell}; exec "$0" "$@"`, process.execPath, CHILD, mode, path]];
  const ids = more.uid === undefined ? {} : { uid: more.uid, gid: more.uid };
  const child = spawn(command, args, { stdio: ['pipe', 'pipe', 'inherit'], ...ids });
  onTestFinished(() => {
    child.kill('SIGKILL');
  });
  return child;
}

/** All a child says until it is gone. */
export function outputOf(child: ChildProcess): Promise<string> {
  let text = '';
  child.stdout?.on('data', (chunk) => {
    text += String(chunk);
  });
  return new Promise((done) => child.once('close', () => done(text)));
}

/** The child's first line. */
export async function firstLine(child: ChildProcess): Promise<string> {
  let text = '';
  for await (const chunk of child.stdout?.iterator({ destroyOnReturn: false }) ?? []) {
    text += String(chunk);
    if (text.includes('\n')) break;
  }
  return text.split('\n')[0] ?? '';
}
