import { resolve } from 'node:path';
import { expect, test } from 'vitest';
import { parseCommandLine } from '../../electron/command-line.ts';

const folder = resolve('/jobs');

test.each([
  ['nothing', ['electron', '.'], false, null, false],
  ['the demo', ['electron', '--no-sandbox', '.', '--demo'], false, null, true],
  ['a project', ['electron', '.', 'lot 7.gasplat'], false, resolve(folder, 'lot 7.gasplat'), false],
  [
    'a project wins over the demo',
    ['electron', '.', '--demo', 'a.gasplat'],
    false,
    resolve(folder, 'a.gasplat'),
    false,
  ],
  [
    'switches before and after',
    ['electron', '--a=b', '.', '--x', 'a.gasplat'],
    false,
    resolve(folder, 'a.gasplat'),
    false,
  ],
  ['packaged: no program folder', ['gasplat', 'a.GASPLAT'], true, resolve(folder, 'a.GASPLAT'), false],
  ['other files are not projects', ['gasplat', 'points.csv'], true, null, false],
] as const)('%s', (_, argv, packaged, openPath, demo) => {
  expect(parseCommandLine(argv, packaged, folder)).toEqual({ openPath, demo });
});
