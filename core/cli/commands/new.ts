import { importGeometry } from '../../project/import-geometry.ts';
import { newProject } from '../../project/new-project.ts';
import { buildView } from '../../project/view.ts';
import type { Command } from '../command.ts';
import { parseCrs, positional, required, text } from '../flags.ts';
import { importControlPoints } from '../import-control.ts';

export const newCommand: Command = {
  name: 'new',
  usage: 'new PROJECT.gasplat --name NAME --crs SYSTEM [--lot FILE] [--control FILE --onto SYSTEM]',
  summary: 'make a project file, with its coordinate system and lot',
  positionals: { min: 1, max: 1 },
  options: {
    name: { type: 'string', help: 'name of the project' },
    crs: {
      type: 'string',
      value: 'SYSTEM',
      help: 'EPSG:CODE of a projected system, or local:m, local:ft, local:ft-us',
    },
    control: {
      type: 'string',
      value: 'FILE',
      help: 'ties a local grid to the map: a table with label, local x, local y, mapped x and mapped y',
    },
    onto: { type: 'string', value: 'SYSTEM', help: 'mapped system of the control points, EPSG:CODE' },
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
      const control = text(context, 'control');
      const tied = control === undefined ? null : importControlPoints(store, control, text(context, 'onto'));
      const lot = text(context, 'lot');
      const notes = lot === undefined ? [] : importGeometry(store, lot, 'lot').notes;
      const view = buildView(store);
      const area = view.lotAreaM2 === null ? 'no lot yet' : `lot of ${view.lotAreaM2.toFixed(0)} m2`;
      return {
        json: {
          path: view.path,
          name: view.name,
          crs: view.frame.crsName,
          lotAreaM2: view.lotAreaM2,
          notes,
          ...(tied === null ? {} : { control: tied.json }),
        },
        text: [
          `${view.path}: ${view.name}, ${view.frame.crsName}, ${area}`,
          ...(tied === null ? [] : [tied.text]),
          ...notes,
        ].join('\n'),
      };
    } finally {
      store.close();
    }
  },
};
