/** Entry of the engine process: the store and messages on this thread, all numerics in its worker threads. */
import { readFileSync } from 'node:fs';
import { userInfo } from 'node:os';
import { createJobRunner } from '../core/jobs/runner.ts';
import { createEngine } from '../core/project/engine.ts';
import { resourcePath } from '../core/resources.ts';
import { serveEngine } from './engine-port.ts';

const { version } = JSON.parse(readFileSync(resourcePath('package.json'), 'utf8')) as { version: string };

serveEngine(({ host, emit }) =>
  createEngine({
    jobs: createJobRunner(),
    emit,
    host,
    version,
    actor: process.env['GASPLAT_ACTOR'] ?? userInfo().username,
  }),
);
