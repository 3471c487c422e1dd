import type { CompareWith } from '../../contract/comparing.ts';
import type { FigureOptions } from '../../contract/requests.ts';
import { saveComparison } from '../../project/compare.ts';
import { setSettings } from '../../project/edit.ts';
import { figureFormatOf, saveFigure, withoutGaps } from '../../project/figure.ts';
import { writeWhole } from '../../project/files.ts';
import { arrangeSheet } from '../../project/sheet-places.ts';
import { setSheetTexts } from '../../project/sheet-texts.ts';
import { buildView } from '../../project/view.ts';
import { openProject, type ProjectStore } from '../../store/open-project.ts';
import type { Command, CommandContext, CommandOutput } from '../command.ts';
import { choice, list, numberFlag, positional, text, usage } from '../flags.ts';
import { type LayoutFile, layoutText, readLayoutFile } from '../layout-file.ts';
import { sheetTextFlags, sheetTextOptions } from '../sheet-text-flags.ts';

export const figureCommand: Command = {
  name: 'figure',
  usage:
    'figure PROJECT.gasplat --out FILE.pdf [--out FILE.png ...] [--compare OTHER.gasplat | --before DAY --after DAY]',
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
    'site-plan': {
      type: 'string',
      value: 'on|off',
      help: 'the site plans of the project, greyed, under the map (as the project has it, else off)',
    },
    ...sheetTextOptions,
    compare: {
      type: 'string',
      value: 'OTHER',
      help: 'the change between this project and another one of the same ground; also as .tif',
    },
    before: {
      type: 'string',
      value: 'DAY',
      help: 'the change since the samples drawn before this day (YYYY-MM-DD, UTC)',
    },
    after: { type: 'string', value: 'DAY', help: 'up to those drawn on this day or after' },
    layout: { type: 'string', value: 'FILE.json', help: 'places of the parts, as --write-layout wrote them' },
    'close-gaps': {
      type: 'boolean',
      help: 'move up what stands below a moved or hidden part; what was placed stays',
    },
    'write-layout': { type: 'string', value: 'FILE.json', help: 'write where each part stands' },
    keep: {
      type: 'boolean',
      help: 'keep these texts and places, and --site-plan, in the project for every later figure and report',
    },
  },
  async run(context) {
    const outs = list(context, 'out');
    if (outs.length === 0) throw usage('--out is needed: a file ending in .pdf, .svg or .png.');
    const withWhat = compareWith(context);
    const project = positional(context, 0, 'The project file');
    if (withWhat !== null) return compareTo(context, project, withWhat, outs, figureOptions(context));
    const layoutPath = text(context, 'layout');
    const places = layoutPath === undefined ? null : readLayoutFile(layoutPath);
    const asked: FigureOptions = {
      ...figureOptions(context),
      ...(places === null ? {} : optionsOf(context, places)),
    };
    const store = openProject(project, { actor: context.actor });
    try {
      const work = { signal: context.signal, onProgress: context.progress };
      const closed =
        context.flags['close-gaps'] === true
          ? await withoutGaps(store, context.jobs, asked, work, context.version)
          : null;
      const options = closed ?? asked;
      if (context.flags['keep'] === true) {
        setSheetTexts(store, sheetTextFlags(context));
        if (options.sitePlan !== undefined) keepSitePlan(store, options.sitePlan);
        if (closed !== null) arrangeSheet(store, closed, closed.changes);
        else if (places !== null) arrangeSheet(store, places, places.parts);
      }
      const remarks = new Set<string>();
      const files = [];
      for (const path of outs) {
        const { bytes, layout } = await saveFigure(
          store,
          context.jobs,
          path,
          figureFormatOf(path),
          options,
          work,
          context.version,
        );
        files.push({ path, bytes });
        for (const remark of layout.remarks) remarks.add(remark);
        const written = text(context, 'write-layout');
        if (written !== undefined) writeWhole(written, layoutText(layout));
      }
      const lines = [...files.map((f) => `${f.path} (${f.bytes} bytes)`), ...remarks];
      return { json: { files, remarks: [...remarks] }, text: lines.join('\n') };
    } finally {
      store.close();
    }
  },
};

function keepSitePlan(store: ProjectStore, sitePlanInFigure: boolean): void {
  const { settings } = buildView(store);
  if ((settings.sitePlanInFigure ?? false) !== sitePlanInFigure)
    setSettings(store, { ...settings, sitePlanInFigure });
}

async function compareTo(
  context: CommandContext,
  project: string,
  withWhat: CompareWith,
  outs: readonly string[],
  options: FigureOptions,
): Promise<CommandOutput> {
  const targets = outs.map((path) => ({
    path,
    format: /\.tiff?$/i.test(path) ? ('geotiff' as const) : figureFormatOf(path),
  }));
  const store = openProject(project, { readOnly: true });
  try {
    const work = { signal: context.signal, onProgress: context.progress };
    const request = { with: withWhat, options };
    const done = await saveComparison(store, context.jobs, targets, request, work, context.version);
    const { summary, files } = done;
    return {
      json: { files, comparison: summary },
      text: [
        `${summary.later} minus ${summary.earlier}: ${summary.statement}`,
        ...[...summary.lines, ...summary.method].map((line) => `  ${line}`),
        ...files.map((f) => `${f.path} (${f.bytes} bytes)`),
      ].join('\n'),
    };
  } finally {
    store.close();
  }
}

function compareWith(context: CommandContext): CompareWith | null {
  const path = text(context, 'compare');
  const [before, after] = [dayFlag(context, 'before'), dayFlag(context, 'after')];
  if (path !== undefined) {
    if (before !== undefined || after !== undefined)
      throw usage(
        '--compare names another project; --before and --after part this one. Give one or the other.',
      );
    return { kind: 'project', path };
  }
  const cut = before ?? after;
  if (cut === undefined) return null;
  const dayBefore = new Date(Date.parse(before ?? cut) - 86_400_000).toISOString().slice(0, 10);
  return { kind: 'dates', earlier: { to: dayBefore }, later: { from: after ?? cut } };
}

function dayFlag(context: CommandContext, name: string): string | undefined {
  const value = text(context, name);
  if (value !== undefined && (!/^\d{4}-\d{2}-\d{2}$/.test(value) || Number.isNaN(Date.parse(value))))
    throw usage(`--${name} takes a day like 2026-05-19, not "${value}".`);
  return value;
}

/** A file of places belongs to one sheet: its page, way and template hold, and a flag that says otherwise is refused. */
function optionsOf(
  context: CommandContext,
  { template, page, orientation, parts }: LayoutFile,
): FigureOptions {
  for (const [flag, own] of Object.entries({ template, page, orientation })) {
    const given = text(context, flag);
    if (given !== undefined && given !== own)
      throw usage(`--${flag} ${given} does not go with the file of places, which is for ${own}.`);
  }
  return { template, page, orientation, changes: parts };
}

export function figureOptions(context: CommandContext): FigureOptions {
  const dpi = numberFlag(context, 'dpi', { above: 35 });
  return {
    page: choice(context, 'page', ['A4', 'A3', 'Letter', 'Tabloid'], 'A4'),
    template: choice(context, 'template', ['map', 'quality', 'permit'], 'map'),
    ...(text(context, 'orientation') === undefined
      ? {}
      : { orientation: choice(context, 'orientation', ['landscape', 'portrait'], 'landscape') }),
    ...(dpi === undefined ? {} : { dpi }),
    ...(text(context, 'site-plan') === undefined
      ? {}
      : { sitePlan: choice(context, 'site-plan', ['on', 'off'], 'off') === 'on' }),
    ...sheetTextFlags(context),
  };
}
