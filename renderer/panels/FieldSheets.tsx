import { useState } from 'react';
import type { SheetOptions } from '../../core/contract/field-sheets.ts';
import type { ExportFormat } from '../../core/contract/requests.ts';
import { ProblemNotice } from '../components/Notice.tsx';
import { NumberInput } from '../components/NumberInput.tsx';
import { PagePager } from '../components/PagePager.tsx';
import { plural } from '../format.ts';
import { usesFeet } from '../map/project-frame.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { usePagePreview } from './use-page-preview.ts';
import { useSave } from './use-save.ts';
import { WalkStart } from './WalkStart.tsx';

/** Common practice for one grab with its counting, rod in and out: the rounds are shared out by it. */
const MINUTES_PER_TEST = 25;
const STAKE_OUT: readonly (readonly [format: ExportFormat, name: string, extension: string])[] = [
  ['csv', 'CSV', 'csv'],
  ['gpx', 'GPX', 'gpx'],
  ['kml', 'KML', 'kml'],
  ['geojson', 'GeoJSON', 'geojson'],
  ['dxf', 'DXF', 'dxf'],
];

/** Paper for the crew, the table they bring back, and files for the receiver. */
export function FieldSheets() {
  const app = useApp();
  const view = useView();
  const save = useSave(view);
  const deliveredPath = useAppState((state) => state.deliveredPath);
  const planned = view.probes.filter((probe) => probe.state === 'planned').length;
  const [form, setForm] = useState<SheetOptions['form']>('list');
  const [page, setPage] = useState<NonNullable<SheetOptions['page']>>(usesFeet(view.frame) ? 'Letter' : 'A4');
  const [wantsAll, setWantsAll] = useState(false);
  const [instruments, setInstruments] = useState(1);
  const [days, setDays] = useState(1);
  const [shows, setShows] = useState(false);
  const [wantedPage, setWantedPage] = useState(0);
  const which = wantsAll || planned === 0 ? 'all' : 'planned';
  const count = which === 'all' ? view.probes.length : planned;
  const options: SheetOptions = {
    form,
    page,
    probes: which,
    ...(instruments * days === 1 ? {} : { rounds: { instruments, days, minutesPerTest: MINUTES_PER_TEST } }),
  };
  const { url, pageCount, busy, problem } = usePagePreview(
    'Drawing the field sheets',
    shows ? JSON.stringify([options, wantedPage, view.revision]) : null,
    () =>
      app.client.newest('sheets', 'sheets.preview', { options, pageIndex: wantedPage }, { dropStale: true }),
  );
  const shownPage = Math.min(wantedPage, pageCount - 1);
  const common = { isFiled: false } as const;

  return (
    <section className="block" aria-labelledby="plan-sheets">
      <h3 id="plan-sheets" tabIndex={-1}>
        Field sheets
      </h3>
      <p>
        {plural(count, 'probe')} in walking order, with a map, the day’s checks and a code for each probe. A
        table that comes back with these codes finds its probes by itself.
      </p>
      <div className="row">
        <fieldset className="segments">
          <legend>Sheets</legend>
          {(['list', 'cards'] as const).map((one) => (
            <label key={one} className="segment">
              <input
                type="radio"
                name="sheet-form"
                checked={form === one}
                onChange={() => {
                  setForm(one);
                  setWantedPage(0);
                }}
              />
              <span>{one === 'list' ? 'A list' : 'A card a probe'}</span>
            </label>
          ))}
        </fieldset>
        <label className="field">
          Paper
          <select value={page} onChange={(event) => setPage(event.target.value as typeof page)}>
            <option value="A4">A4</option>
            <option value="Letter">Letter</option>
          </select>
        </label>
        <WalkStart />
        <NumberInput
          label="Instruments"
          value={instruments}
          least={1}
          most={20}
          whole
          onChange={setInstruments}
        />
        <NumberInput label="Days" value={days} least={1} most={30} whole onChange={setDays} />
      </div>
      {planned > 0 && planned < view.probes.length ? (
        <label className="check-line">
          <input type="checkbox" checked={wantsAll} onChange={(event) => setWantsAll(event.target.checked)} />
          Also those that were driven before
        </label>
      ) : null}
      <div className="row">
        <button
          type="button"
          className="primary"
          onClick={() =>
            void save({
              ...common,
              doing: 'Saving the field sheets',
              title: 'Save field sheets as PDF',
              name: 'PDF',
              extension: 'pdf',
              suffix: form === 'list' ? '-field-list' : '-field-cards',
              write: (path, job) => app.client.request('sheets.save', { path, options }, job),
            })
          }
        >
          Save sheets…
        </button>
        <button type="button" aria-expanded={shows} onClick={() => setShows(!shows)}>
          {shows ? 'Hide the preview' : 'Preview'}
        </button>
        <button
          type="button"
          onClick={() =>
            void save({
              ...common,
              doing: 'Saving the return table',
              title: 'Save the empty return table',
              name: 'CSV',
              extension: 'csv',
              suffix: '-return',
              write: (path, job) =>
                app.client.request('sheets.return-table', { path, options: { probes: which } }, job),
            })
          }
        >
          Save return table…
        </button>
      </div>
      {shows ? (
        <>
          {problem ? <ProblemNotice problem={problem} /> : null}
          <PagePager
            url={url}
            alt={`Field sheets of ${view.name}, page ${shownPage + 1} of ${pageCount}`}
            shownPage={shownPage}
            pageCount={pageCount}
            onPage={setWantedPage}
          />
          {busy ? <p className="hint">Drawing the sheets …</p> : null}
        </>
      ) : null}
      <p className="hint">
        Stake-out: the CSV lists the planned probes in walking order, the GPX adds the walk as a route; KML,
        GeoJSON and DXF hold the whole project.
      </p>
      <div className="row">
        {STAKE_OUT.map(([format, name, extension]) => (
          <button
            key={format}
            type="button"
            onClick={() =>
              void save({
                ...common,
                doing: 'Saving the stake-out',
                title: `Save stake-out as ${name}`,
                name,
                extension,
                suffix: '-stake-out',
                write: (path, job) =>
                  app.client.request('export.save', { path, format, options: { rows: 'stake-out' } }, job),
              })
            }
          >
            Stake-out {name}…
          </button>
        ))}
      </div>
      {deliveredPath ? (
        <p className="hint">
          Saved: <span className="path">{deliveredPath}</span>
        </p>
      ) : null}
    </section>
  );
}
