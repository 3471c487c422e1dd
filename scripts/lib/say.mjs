/** What the person has to know or do; shown as it is, without a stack. */
export class Stop extends Error {}

/**
 * Progress goes to stderr, so that a command's own output stays clean.
 * @param {string} text
 */
export function say(text) {
  process.stderr.write(`${text}\n`);
}

/**
 * Ends the process with a plain message for a Stop, and with the stack for a fault of ours.
 * @param {unknown} error
 * @returns {never}
 */
export function giveUp(error) {
  if (error instanceof Stop) say(`\n${error.message}`);
  else say(error instanceof Error ? (error.stack ?? error.message) : String(error));
  process.exit(1);
}
