/** Builds the window's program into dist/. */
import { buildAll } from './lib/build.mjs';
import { enter } from './lib/enter.mjs';
import { giveUp, say } from './lib/say.mjs';

await enter('build', import.meta.url);
const started = Date.now();
await buildAll().catch(giveUp);
say(`Built dist/ in ${((Date.now() - started) / 1000).toFixed(1)} s`);
