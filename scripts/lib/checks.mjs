import { inRoot, root } from './paths.mjs';
import { run } from './run.mjs';
import { say } from './say.mjs';

/**
 * @typedef {object} Check
 * @property {string} name
 * @property {readonly string[]} args for the project's Node
 */

const TSC = inRoot('node_modules', 'typescript', 'bin', 'tsc');
const STRAY_TEXT = inRoot('scripts', 'check-stray-text.mjs');
const BIOME = inRoot('node_modules', '@biomejs', 'biome', 'bin', 'biome');

/** @type {readonly Check[]} */
export const checks = [
  {
    name: 'style and imports (biome)',
    args: [BIOME, 'check', '--error-on-warnings', '--max-diagnostics=50'],
  },
  { name: 'types (tsc)', args: [TSC, '-p', '.'] },
  { name: 'types of core, without a browser (tsc)', args: [TSC, '-p', 'core'] },
  { name: 'types of the scripts (tsc)', args: [TSC, '-p', 'scripts'] },
  { name: 'no paths of one machine, no addresses of registries', args: [STRAY_TEXT] },
];

/**
 * Runs every check, also after one has failed, and prints what the failing ones say.
 * @returns {Promise<{ passed: number, failed: number }>}
 */
export async function runChecks() {
  const outcomes = await Promise.all(
    checks.map(async (check) => ({ check, ...(await run(process.execPath, check.args, { cwd: root })) })),
  );
  for (const { check, code, output } of outcomes) {
    if (code !== 0) say(`\n${output.trim()}\n`);
    say(`${code === 0 ? 'passed' : 'FAILED'}  ${check.name}`);
  }
  const failed = outcomes.filter(({ code }) => code !== 0).length;
  return { passed: outcomes.length - failed, failed };
}
