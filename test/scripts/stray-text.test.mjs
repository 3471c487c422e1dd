import { expect, test } from 'vitest';
import { findStrayText } from '../../scripts/lib/stray-text.mjs';

// Put together here, so that this file itself stays clean.
const registry = `https://${'registry'}.example.org/zod/-/zod-4.6.7.tgz`;

test.each([
  [`fetched ${registry}`, registry],
  [
    `"${'resolved'}": "http://mirror.example.org/zod.tgz"`,
    `"${'resolved'}": "http://mirror.example.org/zod.tgz`,
  ],
  [`read from /${'root'}/notes.txt`, `/${'root'}/notes.txt`],
  [`cd /${'work'}/main && ls`, `/${'work'}/main`],
  [`join('/${'home'}/anna/lot.gasplat')`, `/${'home'}/anna/lot.gasplat`],
  [`C:\\${'Users'}\\anna\\lot.gasplat`, `C:\\${'Users'}\\anna`],
])('%s', (line, found) => {
  expect(findStrayText(`first\n${line}`)).toEqual([expect.objectContaining({ line: 2, text: found })]);
});

test('addresses in the file formats, relative paths and the invented user pass', () => {
  const clean = [
    'xmlns="http://www.w3.org/2000/svg"',
    "import { x } from '../work/panel.ts'",
    'renderer/work/panel.css',
    "chooseOpen: '/home/sample/lot-7.gasplat'",
    'https://www.sqlite.org/fileformat2.html',
  ];
  expect(findStrayText(clean.join('\n'))).toEqual([]);
});
