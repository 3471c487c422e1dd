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
    orientation: { type: 'string', value: 'landscape|portrait', help: 'of the page (landscape)' },
    dpi: { type: 'string', value: 'N', help: 'dots per inch of a PNG' },
    'prepared-by': { type: 'string', value: 'NAME', help: 'printed in the title block' },
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
  return {
    page: choice(context, 'page', ['A4', 'A3', 'Letter', 'Tabloid'], 'A4'),
    orientation: choice(context, 'orientation', ['landscape', 'portrait'], 'landscape'),
    ...(dpi === undefined ? {} : { dpi }),
    ...(preparedBy === undefined ? {} : { preparedBy }),
  };
}
