import { extname } from 'node:path';
import { exportData } from '../../project/export-data.ts';
import { writeWhole } from '../../project/files.ts';
import { openProject } from '../../store/open-project.ts';
import type { Command } from '../command.ts';
import { positional, required, usage } from '../flags.ts';

export const exportCommand: Command = {
  name: 'export',
  usage: 'export PROJECT.gasplat --out FILE.geojson|FILE.csv',
  summary: 'probes, samples, contours and lot as GeoJSON; probes and samples as CSV',
  positionals: { min: 1, max: 1 },
  options: { out: { type: 'string', value: 'FILE', help: 'file to write; its ending says the format' } },
  async run(context) {
    const out = required(context, 'out');
    const format = { '.geojson': 'geojson', '.json': 'geojson', '.csv': 'csv' }[extname(out).toLowerCase()];
    if (format !== 'geojson' && format !== 'csv')
      throw usage(`--out ends in .geojson or .csv, not "${out}".`);
    const store = openProject(positional(context, 0, 'The project file'), { actor: context.actor });
    try {
      const content = await exportData(store, context.jobs, format, {
        signal: context.signal,
        onProgress: context.progress,
      });
      const bytes = writeWhole(out, content);
      return { json: { path: out, format, bytes }, text: `${out} (${bytes} bytes)` };
    } finally {
      store.close();
    }
  },
};
