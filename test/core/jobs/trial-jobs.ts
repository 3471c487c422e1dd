/** Jobs made for testing the runner: each does one thing a real job could do. */
import { AppError } from '../../../core/errors.ts';
import type { JobSet } from '../../../core/jobs/job.ts';
import { throwIfStopped } from '../../../core/jobs/job.ts';
import { allocateShared, toPlain } from '../../../core/jobs/shared.ts';

export interface TrialMap {
  /** Keeps its thread busy without ever looking up. */
  spin: { input: { ms: number }; output: { spunMs: number } };
  /** Counts up in shared memory until stopped. */
  count: { input: { counter: Int32Array; to: number }; output: { counted: number } };
  /** Reports the given shares as progress. */
  report: { input: { shares: readonly number[] }; output: null };
  /** sin(i) by tiles; `ran` counts the tiles run, `msPerTile` makes each take a while. */
  sines: { input: SinesInput; output: { values: Float64Array } };
  refuse: { input: { how: 'app-error' | 'bug' | 'unclonable' }; output: unknown };
  die: { input: { how: 'exit' | 'throw-outside' }; output: null };
}

interface SinesInput {
  readonly length: number;
  readonly tileLength: number;
  readonly msPerTile: number;
  readonly ran: Int32Array;
  readonly failAtTile?: number;
}

function spinFor(ms: number): void {
  const end = performance.now() + ms;
  while (performance.now() < end);
}

export const trialJobs: JobSet<TrialMap> = {
  spin: {
    form: 'single',
    run({ ms }) {
      spinFor(ms);
      return { spunMs: ms };
    },
  },
  count: {
    form: 'single',
    run({ counter, to }, context) {
      for (let i = 0; i < to; i++) {
        throwIfStopped(context);
        Atomics.add(counter, 0, 1);
        spinFor(1);
      }
      return { counted: to };
    },
  },
  report: {
    form: 'single',
    run({ shares }, context) {
      for (const share of shares) {
        context.progress(share, `at ${share}`);
        spinFor(60);
      }
      return null;
    },
  },
  sines: {
    form: 'tiled',
    prepare: (input: SinesInput) => ({ ...input, values: allocateShared(input.length) }),
    open({ length, tileLength, msPerTile, ran, failAtTile, values }: SinesInput & { values: Float64Array }) {
      return {
        count: Math.ceil(length / tileLength),
        stage: 'sines',
        run(index) {
          if (index === failAtTile)
            throw new AppError('SINGULAR', `Tile ${index} has no value`, { tile: index });
          spinFor(msPerTile);
          const end = Math.min(length, (index + 1) * tileLength);
          for (let i = index * tileLength; i < end; i++) values[i] = Math.sin(i);
          Atomics.add(ran, 0, 1);
        },
      };
    },
    finish: ({ values }: { values: Float64Array }) => ({ values: toPlain(values) }),
  },
  refuse: {
    form: 'single',
    run({ how }) {
      if (how === 'app-error')
        throw new AppError('BAD_INPUT', 'Row 3: depth is "deep"', { row: 3, field: 'depth' });
      if (how === 'bug') throw new TypeError('x is not a function');
      return { cannotCross: () => 1 };
    },
  },
  die: {
    form: 'single',
    run({ how }) {
      if (how === 'exit') process.exit(7);
      setTimeout(() => {
        throw new Error('thrown where nobody listens');
      });
      return new Promise<null>(() => {});
    },
  },
};
