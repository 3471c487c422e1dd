import type { LeaveSite, QualitySummary } from '../../contract/quality.ts';
import { AppError } from '../../errors.ts';
import { readWhole } from '../../project/files.ts';
import { checkReportFile } from '../../project/issue.ts';
import { checkLeaving, summariseProject } from '../../project/quality.ts';
import { buildView } from '../../project/view.ts';
import { openProject } from '../../store/open-project.ts';
import type { Command } from '../command.ts';
import { positional, text } from '../flags.ts';
import { countFindings, countLine } from './reduce.ts';

export const checkCommand: Command = {
  name: 'check',
  usage: 'check PROJECT.gasplat [--report FILE]',
  summary:
    'is the file whole, does its record hold, what in it is odd, how good are its samples, and what is missing before leaving the site',
  positionals: { min: 1, max: 1 },
  options: {
    report: {
      type: 'string',
      value: 'FILE',
      help: 'is this file an issue of the project, unaltered; exit code 1 where it is not',
    },
  },
  async run(context) {
    const path = positional(context, 0, 'The project file');
    const store = openProject(path, { readOnly: true });
    try {
      const record = store.verifyRecord();
      if (!record.intact) {
        throw new AppError('STORE_DAMAGED', `${path}: the record does not hold: ${record.problem}`, {
          file: path,
        });
      }
      const file = text(context, 'report');
      if (file !== undefined) {
        const checked = checkReportFile(store, readWhole(file), file);
        if (checked.state !== 'unaltered')
          throw new AppError('BAD_INPUT', checked.statement, {
            file,
            state: checked.state,
            issue: checked.number,
          });
        return { json: { file, ...checked }, text: checked.statement };
      }
      const view = buildView(store);
      const counts = countFindings(view);
      const quality = summariseProject(store, view);
      const leave = checkLeaving(store, view);
      const lines = [
        `${view.path}: whole, record of ${view.revision} entries holds`,
        `${view.name}; ${view.frame.crsName}; ${view.probes.length} probes`,
        countLine(counts),
        ...view.warnings.map((w) => `warning: ${w}`),
        ...qualityLines(quality),
        ...leaveLines(leave),
      ];
      return {
        json: {
          path: view.path,
          revision: view.revision,
          recordIntact: true,
          counts,
          warnings: view.warnings,
          quality,
          leave,
        },
        text: lines.join('\n'),
      };
    } finally {
      store.close();
    }
  },
};

function qualityLines({ words, items }: QualitySummary): string[] {
  return [
    '',
    `Quality. ${words}`,
    ...items.flatMap((i) => {
      const mark = i.mark === 'confirmed' ? '' : ` [unconfirmed: ${i.mark}]`;
      return [
        `  ${i.verdict.padEnd(12)}  ${i.what}: ${i.value}. ${i.words}`,
        `                limit: ${i.limit}${mark}; ${i.source}`,
      ];
    }),
  ];
}

function leaveLines({ day, words, items }: LeaveSite): string[] {
  return [
    '',
    `Before leaving the site${day === null ? '' : ` (${day})`}. ${words}`,
    ...items.map((i) => `  ${i.isDone ? 'done   ' : 'missing'}  ${i.what}: ${i.words}`),
  ];
}
