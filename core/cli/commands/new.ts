import { importGeometry } from '../../project/import-geometry.ts';
import { newProject } from '../../project/new-project.ts';
import { buildView } from '../../project/view.ts';
import type { Command } from '../command.ts';
import { parseCrs, positional, required, text } from '../flags.ts';

export const newCommand: Command = {
  name: 'new',
  usage: 'new PROJECT.gasplat --name NAME --crs SYSTEM [--lot FILE]',
  summary: 'make a project file, with its coordinate system and lot',
  positionals: { min: 1, max: 1 },
  options: {
    name: { type: 'string', help: 'name of the project' },
    crs: {
      type: 'string',
      value: 'SYSTEM',
      help: 'EPSG:CODE of a projected system, or local:m, local:ft, local:ft-us',
    },
    lot: {
      type: 'string',
      value: 'FILE',
      help: 'lot outline: GeoJSON, GeoPackage, shapefile, KML, DXF, or a table of corners with columns x and y',
    },
  },
  async run(context) {
    const path = positional(context, 0, 'The project file');
    const store = newProject({
      path,
      name: required(context, 'name'),
      crs: parseCrs(required(context, 'crs')),
      actor: context.actor,
    });
    try {
      const lot = text(context, 'lot');
      const notes = lot === undefined ? [] : importGeometry(store, lot, 'lot').notes;
      const view = buildView(store);
      const area = view.lotAreaM2 === null ? 'no lot yet' : `lot of ${view.lotAreaM2.toFixed(0)} m2`;
      return {
        json: { path: view.path, name: view.name, crs: view.frame.crsName, lotAreaM2: view.lotAreaM2, notes },
        text: [`${view.path}: ${view.name}, ${view.frame.crsName}, ${area}`, ...notes].join('\n'),
      };
    } finally {
      store.close();
    }
  },
};
