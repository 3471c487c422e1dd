/**
 * @typedef {object} Parts
 * @property {boolean} lint
 * @property {readonly string[] | undefined} unit filters for the unit tests (none: all); undefined: not run
 * @property {readonly string[] | undefined} app the same for the tests of the window
 */

/**
 * What a `test` command line asks for.
 * @param {readonly string[]} args
 * @returns {Parts}
 */
export function partsFor(args) {
  if (args.length === 0) return { lint: true, unit: [], app: [] };
  const app = args.filter(isOfWindow);
  const unit = args.filter((arg) => arg !== 'lint' && !isOfWindow(arg));
  return {
    lint: args.includes('lint'),
    unit: unit.length === 0 ? undefined : unit.map((arg) => (arg === 'core' ? 'test/core/' : arg)),
    app: app.length === 0 ? undefined : app.filter((arg) => arg !== 'app'),
  };
}

/** @param {string} arg */
function isOfWindow(arg) {
  const path = arg.replaceAll('\\', '/');
  return path === 'app' || /(^|\/)test\/app(\/|$)/.test(path) || path.endsWith('.spec.ts');
}
