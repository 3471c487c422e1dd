import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { createFromDemo } from '../../project/demo.ts';
import { exportData } from '../../project/export-data.ts';
import { gatherFigure, renderProjectFigure } from '../../project/figure.ts';
import { writeWhole } from '../../project/files.ts';
import { gatherReport, saveReport } from '../../project/report.ts';
import type { Command } from '../command.ts';
import { choice, required } from '../flags.ts';
import { classText } from './classify.ts';
import { figureOptions } from './figure.ts';
import { countFindings, countLine } from './reduce.ts';

export const demoCommand: Command = {
  name: 'demo',
  usage: 'demo --out DIR [--lot ordinary|troubled]',
  summary: 'the whole job on an invented sample lot',
  positionals: { min: 0, max: 0 },
  options: {
    out: {
      type: 'string',
      value: 'DIR',
      help: 'folder for the project, figure, report and data; made where missing',
    },
    lot: { type: 'string', value: 'ordinary|troubled', help: 'which sample (troubled)' },
  },
  async run(context) {
    const folder = required(context, 'out');
    const lot = choice(context, 'lot', ['ordinary', 'troubled'], 'troubled');
    mkdirSync(folder, { recursive: true });
    const project = join(folder, `${lot}.gasplat`);
    const store = createFromDemo({ path: project, lot, actor: context.actor });
    try {
      const work = { signal: context.signal, onProgress: context.progress };
      const options = figureOptions(context);
      const parts = await gatherFigure(store, context.jobs, options, work, context.version);
      const files = [project];
      for (const format of ['pdf', 'svg', 'png'] as const) {
        const path = join(folder, `${lot}-map.${format}`);
        writeWhole(path, (await renderProjectFigure(parts, store, format, options)).bytes);
        files.push(path);
      }
      const report = join(folder, `${lot}-report.pdf`);
      const input = await gatherReport(store, context.jobs, {}, work, context.version);
      await saveReport(context.jobs, report, input, 'pdf', 'A4', work);
      files.push(report);
      const data = join(folder, `${lot}-samples.csv`);
      writeWhole(data, await exportData(store, context.jobs, 'csv', {}, work));
      files.push(data);
      const counts = countFindings(parts.view);
      const { classResult } = parts;
      return {
        json: {
          lot,
          class: classResult.classId,
          className: classResult.className,
          refusal: classResult.refusal,
          statisticKBqPerM3: classResult.statisticKBqPerM3,
          scheme: classResult.schemeId,
          flags: counts,
          crossValidation: parts.surface?.crossValidation ?? null,
          files,
        },
        text: [
          `Invented data: ${parts.view.name}`,
          classText(classResult),
          countLine(counts),
          'Files:',
          ...files.map((f) => `  ${f}`),
        ].join('\n'),
      };
    } finally {
      store.close();
    }
  },
};
