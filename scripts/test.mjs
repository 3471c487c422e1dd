/**
 * Every check there is, or a part of it:
 *   node scripts/test.mjs              style, types, unit tests, build, tests of the window
 *   node scripts/test.mjs lint|core|app
 *   node scripts/test.mjs <path> ...   the tests of those files or folders
 * The last line is "N passed, N failed"; the exit code is 1 where anything failed.
 */
import { runChecks } from './lib/checks.mjs';
import { enter } from './lib/enter.mjs';
import { runBuild, runPlaywright, runVitest } from './lib/runners.mjs';
import { giveUp, say } from './lib/say.mjs';
import { partsFor } from './lib/test-parts.mjs';
import { noCounts, sumCounts } from './lib/test-results.mjs';

const parts = partsFor(process.argv.slice(2));
await enter(parts.app === undefined ? 'lint' : 'test', import.meta.url);
await testAll().catch(giveUp);

async function testAll() {
  const counts = [];
  if (parts.lint) counts.push({ ...noCounts(), ...(await runChecks()) });
  if (parts.unit !== undefined) counts.push(await runVitest(parts.unit));
  if (parts.app !== undefined) {
    const build = await runBuild();
    counts.push(build, await runPlaywright(parts.app));
  }
  const { passed, failed, skipped } = sumCounts(counts);
  if (skipped > 0) say(`${skipped} skipped by the tests themselves.`);
  if (passed + failed === 0) say('Nothing was run.');
  process.exitCode = failed > 0 || passed === 0 ? 1 : 0;
  // Alone on the last line: other tools read it.
  process.stdout.write(`\n${passed} passed, ${failed} failed\n`);
}
