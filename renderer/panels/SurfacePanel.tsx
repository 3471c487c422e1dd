import { useMemo, useState } from 'react';
import type { ProjectView } from '../../core/contract/model.ts';
import type { SurfaceSettings, VariogramParameters } from '../../core/contract/settings.ts';
import { NoSamplesYet } from '../components/NoSamplesYet.tsx';
import { ProblemNotice, WarningList } from '../components/Notice.tsx';
import { PanelScroll } from '../components/PanelScroll.tsx';
import { plural, prettyUnits, trimNumber, withoutName } from '../format.ts';
import { boundsOf } from '../map/geometry.ts';
import { usesFeet } from '../map/project-frame.ts';
import { SURFACE_JOB } from '../state/app.ts';
import { surfaceBasis } from '../state/basis.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { CrossValidationChart } from './CrossValidationChart.tsx';
import { ModelForm } from './ModelForm.tsx';
import { rowLabel, sampleRows } from './sample-rows.ts';
import { VariogramChart } from './VariogramChart.tsx';

/** Spread of the values as sill and a third of the lot's longer side as range: common practice for a first look. */
function guessModel(view: ProjectView): VariogramParameters {
  const values = view.marks.flatMap((mark) =>
    mark.measured?.kind === 'value' && mark.treatment === 'use' ? [mark.measured.estimateKBqPerM3] : [],
  );
  const mean = values.reduce((sum, value) => sum + value, 0) / Math.max(1, values.length);
  const variance =
    values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / Math.max(1, values.length - 1);
  const bounds = boundsOf(view.lot ?? view.probes.map((probe) => probe.positionM));
  const sideM = bounds ? Math.max(bounds.maxX - bounds.minX, bounds.maxY - bounds.minY) : 60;
  return {
    kind: 'spherical',
    nugget: 0,
    partialSill: variance > 0 ? variance : 1,
    rangeM: Math.max(1, sideM / 3),
  };
}

export function SurfacePanel() {
  const app = useApp();
  const view = useView();
  const surface = useAppState((state) => state.surface);
  const problem = useAppState((state) => state.surfaceProblem);
  const working = useAppState((state) => state.jobs.some((job) => job.label === SURFACE_JOB));
  const settings = view.settings.surface;
  const feet = usesFeet(view.frame);
  const basis = JSON.stringify(settings);
  const [drafted, setDrafted] = useState<{ readonly of: string; readonly draft: SurfaceSettings } | null>(
    null,
  );
  const draft = drafted?.of === basis ? drafted.draft : settings;
  const setDraft = (next: SurfaceSettings) => setDrafted({ of: basis, draft: next });
  const rows = useMemo(() => new Map(sampleRows(view).map((row) => [row.sample.id, row])), [view]);
  const result = surface?.result ?? null;
  // The verdict of the check stands beside its chart.
  const reasons = (result?.variogram?.reasons ?? []).filter((r) => r !== result?.crossValidation.verdict);
  const stale = surface !== null && surface.basis !== surfaceBasis(view);
  const isTried =
    draft.method === 'kriging' && JSON.stringify(draft.model) !== JSON.stringify(settings.model);
  const triedModel = isTried && draft.model !== 'auto' ? draft.model : null;

  const apply = () => app.setSettings({ ...view.settings, surface: draft });

  if (view.samples.length === 0) return <NoSamplesYet what="surface" />;

  return (
    <PanelScroll>
      {problem ? <ProblemNotice problem={problem} /> : null}
      <section className="block" aria-labelledby="surface-state">
        <h3 id="surface-state">Surface</h3>
        {result ? (
          <p>
            {result.method === 'kriging'
              ? result.variogram?.drift === 'linear'
                ? 'Kriging with a linear drift'
                : 'Ordinary kriging'
              : `Inverse distance, power ${settings.idwPower}`}{' '}
            from {plural(result.usedSampleIds.length, 'sample')} on cells of {trimNumber(result.grid.cellM)}{' '}
            m, in {trimNumber(result.seconds, 2)} s.
            {stale && !working ? <strong> Out of date: the project has changed since.</strong> : null}
          </p>
        ) : (
          <p>{working ? 'Being worked out …' : 'Not worked out yet.'}</p>
        )}
        {result?.method === 'idw' ? (
          <p className="notice notice-warning">
            Inverse distance gives an estimate only: no standard error, and no probability above a limit.
            Neither is shown, and none stands on the figure. Use kriging where they are needed.
          </p>
        ) : null}
        <WarningList warnings={result?.warnings ?? []} label="Surface warnings" />
        {result?.weakGround ? <p>{result.weakGround.statement}.</p> : null}
        {!working && (stale || !result) ? (
          <button type="button" className="primary" onClick={() => void app.computeSurface()}>
            Work out surface
          </button>
        ) : null}
        {result && result.boundedSampleIds.length > 0 ? (
          <p>
            {plural(result.boundedSampleIds.length, 'diluted or shallow sample')} taken as a lower bound:{' '}
            {result.boundedSampleIds
              .map((id) => rows.get(id))
              .map((row) => (row ? rowLabel(row) : 'one no longer there'))
              .join(', ')}
            . The ground there holds at least that much.
          </p>
        ) : null}
        {result && result.notUsed.length > 0 ? (
          <details>
            <summary>{plural(result.notUsed.length, 'sample')} not in the surface</summary>
            <ul className="plain-list">
              {result.notUsed.map((one) => {
                const row = rows.get(one.sampleId);
                return (
                  <li key={one.sampleId}>
                    <strong>{row ? rowLabel(row) : one.sampleId}</strong>{' '}
                    {prettyUnits(withoutName(one.reason, row?.probe?.label ?? ''))}
                  </li>
                );
              })}
            </ul>
          </details>
        ) : null}
      </section>
      <section className="block" aria-labelledby="surface-method">
        <h3 id="surface-method">Method</h3>
        <ModelForm
          settings={settings}
          draft={draft}
          start={result?.variogram?.model ?? guessModel(view)}
          startTransform={result?.variogram?.transform ?? 'none'}
          feet={feet}
          busy={working}
          onDraft={setDraft}
          onApply={() => void apply()}
        />
      </section>
      {result?.variogram ? (
        <section className="block" aria-labelledby="surface-variogram">
          <h3 id="surface-variogram">Variogram</h3>
          <VariogramChart
            variogram={result.variogram}
            tried={triedModel}
            feet={feet}
            onTry={(model) =>
              setDraft({
                ...draft,
                method: 'kriging',
                model,
                // Nugget and sill mean nothing without the transform of the bins they are drawn over.
                transform: result.variogram?.transform ?? 'none',
              })
            }
          />
          {reasons.length > 0 ? (
            <ul className="reasons" aria-label="Why this model">
              {reasons.map((reason) => (
                <li key={reason}>{prettyUnits(reason)}</li>
              ))}
            </ul>
          ) : null}
        </section>
      ) : null}
      {result ? (
        <section className="block" aria-labelledby="surface-check">
          <h3 id="surface-check">Cross-validation</h3>
          <CrossValidationChart check={result.crossValidation} view={view} />
        </section>
      ) : null}
    </PanelScroll>
  );
}
