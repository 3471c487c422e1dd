/** Flags for the people and texts of figure and report; each holds against what the project keeps. */
import type { SheetField, SheetTexts } from '../contract/sheet.ts';
import type { CommandContext } from './command.ts';
import { text } from './flags.ts';

const FLAGS = {
  'prepared-by': ['preparedBy', 'NAME', 'who signs'],
  licence: ['licenceNumber', 'NUMBER', 'licence number of who signs'],
  organisation: ['organisation', 'NAME', 'of who signs'],
  'reviewed-by': ['reviewedBy', 'NAME', 'a second person who signs'],
  client: ['client', 'NAME', 'who asked for the work'],
  address: ['address', 'TEXT', 'of the lot'],
  'job-number': ['jobNumber', 'TEXT', 'of the job'],
  'sheet-number': ['sheetNumber', 'TEXT', 'of the sheet'],
  revision: ['revision', 'TEXT', 'of the sheet'],
  notes: ['notes', 'TEXT', 'printed on the sheet'],
} as const satisfies Record<string, readonly [SheetField, string, string]>;

type TextOptions = { readonly [F in keyof typeof FLAGS]: { type: 'string'; value: string; help: string } };

export const sheetTextOptions = Object.fromEntries(
  Object.entries(FLAGS).map(([flag, [, value, help]]) => [flag, { type: 'string', value, help }]),
) as TextOptions;

export function sheetTextFlags(context: CommandContext): SheetTexts {
  const purpose = text(context, 'purpose');
  return {
    ...Object.fromEntries(
      Object.entries(FLAGS).flatMap(([flag, [field]]) => {
        const given = text(context, flag);
        return given === undefined ? [] : [[field, given]];
      }),
    ),
    ...(purpose === undefined ? {} : { purpose }),
  };
}
