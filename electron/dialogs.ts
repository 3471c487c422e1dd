import { readFileSync, writeFileSync } from 'node:fs';
import { type BrowserWindow, dialog } from 'electron';
import type { OpenDialogOptions, SaveDialogOptions } from '../core/contract/shell.ts';
import { AppError } from '../core/errors.ts';

export interface Dialogs {
  chooseOpen(window: BrowserWindow, options: OpenDialogOptions): Promise<string | null>;
  chooseSave(window: BrowserWindow, options: SaveDialogOptions): Promise<string | null>;
}

const fileFilters = ({ filters }: OpenDialogOptions) =>
  filters.map(({ name, extensions }) => ({ name, extensions: [...extensions] }));

/** The system's own dialogs. */
export const systemDialogs: Dialogs = {
  async chooseOpen(window, options) {
    const { title } = options;
    const { canceled, filePaths } = await dialog.showOpenDialog(window, {
      title,
      filters: fileFilters(options),
      properties: ['openFile'],
    });
    return canceled ? null : (filePaths[0] ?? null);
  },
  async chooseSave(window, options) {
    const { title, suggestedName } = options;
    const { canceled, filePath } = await dialog.showSaveDialog(window, {
      title,
      filters: fileFilters(options),
      defaultPath: suggestedName,
    });
    return canceled || filePath === '' ? null : filePath;
  },
};

/**
 * For tests: each dialog takes the first entry of a JSON array of paths (null for 'cancelled') off `queueFile`.
 * @throws AppError where none is left: a dialog the test did not expect
 */
export function queuedDialogs(queueFile: string): Dialogs {
  const take = (title: string): string | null => {
    const queue = JSON.parse(readFileSync(queueFile, 'utf8')) as (string | null)[];
    const path = queue.shift();
    if (path === undefined) throw new AppError('NOT_FOUND', `No path is queued for the dialog "${title}"`);
    writeFileSync(queueFile, JSON.stringify(queue));
    return path;
  };
  return {
    chooseOpen: async (_window, { title }) => take(title),
    chooseSave: async (_window, { title }) => take(title),
  };
}
