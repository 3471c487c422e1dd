import type { ExportOptions } from '../../contract/requests.ts';
import { DATA_FORMATS, formatOfFile } from '../../exchange/export-formats.ts';
import { exportData } from '../../project/export-data.ts';
import { writeWhole } from '../../project/files.ts';
import { openProject } from '../../store/open-project.ts';
import type { Command } from '../command.ts';
import { choice, numberFlag, positional, required, text, usage } from '../flags.ts';

const ENDINGS = DATA_FORMATS.map((f) => `${f.endings.map((e) => `.${e}`).join(' or ')} (${f.name})`);

export const exportCommand: Command = {
  name: 'export',
  usage: 'export PROJECT.gasplat --out FILE.EXT [options]',
  summary:
    'probes, samples, contours and lot for other programs: CSV, maps, drawings, receivers in the field',
  positionals: { min: 1, max: 1 },
  options: {
    out: { type: 'string', value: 'FILE.EXT', help: `its ending says the format: ${ENDINGS.join(', ')}` },
    rows: { type: 'string', value: 'samples|probes|stake-out', help: 'rows of a CSV (samples unless said)' },
    'plot-scale': {
      type: 'string',
      value: 'N',
      help: 'texts of a DXF are sized for a plot at 1:N; chosen by the lot where absent',
    },
    simplify: {
      type: 'string',
      value: 'M',
      help: 'isolines and bands with fewer points, moved by no more than this (0)',
    },
  },
  async run(context) {
    const out = required(context, 'out');
    const format = formatOfFile(out);
    const plotScale = numberFlag(context, 'plot-scale', { above: 0 });
    if (text(context, 'rows') !== undefined && format.id !== 'csv')
      throw usage(`--rows is for CSV, not for ${format.name}.`);
    if (plotScale !== undefined && format.id !== 'dxf')
      throw usage(`--plot-scale is for DXF, not for ${format.name}.`);
    const simplifyM = numberFlag(context, 'simplify');
    const options: ExportOptions = {
      ...(simplifyM === undefined ? {} : { simplifyM }),
      rows: choice(context, 'rows', ['samples', 'probes', 'stake-out'], 'samples'),
      ...(plotScale === undefined ? {} : { plotScale }),
    };
    const store = openProject(positional(context, 0, 'The project file'), { actor: context.actor });
    try {
      const content = await exportData(store, context.jobs, format.id, options, {
        signal: context.signal,
        onProgress: context.progress,
      });
      const bytes = writeWhole(out, content);
      return { json: { path: out, format: format.id, bytes }, text: `${out} (${bytes} bytes)` };
    } finally {
      store.close();
    }
  },
};
