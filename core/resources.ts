/** Files that ship beside the code: migrations, fonts, schemes. One place knows where they are. */
import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { AppError } from './errors.ts';

const PACKAGE_NAME = 'gasplat';

/**
 * The folder that holds package.json. Found by walking up from this module, so the answer is the same from
 * source (core/), from a bundle (dist/) and from a packaged program whose archive keeps package.json on top.
 */
function findRoot(): string {
  const start = dirname(fileURLToPath(import.meta.url));
  for (let folder = start; ; folder = dirname(folder)) {
    const manifest = join(folder, 'package.json');
    if (existsSync(manifest) && JSON.parse(readFileSync(manifest, 'utf8')).name === PACKAGE_NAME)
      return folder;
    if (dirname(folder) === folder)
      throw new AppError('INTERNAL', `No package.json of ${PACKAGE_NAME} above ${start}`);
  }
}

let root: string | undefined;

/**
 * Absolute path of a shipped file or folder, named from the root: `resourcePath('migrations')`.
 * @throws AppError INTERNAL when the program's own files are incomplete
 */
export function resourcePath(...parts: readonly string[]): string {
  root ??= findRoot();
  const path = join(root, ...parts);
  if (!existsSync(path))
    throw new AppError('INTERNAL', `This installation lacks "${parts.join('/')}"`, { file: path });
  return path;
}
