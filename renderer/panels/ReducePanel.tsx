import { useMemo, useState } from 'react';
import { importSamples } from '../actions/import-samples.ts';
import { ActionButton } from '../components/ActionButton.tsx';
import { WarningList } from '../components/Notice.tsx';
import { PanelScroll } from '../components/PanelScroll.tsx';
import { plural } from '../format.ts';
import { useAppState, useView } from '../state/context.ts';
import { DrawTestForm } from './DrawTestForm.tsx';
import { HandlingForm } from './HandlingForm.tsx';
import { QualityPage } from './QualityPage.tsx';
import { RulingForm } from './RulingForm.tsx';
import { SampleDetails } from './SampleDetails.tsx';
import { SampleTable } from './SampleTable.tsx';
import { FILTER_NAMES, filterRows, type RowFilter, sampleRows } from './sample-rows.ts';
import { ThresholdForm } from './ThresholdForm.tsx';

const PAGES = { samples: 'Samples', quality: 'Quality' } as const;
type Page = keyof typeof PAGES;

function PageChoice({ page, onChange }: { page: Page; onChange: (page: Page) => void }) {
  return (
    <fieldset className="segments">
      <legend className="visually-hidden">What to look at</legend>
      {(Object.keys(PAGES) as Page[]).map((key) => (
        <label key={key} className="segment">
          <input type="radio" name="reduce-page" checked={page === key} onChange={() => onChange(key)} />
          <span>{PAGES[key]}</span>
        </label>
      ))}
    </fieldset>
  );
}

export function ReducePanel() {
  const view = useView();
  const selectedId = useAppState((state) => state.selectedSampleId);
  const checked = useAppState((state) => state.checkedSampleIds);
  const checkedCount = checked.size;
  const [filter, setFilter] = useState<RowFilter>('all');
  const [page, setPage] = useState<Page>('samples');
  const rows = useMemo(() => sampleRows(view), [view]);
  const shown = useMemo(() => filterRows(rows, filter), [rows, filter]);
  const selected = rows.find((row) => row.sample.id === selectedId) ?? null;

  if (rows.length === 0) {
    return (
      <PanelScroll>
        <section className="block">
          <p className="lead">Nothing to reduce yet.</p>
          <p>
            Import samples first, or type them in at step Field; then every sample stands here with what
            speaks for and against it.
          </p>
          <ActionButton action={importSamples} className="primary" text="Import samples…" />
        </section>
      </PanelScroll>
    );
  }

  if (page === 'quality') {
    return (
      <div className="panel-fixed">
        <div className="table-bar">
          <PageChoice page={page} onChange={setPage} />
        </div>
        <QualityPage />
      </div>
    );
  }

  return (
    <div className="panel-fixed">
      <WarningList warnings={view.warnings} label="Project warnings" />
      <div className="table-bar">
        <PageChoice page={page} onChange={setPage} />
        <label className="inline-field">
          Show
          <select value={filter} onChange={(event) => setFilter(event.target.value as RowFilter)}>
            {(Object.keys(FILTER_NAMES) as RowFilter[]).map((key) => (
              <option key={key} value={key}>
                {FILTER_NAMES[key]} ({filterRows(rows, key).length})
              </option>
            ))}
          </select>
        </label>
      </div>
      <SampleTable rows={shown} view={view} />
      <div className="drawer">
        {checkedCount > 0 ? (
          <section className="block" aria-label="Ruling on checked samples">
            <h3>{plural(checkedCount, 'sample')} checked</h3>
            <RulingForm key="bulk" ruling={null} />
            <HandlingForm sampleIds={[...checked]} />
          </section>
        ) : selected ? (
          <SampleDetails key={selected.sample.id} row={selected} view={view} />
        ) : (
          <>
            <p className="drawer-empty">
              Select a sample in the table or on the map to see its evidence. A finding never removes a
              sample; a ruling is yours.
            </p>
            <DrawTestForm key={JSON.stringify(view.settings.drawTest ?? null)} />
            <ThresholdForm key={JSON.stringify([view.settings.thresholds, view.settings.referenceDepthM])} />
          </>
        )}
      </div>
    </div>
  );
}
