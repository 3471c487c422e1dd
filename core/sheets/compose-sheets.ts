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

/** Map, day sheet, then for each round the list (pages across) or the cards (pages upright). */
export function composeSheets(input: FieldSheetInput, form: SheetForm, page: SheetPage): Scene[] {
  const layout = layoutPage(page, form === 'list' ? 'landscape' : 'portrait');
  const draw = form === 'list' ? drawListPage : drawCardPage;
  const pages: readonly (readonly [title: string, draw: (pen: Pen) => void])[] = [
    ['Field sheets: map', (pen) => drawMapPage(pen, input, layout)],
    ['Field sheets: the day', (pen) => drawDayPage(pen, input, layout)],
    ...roundsOf(input).flatMap(({ name, part }) => {
      const count = form === 'list' ? countListPages(part, layout) : countCardPages(part);
      const title = `${form === 'list' ? 'Field list' : 'Field cards'}${name === null ? '' : `: ${name}`}`;
      return Array.from({ length: count }, (_, i): readonly [string, (pen: Pen) => void] => [
        title,
        (pen) => draw(pen, part, layout, i),
      ]);
    }),
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

/** The sheets of each round, as if there were no other. */
function roundsOf(input: FieldSheetInput): { name: string | null; part: FieldSheetInput }[] {
  let from = 0;
  return input.rounds.map((round) => {
    const probes = input.probes.slice(from, from + round.count);
    from += round.count;
    return { name: round.name, part: { ...input, probes, rounds: [round] } };
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
