import { layoutPage } from '../figure/layout.ts';
import { renderPdf } from '../figure/render-pdf.ts';
import type { Scene } from '../figure/scene.ts';
import { countCardPages, drawCardPage } from './card-pages.ts';
import { drawDayPage } from './day-page.ts';
import { countListPages, drawListPage } from './list-pages.ts';
import { drawMapPage } from './map-page.ts';
import { drawSheetFoot, drawSheetHead } from './page-frame.ts';
import { Pen } from './pen.ts';
import type { FieldSheetInput, SheetForm, SheetPage } from './sheet-model.ts';

/** Map, day sheet, then the list (pages across) or the cards (pages upright). */
export function composeSheets(input: FieldSheetInput, form: SheetForm, page: SheetPage): Scene[] {
  const layout = layoutPage(page, form === 'list' ? 'landscape' : 'portrait');
  const count = form === 'list' ? countListPages(input, layout) : countCardPages(input);
  const draw = form === 'list' ? drawListPage : drawCardPage;
  const pages: readonly (readonly [title: string, draw: (pen: Pen) => void])[] = [
    ['Field sheets: map', (pen) => drawMapPage(pen, input, layout)],
    ['Field sheets: the day', (pen) => drawDayPage(pen, input, layout)],
    ...Array.from({ length: count }, (_, i): readonly [string, (pen: Pen) => void] => [
      form === 'list' ? 'Field list' : 'Field cards',
      (pen) => draw(pen, input, layout, i),
    ]),
  ];
  return pages.map(([title, drawBody], i) => {
    const pen = new Pen();
    drawSheetHead(pen, input, layout, title);
    drawBody(pen);
    drawSheetFoot(pen, input, layout, i + 1, pages.length);
    return {
      widthMm: layout.widthMm,
      heightMm: layout.heightMm,
      title: `${title}: ${input.projectName}`,
      nodes: pen.nodes,
    };
  });
}

/** PDF bytes of scenes that `composeSheets` made; the same input gives the same bytes. */
export function renderSheets(
  scenes: readonly Scene[],
  input: FieldSheetInput,
  options: { readonly compress?: boolean } = {},
): Promise<Uint8Array> {
  const metadata = {
    title: `Field sheets: ${input.projectName}`,
    author: null,
    subject: `Revision ${input.revision}, record ${input.recordHash ?? 'none'}${input.isDemo ? '; invented data' : ''}`,
    creator: input.program,
    createdUtc: input.createdUtc,
  };
  return renderPdf(scenes, metadata, options);
}
