import { resolve } from 'node:path';

export interface CommandLine {
  /** Absolute path of the project to open. */
  readonly openPath: string | null;
  readonly demo: boolean;
}

/**
 * What the program was asked to do first. Switches other than --demo are Electron's and pass by.
 * @param argv as in process.argv
 * @param packaged an unpackaged program has its folder as first plain argument
 */
export function parseCommandLine(argv: readonly string[], packaged: boolean, folder: string): CommandLine {
  const plain = argv.slice(1).filter((argument) => !argument.startsWith('-'));
  const project = plain.slice(packaged ? 0 : 1).find((argument) => /\.gasplat$/i.test(argument));
  return {
    openPath: project === undefined ? null : resolve(folder, project),
    demo: project === undefined && argv.includes('--demo'),
  };
}
