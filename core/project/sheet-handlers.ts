import type { SheetRequests } from '../contract/sheet.ts';
import type { Handlers } from './engine.ts';
import type { HandlerTools } from './handler-tools.ts';
import { arrangeSheet, resetSheet } from './sheet-places.ts';
import { setSheetTexts } from './sheet-texts.ts';

/** Requests on people, texts and places of the sheet. */
export function sheetHandlers({ edit }: HandlerTools): Pick<Handlers, keyof SheetRequests> {
  return {
    'sheet.describe': ({ texts }) => edit((store) => setSheetTexts(store, texts)),
    'sheet.arrange': ({ sheet, changes }) => edit((store) => arrangeSheet(store, sheet, changes)),
    'sheet.reset': ({ sheet, part }) => edit((store) => resetSheet(store, sheet, part)),
  };
}
