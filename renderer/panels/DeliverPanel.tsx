import { useEffect, useState } from 'react';
import type { ExportFormat, FigureFormat, FigureOptions, PageSize } from '../../core/contract/requests.ts';
import { ProblemNotice } from '../components/Notice.tsx';
import { PanelScroll } from '../components/PanelScroll.tsx';
import type { Problem } from '../state/app-state.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { RecordList } from './RecordList.tsx';

const PAGES: readonly PageSize[] = ['A4', 'A3', 'Letter', 'Tabloid'];
const FIGURE_FORMATS: readonly (readonly [format: FigureFormat, name: string])[] = [
  ['pdf', 'PDF'],
  ['svg', 'SVG'],
  ['png', 'PNG'],
];
const EXPORTS: readonly (readonly [format: ExportFormat, name: string])[] = [
  ['csv', 'CSV'],
  ['geojson', 'GeoJSON'],
];

function useFigurePreview(options: FigureOptions, revision: number) {
  const app = useApp();
  const [url, setUrl] = useState<string | null>(null);
  const [busy, setBusy] = useState(true);
  const [problem, setProblem] = useState<Problem | null>(null);
  // biome-ignore lint/correctness/useExhaustiveDependencies: a new revision is a new figure
  useEffect(() => {
    let gone = false;
    let made: string | null = null;
    setBusy(true);
    const timer = setTimeout(() => {
      app.client
        .newest('figure', 'figure.preview', { options }, { dropStale: true })
        .then(({ svg }) => {
          if (gone) return;
          made = URL.createObjectURL(new Blob([svg], { type: 'image/svg+xml' }));
          setUrl(made);
          setProblem(null);
          setBusy(false);
        })
        .catch((error: unknown) => {
          if (gone || (error instanceof Error && error.name === 'DroppedReply')) return;
          setUrl(null);
          setBusy(false);
          setProblem({
            doing: 'Drawing the figure',
            message: error instanceof Error ? error.message : String(error),
            details: {},
          });
        });
    }, 250);
    return () => {
      gone = true;
      clearTimeout(timer);
      if (made) URL.revokeObjectURL(made);
    };
  }, [app, options, revision]);
  return { url, busy, problem };
}

export function DeliverPanel() {
  const app = useApp();
  const view = useView();
  const deliveredPath = useAppState((state) => state.deliveredPath);
  const [options, setOptions] = useState<FigureOptions>({ page: 'A4', orientation: 'portrait' });
  const [large, setLarge] = useState(false);
  const { url, busy, problem } = useFigurePreview(options, view.revision);
  const baseName =
    view.path
      .split(/[\\/]/)
      .at(-1)
      ?.replace(/\.gasplat$/, '') ?? 'lot';

  const saved = (path: string, isFigure: boolean) =>
    app.store.update((state) => ({
      ...state,
      deliveredPath: path,
      deliveredAt: isFigure ? (state.view?.revision ?? null) : state.deliveredAt,
      said: `Saved ${path}`,
    }));

  const saveFigure = async (format: FigureFormat, name: string) => {
    await app.attempt('Saving the figure', async () => {
      const path = await app.bridge.chooseSave({
        title: `Save figure as ${name}`,
        suggestedName: `${baseName}.${format}`,
        filters: [{ name, extensions: [format] }],
      });
      if (!path) return;
      const written = await app.asJob(`Saving ${name}`, (job) =>
        app.client.request('figure.save', { path, format, options }, job),
      );
      saved(written.path, true);
    });
  };

  const saveExport = async (format: ExportFormat, name: string) => {
    await app.attempt('Exporting data', async () => {
      const path = await app.bridge.chooseSave({
        title: `Export data as ${name}`,
        suggestedName: `${baseName}-samples.${format}`,
        filters: [{ name, extensions: [format] }],
      });
      if (!path) return;
      const written = await app.asJob(`Exporting ${name}`, (job) =>
        app.client.request('export.save', { path, format }, job),
      );
      saved(written.path, false);
    });
  };

  return (
    <PanelScroll>
      <section className="block" aria-labelledby="deliver-figure">
        <h3 id="deliver-figure">Figure</h3>
        <div className="row">
          <label className="field">
            Page
            <select
              value={options.page}
              onChange={(event) => setOptions({ ...options, page: event.target.value as PageSize })}
            >
              {PAGES.map((page) => (
                <option key={page} value={page}>
                  {page}
                </option>
              ))}
            </select>
          </label>
          <label className="field">
            Orientation
            <select
              value={options.orientation}
              onChange={(event) =>
                setOptions({ ...options, orientation: event.target.value as 'portrait' | 'landscape' })
              }
            >
              <option value="portrait">portrait</option>
              <option value="landscape">landscape</option>
            </select>
          </label>
          <label className="field grow">
            Prepared by
            <input
              type="text"
              value={options.preparedBy ?? ''}
              maxLength={200}
              onChange={(event) => {
                const { preparedBy: _former, ...rest } = options;
                setOptions(event.target.value === '' ? rest : { ...rest, preparedBy: event.target.value });
              }}
            />
          </label>
        </div>
        {problem ? <ProblemNotice problem={problem} /> : null}
        {url ? (
          <button
            type="button"
            className={`preview-frame ${large ? 'preview-large' : ''}`}
            aria-label={large ? 'Show the preview smaller' : 'Show the preview larger'}
            onClick={() => setLarge(!large)}
          >
            <img src={url} alt={`Figure of ${view.name}, ${options.page} ${options.orientation}`} />
          </button>
        ) : null}
        {busy ? (
          <p className="hint">Drawing the figure …</p>
        ) : url ? (
          <p className="hint">This is page 1. The saved PDF holds every page.</p>
        ) : null}
        <div className="row">
          {FIGURE_FORMATS.map(([format, name]) => (
            <button
              key={format}
              type="button"
              className={format === 'pdf' ? 'primary' : ''}
              onClick={() => void saveFigure(format, name)}
            >
              Save {name}…
            </button>
          ))}
        </div>
      </section>
      <section className="block" aria-labelledby="deliver-data">
        <h3 id="deliver-data">Data</h3>
        <p>Every sample with value, uncertainty, findings and ruling.</p>
        <div className="row">
          {EXPORTS.map(([format, name]) => (
            <button key={format} type="button" onClick={() => void saveExport(format, name)}>
              Export {name}…
            </button>
          ))}
        </div>
        {deliveredPath ? (
          <p className="hint saved-line">
            Saved: <span className="path">{deliveredPath}</span>{' '}
            <button
              type="button"
              className="link"
              onClick={() => void app.attempt('Showing the file', () => app.bridge.reveal(deliveredPath))}
            >
              Show in folder
            </button>
          </p>
        ) : null}
      </section>
      <RecordList revision={view.revision} />
    </PanelScroll>
  );
}
