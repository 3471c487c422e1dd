/**
 * Unpacks the substitute runtime and sets its fuses. A process of its own: both packages need the project's
 * Node, while the bootstrap must run on an older one.
 */
import { FuseV1Options, FuseVersion, flipFuses } from '@electron/fuses';
import { extract } from '@electron-internal/extract-zip';

const [zip, folder, program] = process.argv.slice(2);
if (zip === undefined || folder === undefined || program === undefined) {
  throw new Error('Needs the zip, the folder to unpack into and the path of the program in it');
}
await extract(zip, { dir: folder });
await flipFuses(program, {
  version: FuseVersion.V1,
  // The snapshot belongs to the app the runtime was packed with.
  [FuseV1Options.LoadBrowserProcessSpecificV8Snapshot]: false,
  // The window tests attach through the inspector.
  [FuseV1Options.EnableNodeCliInspectArguments]: true,
});
