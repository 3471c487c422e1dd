/** Style, import rules, types, and texts that belong to one machine. */
import { runChecks } from './lib/checks.mjs';
import { enter } from './lib/enter.mjs';

await enter('lint', import.meta.url);
const { failed } = await runChecks();
process.exitCode = failed > 0 ? 1 : 0;
