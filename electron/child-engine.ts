/** The engine as a child process on a Node of the project, for runtimes whose own Node cannot load the store. */
import { execFile, fork } from 'node:child_process';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { AppError } from '../core/errors.ts';
import type { EngineProcess, StartEngineProcess } from './engine-process.ts';

/** Version of Node-API the store's native module is built for. */
export const STORE_NAPI = 10;

/** @param entry JavaScript, or TypeScript where `nodePath` runs that */
export function startChildEngine(nodePath: string, entry: string): StartEngineProcess {
  return () => {
    const child = fork(entry, [], {
      execPath: nodePath,
      execArgv: [],
      serialization: 'advanced',
      stdio: ['ignore', 'inherit', 'inherit', 'ipc'],
    });
    const process: EngineProcess = {
      post(message) {
        if (child.connected) child.send(message);
      },
      onMessage: (listener) => child.on('message', listener),
      onExit(listener) {
        let told = false;
        const tell = (why: string) => {
          if (!told) listener(why);
          told = true;
        };
        child.on('error', (error) => tell(error.message));
        child.on('exit', (code, signal) => tell(signal === null ? `exit code ${code}` : `signal ${signal}`));
      },
      kill: () => child.kill('SIGKILL'),
    };
    return process;
  };
}

/**
 * A Node that can load the store: GASPLAT_NODE, the one that comes with the packages, or the machine's.
 * @throws AppError NOT_FOUND naming what was tried and why each will not do
 */
export async function findEngineNode(
  appFolder: string,
  env: NodeJS.ProcessEnv = process.env,
): Promise<string> {
  const named = env['GASPLAT_NODE'];
  const own = join(appFolder, 'node_modules', `node-${process.platform}-${process.arch}`, 'bin', 'node');
  const candidates = [...(named === undefined ? [] : [named]), ...(existsSync(own) ? [own] : []), 'node'];
  const refused: string[] = [];
  for (const candidate of candidates) {
    const unfit = await whyUnfit(candidate);
    if (unfit === null) return candidate;
    refused.push(`${candidate}: ${unfit}`);
  }
  throw new AppError(
    'NOT_FOUND',
    `No Node was found that can open project files (Node 22.14 or newer is needed). Tried ${refused.join('; ')}`,
  );
}

async function whyUnfit(nodePath: string): Promise<string | null> {
  try {
    const { stdout } = await promisify(execFile)(nodePath, [
      '-p',
      'process.versions.napi + " " + process.version',
    ]);
    const [napi, version] = stdout.trim().split(' ');
    return Number(napi) >= STORE_NAPI ? null : `version ${version} is too old`;
  } catch (error) {
    return error instanceof Error ? (error.message.split('\n')[0] ?? 'does not run') : String(error);
  }
}
