import type { FigureOptions } from '../../contract/requests.ts';
import { figureFormatOf, saveFigure } from '../../project/figure.ts';
import { openProject } from '../../store/open-project.ts';
import type { Command, CommandContext } from '../command.ts';
import { choice, list, numberFlag, positional, text, usage } from '../flags.ts';

export const figureCommand: Command = {
  name: 'figure',
  usage: 'figure PROJECT.gasplat --out FILE.pdf [--out FILE.png ...]',
  summary: 'the map figure as PDF, SVG or PNG, by the ending of the file',
  positionals: { min: 1, max: 1 },
  options: {
    out: { type: 'string', value: 'FILE', multiple: true, help: 'file to write; may be given several times' },
    page: { type: 'string', value: 'A4|A3|Letter|Tabloid', help: 'size of the page (A4)' },
    orientation: {
      type: 'string',
      value: 'landscape|portrait',
      help: 'the one that shows the lot larger, unless said',
    },
    template: {
      type: 'string',
      value: 'map|quality|permit',
      help: 'sheet: the map (unless said), with plots and small maps, or with title block and seal',
    },
    dpi: { type: 'string', value: 'N', help: 'dots per inch of a PNG' },
    'prepared-by': { type: 'string', value: 'NAME', help: 'printed in the title block' },
    licence: { type: 'string', value: 'NUMBER', help: 'licence number of who signs' },
    address: { type: 'string', value: 'TEXT', help: 'of the lot' },
  },
  async run(context) {
    const outs = list(context, 'out');
    if (outs.length === 0) throw usage('--out is needed: a file ending in .pdf, .svg or .png.');
    const options = figureOptions(context);
    const store = openProject(positional(context, 0, 'The project file'), { actor: context.actor });
    try {
      const files = [];
      for (const path of outs) {
        const bytes = await saveFigure(
          store,
          context.jobs,
          path,
          figureFormatOf(path),
          options,
          {
            signal: context.signal,
            onProgress: context.progress,
          },
          context.version,
        );
        files.push({ path, bytes });
      }
      return { json: { files }, text: files.map((f) => `${f.path} (${f.bytes} bytes)`).join('\n') };
    } finally {
      store.close();
    }
  },
};

export function figureOptions(context: CommandContext): FigureOptions {
  const dpi = numberFlag(context, 'dpi', { above: 35 });
  const preparedBy = text(context, 'prepared-by');
  const licenceNumber = text(context, 'licence');
  const address = text(context, 'address');
  return {
    page: choice(context, 'page', ['A4', 'A3', 'Letter', 'Tabloid'], 'A4'),
    template: choice(context, 'template', ['map', 'quality', 'permit'], 'map'),
    ...(text(context, 'orientation') === undefined
      ? {}
      : { orientation: choice(context, 'orientation', ['landscape', 'portrait'], 'landscape') }),
    ...(licenceNumber === undefined ? {} : { licenceNumber }),
    ...(address === undefined ? {} : { address }),
    ...(dpi === undefined ? {} : { dpi }),
    ...(preparedBy === undefined ? {} : { preparedBy }),
  };
}
