import { useMemo, useState } from 'react';
import type { FigureFormat, FigureOptions, PageSize } from '../../core/contract/requests.ts';
import type { SheetLayoutView } from '../../core/contract/sheet.ts';
import { ProblemNotice } from '../components/Notice.tsx';
import { PagePager } from '../components/PagePager.tsx';
import { useApp, useAppState, useView } from '../state/context.ts';
import { PartForm } from './PartForm.tsx';
import { SheetEditor } from './SheetEditor.tsx';
import { changesWith, useArrangement } from './use-arrangement.ts';
import { useFigurePreview } from './use-figure-preview.ts';
import { useSave } from './use-save.ts';

const PAGES: readonly PageSize[] = ['A4', 'A3', 'Letter', 'Tabloid'];
const FORMATS: readonly (readonly [format: FigureFormat, name: string])[] = [
  ['pdf', 'PDF'],
  ['svg', 'SVG'],
  ['png', 'PNG'],
];
/** A change of the sheet's kind is drawn when no other has come for so long. */
const SETTLE_MS = 250;
type Template = NonNullable<FigureOptions['template']>;
const TEMPLATE_NAMES: Record<Template, string> = {
  map: 'map and tables',
  quality: 'with plots of quality',
  permit: 'permit sheet with title block',
};

/** The sheet: its size and kind, every page as it will be, and the files it is saved as. */
export function FigureForm() {
  const app = useApp();
  const view = useView();
  const save = useSave(view);
  const hasPlan = useAppState((state) =>
    state.sitePlans.some((plan) => plan.isShown && plan.cornersM !== null),
  );
  const [page, setPage] = useState<PageSize>('A4');
  const [orientation, setOrientation] = useState<'portrait' | 'landscape'>('portrait');
  const [template, setTemplate] = useState<Template>('map');
  const [wantedPage, setWantedPage] = useState(0);
  const asked = JSON.stringify({ page, orientation, template });
  const [options, setOptions] = useState<{ asked: string; options: FigureOptions }>(() => ({
    asked,
    options: JSON.parse(asked) as FigureOptions,
  }));
  // The same options are the same object, so that the preview is drawn only for a change.
  if (options.asked !== asked) {
    setOptions({ asked, options: JSON.parse(asked) as FigureOptions });
    setWantedPage(0);
  }
  const [arranging, setArranging] = useState(false);
  const arrangement = useArrangement({ template, page, orientation });
  const { draft, selected, setSelected, setDraft } = arrangement;
  const [layout, setLayout] = useState<SheetLayoutView | null>(null);
  const asDrawn = useMemo(
    () =>
      draft === null || layout === null
        ? options.options
        : { ...options.options, changes: changesWith(layout, draft) },
    [options.options, layout, draft],
  );
  const settleMs = draft === null ? SETTLE_MS : 0;
  const { drawn, busy, problem } = useFigurePreview(asDrawn, wantedPage, view.revision, settleMs);
  const pageCount = drawn?.pageCount ?? 1;
  const shownPage = Math.min(wantedPage, pageCount - 1);
  arrangement.settle(busy);
  // While a part is pulled, its own rectangle is measured from where it stood.
  if (draft === null && drawn !== null && drawn.layout !== layout) setLayout(drawn.layout);
  const alt = `Figure of ${view.name}, ${page} ${orientation}, page ${shownPage + 1} of ${pageCount}`;
  const drop = () => void arrangement.drop(layout);

  return (
    <section className="block" aria-labelledby="deliver-figure">
      <h3 id="deliver-figure">Figure</h3>
      <div className="row">
        <label className="field">
          Page
          <select value={page} onChange={(event) => setPage(event.target.value as PageSize)}>
            {PAGES.map((one) => (
              <option key={one} value={one}>
                {one}
              </option>
            ))}
          </select>
        </label>
        <label className="field">
          Orientation
          <select
            value={orientation}
            onChange={(event) => setOrientation(event.target.value as 'portrait' | 'landscape')}
          >
            <option value="portrait">portrait</option>
            <option value="landscape">landscape</option>
          </select>
        </label>
        <label className="field">
          Sheet
          <select value={template} onChange={(event) => setTemplate(event.target.value as Template)}>
            {(Object.keys(TEMPLATE_NAMES) as Template[]).map((one) => (
              <option key={one} value={one}>
                {TEMPLATE_NAMES[one]}
              </option>
            ))}
          </select>
        </label>
      </div>
      {hasPlan || view.settings.sitePlanInFigure ? (
        <label className="check-line">
          <input
            type="checkbox"
            checked={view.settings.sitePlanInFigure ?? false}
            onChange={(event) =>
              void app.setSettings({ ...view.settings, sitePlanInFigure: event.target.checked })
            }
          />
          Site plan under the map, greyed (figure and report)
        </label>
      ) : null}
      {problem ? <ProblemNotice problem={problem} /> : null}
      {drawn && layout && arranging ? (
        <SheetEditor
          url={drawn.url}
          alt={alt}
          layout={layout}
          page={shownPage + 1}
          selected={selected}
          draft={draft}
          onSelect={setSelected}
          onDraft={(id, place) => setDraft({ id, place })}
          onDrop={drop}
        />
      ) : null}
      <PagePager
        url={arranging ? null : (drawn?.url ?? null)}
        alt={alt}
        shownPage={shownPage}
        pageCount={pageCount}
        onPage={setWantedPage}
      />
      {busy && draft === null ? <p className="hint">Drawing the figure …</p> : null}
      <label className="check-line">
        <input
          type="checkbox"
          checked={arranging}
          onChange={(event) => {
            setArranging(event.target.checked);
            setSelected(null);
          }}
        />
        Arrange the parts of this sheet
      </label>
      {layout && arranging ? (
        <>
          <p className="hint">
            Pull a part or its corners, or move it with the arrow keys (1 mm, with Shift 10 mm). Edges fall on
            margins and on other parts; hold Alt to place freely.
          </p>
          <PartForm
            layout={layout}
            pageCount={pageCount}
            selected={selected}
            draft={draft}
            onSelect={setSelected}
            onDraft={(id, place) => setDraft({ id, place })}
            onDrop={drop}
            onChange={(id, change) => void arrangement.change({ [id]: change })}
            onReset={(part) => void arrangement.reset(part)}
            onCloseGaps={() => void arrangement.change(layout.closing)}
          />
        </>
      ) : (
        layout?.remarks.map((remark) => (
          <p key={remark} className="hint">
            {remark}
          </p>
        ))
      )}
      <div className="row">
        {FORMATS.map(([format, name]) => (
          <button
            key={format}
            type="button"
            className={format === 'pdf' ? 'primary' : ''}
            onClick={() =>
              void save({
                doing: 'Saving the figure',
                title: `Save figure as ${name}`,
                name,
                extension: format,
                isFiled: true,
                write: (path, job) =>
                  app.client.request('figure.save', { path, format, options: options.options }, job),
              })
            }
          >
            Save {name}…
          </button>
        ))}
      </div>
    </section>
  );
}
