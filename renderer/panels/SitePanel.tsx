import { useMemo } from 'react';
import { PanelScroll } from '../components/PanelScroll.tsx';
import { SymbolIcon } from '../components/SymbolIcon.tsx';
import { formatMeasured, plural, radonUnitLabel } from '../format.ts';
import { ringContains } from '../map/geometry.ts';
import { withSelection } from '../state/app-state.ts';
import { useApp, useView } from '../state/context.ts';
import { useLiveGround } from '../state/use-live-ground.ts';
import { FootprintClassView } from './FootprintClassView.tsx';
import { FootprintForm } from './FootprintForm.tsx';
import { KeptPlacements } from './KeptPlacements.tsx';
import { PlacementForm } from './PlacementForm.tsx';
import { SiteSearch } from './SiteSearch.tsx';
import { rowLabel, sampleRows, TREATMENT_NAMES } from './sample-rows.ts';

export function SitePanel() {
  const app = useApp();
  const view = useView();
  const { footprint } = view;
  useLiveGround();
  const unit = view.settings.radonUnit;
  const inside = useMemo(
    () =>
      footprint
        ? sampleRows(view).filter(
            (row) =>
              row.sample.kind !== 'blank' && row.probe && ringContains(footprint.ring, row.probe.positionM),
          )
        : [],
    [view, footprint],
  );
  const values = inside.filter(
    (row) => row.assessment.measured.kind === 'value' && row.assessment.treatment === 'use',
  );

  return (
    <PanelScroll>
      <FootprintForm />
      <PlacementForm />
      <KeptPlacements />
      {footprint && view.samples.length > 0 ? (
        <section className="block" aria-labelledby="site-inside">
          <h3 id="site-inside">Class under the footprint, from what was measured there</h3>
          <FootprintClassView />
          {inside.length === 0 ? (
            <p>No probe lies inside. Nothing is known there but what the surface models.</p>
          ) : (
            <>
              <p>
                {plural(values.length, 'valid value')} of {plural(inside.length, 'sample')} inside the
                footprint itself.
              </p>
              <table className="data" aria-label="Samples inside the footprint">
                <thead>
                  <tr>
                    <th scope="col">Probe</th>
                    <th scope="col" className="number">
                      Radon ± U, {radonUnitLabel(unit)}
                    </th>
                    <th scope="col">Treatment</th>
                  </tr>
                </thead>
                <tbody>
                  {inside.map((row) => (
                    <tr key={row.sample.id}>
                      <th scope="row">
                        <button
                          type="button"
                          className="row-button"
                          onClick={() => app.store.update((state) => withSelection(state, row.sample.id))}
                        >
                          <SymbolIcon kind={row.symbol} />
                          {rowLabel(row)}
                        </button>
                      </th>
                      <td className="number value">{formatMeasured(row.assessment.measured, unit)}</td>
                      <td>{TREATMENT_NAMES[row.assessment.treatment]}</td>
                    </tr>
                  ))}
                </tbody>
              </table>
            </>
          )}
        </section>
      ) : null}
      {view.samples.length > 0 ? <SiteSearch /> : null}
    </PanelScroll>
  );
}
