/**
 * What a committed file must not say: where one machine keeps things, and where packages were fetched from. Both leak
 * from a lockfile or a pasted message, and neither means anything elsewhere.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';

/** Nothing in these is committed. */
const SKIPPED_FOLDERS = new Set(['.git', 'node_modules', 'dist', 'out', 'artefacts']);
/** Text a person or a tool writes; the rest is data, pictures and binaries. */
const TEXT = /\.(ts|tsx|mts|mjs|json|css|html|md|sql|csv|txt)$/;
/** Home folders of the window's invented sample project. */
const INVENTED_USER = 'sample';

/** @type {readonly { what: string, pattern: RegExp }[]} */
const STRAY = [
  {
    what: 'address of a package registry',
    pattern: /https?:\/\/[^\s"'`<>)/]*(?:registry|npmjs|npmmirror|artifactory|nexus|pypi)[^\s"'`<>)]*/gi,
  },
  // A mirror can have any name; in a lockfile every address is where a package came from.
  { what: 'address of a package registry', pattern: /"resolved": "https?:[^"]*/g },
  {
    what: 'path of one machine',
    pattern: new RegExp(
      `(?<![\\w.~/*:-])/(?:root|work|tmp|var/folders|mnt|(?:home|Users)/(?!${INVENTED_USER}\\b)\\w+)/[\\w.][^\\s"'\`)]*`,
      'g',
    ),
  },
  { what: 'path of one machine', pattern: /\b[A-Z]:\\+Users\\+\w+/g },
];

/**
 * @typedef {object} Stray
 * @property {number} line counted from 1
 * @property {string} what
 * @property {string} text as found
 */

/**
 * @param {string} text of one file
 * @returns {Stray[]} in the order of the lines
 */
export function findStrayText(text) {
  return text
    .split('\n')
    .flatMap((row, i) =>
      STRAY.flatMap(({ what, pattern }) =>
        [...row.matchAll(pattern)].map((found) => ({ line: i + 1, what, text: found[0] })),
      ),
    );
}

/**
 * @param {string} folder
 * @returns {string[]} one line for each find: file, line, what and text
 */
export function strayTextIn(folder) {
  const files = readdirSync(folder, { withFileTypes: true }).flatMap((entry) => {
    if (SKIPPED_FOLDERS.has(entry.name)) return [];
    const path = join(folder, entry.name);
    if (entry.isDirectory()) return strayTextIn(path);
    if (!entry.isFile() || !TEXT.test(entry.name)) return [];
    return findStrayText(readFileSync(path, 'utf8')).map(
      ({ line, what, text }) => `${path}:${line}: ${what}: ${text}`,
    );
  });
  return files;
}
