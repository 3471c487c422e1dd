import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { describe, expect, test } from 'vitest';
import { inRoot } from '../../scripts/lib/paths.mjs';
import { reasonIn, retry, run, tail } from '../../scripts/lib/run.mjs';

const node = process.execPath;

describe('run', () => {
  test('gives back the exit code and what was printed', async () => {
    const source = 'console.log("one"); console.error("two"); process.exit(3)';
    const { code, output } = await run(node, ['--eval', source]);
    expect(code).toBe(3);
    expect(output).toContain('one');
    expect(output).toContain('two');
  });

  test('does not wait for stdin', async () => {
    const source = 'process.stdin.resume().on("end", () => console.log("no input"))';
    expect((await run(node, ['--eval', source])).output).toContain('no input');
  });

  test('a program that does not exist is a failure, not an exception', async () => {
    const { code, output } = await run('no-such-program-here', []);
    expect(code).toBe(1);
    expect(output).toContain('no-such-program-here');
  });

  test('stops what does not end', async () => {
    const { code, output } = await run(node, ['--eval', 'setInterval(() => {}, 1000)'], { limitS: 0.2 });
    expect(code).toBe(1);
    expect(output).toContain('stopped after 0.2 s');
  });
});

describe('retry', () => {
  test('stops at the first success', async () => {
    /** @type {number[]} */
    const failures = [];
    let calls = 0;
    const attempt = async () => {
      calls += 1;
      return { code: calls < 3 ? 1 : 0, output: '' };
    };
    const outcome = await retry(3, attempt, (_, tryNumber) => failures.push(tryNumber), 1);
    expect(outcome.code).toBe(0);
    expect(failures).toEqual([1, 2]);
  });

  test('gives back the last failure after the last try', async () => {
    let calls = 0;
    const attempt = async () => {
      calls += 1;
      return { code: 1, output: `failure ${calls}` };
    };
    expect(await retry(3, attempt, () => {}, 1)).toEqual({ code: 1, output: 'failure 3' });
  });
});

describe.skipIf(process.platform === 'win32')('relay', () => {
  /** @param {string} childSource */
  const start = (childSource) => {
    const source = `
      import { relay } from ${JSON.stringify(inRoot('scripts', 'lib', 'run.mjs'))};
      process.exit(await relay(process.execPath, ['--eval', ${JSON.stringify(childSource)}]));`;
    return spawn(node, ['--input-type=module', '--eval', source], { stdio: ['ignore', 'pipe', 'inherit'] });
  };

  test("ends with the child's exit code", async () => {
    expect((await once(start('process.exit(7)'), 'close'))[0]).toBe(7);
  });

  test.each(/** @type {const} */ (['SIGINT', 'SIGTERM']))(
    'passes %s on and lets the child decide',
    async (signal) => {
      const parent = start(`
      process.on(${JSON.stringify(signal)}, () => process.exit(5));
      setInterval(() => {}, 1000);
      console.log("ready")`);
      await once(parent.stdout, 'data');
      parent.kill(signal);
      expect((await once(parent, 'close'))[0]).toBe(5);
    },
  );

  test('a child ended by a signal gives 128 and its number', async () => {
    const parent = start('process.kill(process.pid, "SIGTERM"); setInterval(() => {}, 1000)');
    expect((await once(parent, 'close'))[0]).toBe(143);
  });
});

test('tail keeps the last lines, indented', () => {
  expect(tail('a\nb\nc\n', 2)).toBe('    b\n    c');
});

test('the reason is the first line that speaks of an error, else the last', () => {
  expect(reasonIn('npm warn old\nnpm error code ECONNREFUSED\nnpm error stack\n')).toBe(
    'npm error code ECONNREFUSED',
  );
  expect(reasonIn('one\n  two  \n')).toBe('two');
  expect(reasonIn('')).toBe('');
});
