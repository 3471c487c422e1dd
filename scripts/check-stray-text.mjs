/** Fails where a committed text names one machine's folders or a package registry. */
import { root } from './lib/paths.mjs';
import { say } from './lib/say.mjs';
import { strayTextIn } from './lib/stray-text.mjs';

const found = strayTextIn(root);
for (const line of found) say(line);
process.exitCode = found.length > 0 ? 1 : 0;
