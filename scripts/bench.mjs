/** Runs the measurements in test/bench, one after the other; a name part chooses among them. */
import { existsSync, readdirSync } from 'node:fs';
import { enter } from './lib/enter.mjs';
import { inRoot, root } from './lib/paths.mjs';
import { relay } from './lib/run.mjs';
import { say } from './lib/say.mjs';

await enter('bench', import.meta.url);
const wanted = process.argv[2] ?? '';
const folder = inRoot('test', 'bench');
const names = existsSync(folder) ? readdirSync(folder, { recursive: true, encoding: 'utf8' }) : [];
const files = names.filter((name) => name.endsWith('.bench.ts')).sort();
const chosen = files.filter((file) => file.includes(wanted));
if (chosen.length === 0)
  say(`No measurement in test/bench${wanted === '' ? '' : ` with "${wanted}" in its name`}.`);
for (const file of chosen) {
  say(`\n${file}`);
  const args = ['--disable-warning=ExperimentalWarning', inRoot('test', 'bench', file)];
  const code = await relay(process.execPath, args, { cwd: root });
  if (code !== 0) process.exitCode = 1;
}
