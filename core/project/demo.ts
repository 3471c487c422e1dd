import { existsSync, readFileSync, rmSync } from 'node:fs';
import { basename } from 'node:path';
import { z } from 'zod';
import { crsSchema } from '../contract/outline-schemas.ts';
import type { DemoLot } from '../contract/requests.ts';
import type { ProjectSettings } from '../contract/settings.ts';
import { AppError } from '../errors.ts';
import { resourcePath } from '../resources.ts';
import type { ProjectStore } from '../store/open-project.ts';
import { openProject } from '../store/open-project.ts';
import { setFootprint, setSettings } from './edit.ts';
import { projectRow } from './frame-of.ts';
import { commitImport } from './import-files.ts';
import { importGeometry } from './import-geometry.ts';
import { newProject } from './new-project.ts';
import { parseSettings } from './settings.ts';

const FOLDERS: Record<DemoLot, string> = { ordinary: 'ordinary-lot', troubled: 'troubled-lot' };

const sampleProject = z.object({
  name: z.string(),
  note: z.string(),
  crs: crsSchema,
  schemeId: z.string(),
  radonUnit: z.enum(['kBq/m3', 'pCi/L']),
  lotFile: z.string(),
  samplesFile: z.string(),
  footprint: z.object({ label: z.string(), ring: z.array(z.tuple([z.number(), z.number()])) }),
});

/**
 * Makes a project of an invented sample lot by the same steps a person takes: new, lot, import, footprint.
 * An earlier demo project at `path` is replaced; any other file is refused.
 */
export function createFromDemo(input: { path: string; lot: DemoLot; actor: string }): ProjectStore {
  clearOldDemo(input.path);
  const file = (name: string) => resourcePath('samples', FOLDERS[input.lot], name);
  const sample = sampleProject.parse(JSON.parse(readFileSync(file('project.json'), 'utf8')));
  const store = newProject({
    path: input.path,
    name: sample.name,
    note: sample.note,
    crs: sample.crs,
    actor: input.actor,
    isDemo: true,
  });
  try {
    const settings = parseSettings(projectRow(store).settings_json);
    const changed: ProjectSettings = { ...settings, schemeId: sample.schemeId, radonUnit: sample.radonUnit };
    setSettings(store, changed);
    importGeometry(store, file(sample.lotFile), 'lot');
    commitImport(store, file(sample.samplesFile), {});
    setFootprint(store, sample.footprint.label, sample.footprint.ring);
    return store;
  } catch (error) {
    store.close();
    throw error;
  }
}

function clearOldDemo(path: string): void {
  if (!existsSync(path)) return;
  let isDemo = false;
  const old = openProject(path, { readOnly: true });
  try {
    isDemo = projectRow(old).is_demo === 1;
  } finally {
    old.close();
  }
  if (!isDemo) {
    throw new AppError(
      'BAD_INPUT',
      `${basename(path)} exists and is no demo project; it is left as it is. Choose another name.`,
      {
        file: path,
      },
    );
  }
  rmSync(path);
}
