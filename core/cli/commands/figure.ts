import type { FigureOptions } from '../../contract/requests.ts';
import { figureFormatOf, saveFigure } from '../../project/figure.ts';
import { setSheetTexts } from '../../project/sheet-texts.ts';
import { openProject } from '../../store/open-project.ts';
import type { Command, CommandContext } from '../command.ts';
import { choice, list, numberFlag, positional, text, usage } from '../flags.ts';
import { sheetTextFlags, sheetTextOptions } from '../sheet-text-flags.ts';

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
    ...sheetTextOptions,
    keep: { type: 'boolean', help: 'keep these texts in the project, for every later figure and report' },
  },
  async run(context) {
    const outs = list(context, 'out');
    if (outs.length === 0) throw usage('--out is needed: a file ending in .pdf, .svg or .png.');
    const options = figureOptions(context);
    const store = openProject(positional(context, 0, 'The project file'), { actor: context.actor });
    try {
      if (context.flags['keep'] === true) setSheetTexts(store, sheetTextFlags(context));
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
  return {
    page: choice(context, 'page', ['A4', 'A3', 'Letter', 'Tabloid'], 'A4'),
    template: choice(context, 'template', ['map', 'quality', 'permit'], 'map'),
    ...(text(context, 'orientation') === undefined
      ? {}
      : { orientation: choice(context, 'orientation', ['landscape', 'portrait'], 'landscape') }),
    ...(dpi === undefined ? {} : { dpi }),
    ...sheetTextFlags(context),
  };
}
