/** Makes a fresh clone ready for one command: node scripts/bootstrap.mjs start|test|cli|dev|build|lint|bench */
import { bootstrap } from './lib/bootstrap.mjs';
import { commands } from './lib/needs.mjs';
import { giveUp, say } from './lib/say.mjs';

const command = commands.find((name) => name === process.argv[2]);
if (command === undefined) {
  say(`Usage: node scripts/bootstrap.mjs ${commands.join('|')}`);
  process.exit(2);
}
await bootstrap(command).catch(giveUp);
