import type { ProjectView } from '../contract/model.ts';
import type { SheetRequests } from '../contract/sheet.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { Handlers } from './engine.ts';
import { arrangeSheet, resetSheet } from './sheet-places.ts';
import { setSheetTexts } from './sheet-texts.ts';

type Edited = <A extends readonly unknown[]>(
  change: (store: ProjectStore, ...args: A) => unknown,
  ...args: A
) => ProjectView;

/** Requests on people, texts and places of the sheet. */
export function sheetHandlers(edited: Edited): Pick<Handlers, keyof SheetRequests> {
  return {
    'sheet.describe': ({ texts }) => edited(setSheetTexts, texts),
    'sheet.arrange': ({ sheet, changes }) => edited(arrangeSheet, sheet, changes),
    'sheet.reset': ({ sheet, part }) => edited(resetSheet, sheet, part),
  };
}
