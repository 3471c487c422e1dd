/** The command line as a person starts it: a process of its own. */
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';

const MAIN = join(import.meta.dirname, '..', '..', '..', 'core', 'cli', 'main.ts');

export interface Run {
  readonly code: number | null;
  readonly out: string;
  readonly err: string;
}

/** @param folder where it is started, asked for at every start */
export function gasplatIn(folder: () => string, actor = 'tester'): (...args: string[]) => Run {
  return (...args) => {
    const run = spawnSync(process.execPath, [MAIN, ...args], {
      encoding: 'utf8',
      cwd: folder(),
      env: { ...process.env, GASPLAT_ACTOR: actor },
    });
    return { code: run.status, out: run.stdout, err: run.stderr };
  };
}
