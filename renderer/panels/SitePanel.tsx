import { useMemo, useState } from 'react';
import { PanelScroll } from '../components/PanelScroll.tsx';
import { SymbolIcon } from '../components/SymbolIcon.tsx';
import { formatArea, formatMeasured, plural, radonUnitLabel } from '../format.ts';
import { ringAreaM2, ringContains } from '../map/geometry.ts';
import { toNative, usesFeet } from '../map/project-frame.ts';
import { withSelection } from '../state/app-state.ts';
import { useApp, useView } from '../state/context.ts';
import { useLiveGround } from '../state/use-live-ground.ts';
import { CornerGrid } from './CornerGrid.tsx';
import { FootprintClassView } from './FootprintClassView.tsx';
import { FootprintShapeForm } from './FootprintShapeForm.tsx';
import { GeometryImport } from './GeometryImport.tsx';
import { KeptPlacements } from './KeptPlacements.tsx';
import { PlacementForm } from './PlacementForm.tsx';
import { SiteSearch } from './SiteSearch.tsx';
import { rowLabel, sampleRows, TREATMENT_NAMES } from './sample-rows.ts';

export function SitePanel() {
  const app = useApp();
  const view = useView();
  const { footprint, frame } = view;
  useLiveGround();
  const [label, setLabel] = useState(footprint?.label ?? 'Planned building');
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
      <section className="block" aria-labelledby="site-footprint">
        <h3 id="site-footprint">Footprint of the planned building</h3>
        {footprint ? (
          <dl className="facts">
            <div>
              <dt>Label</dt>
              <dd>{footprint.label}</dd>
            </div>
            <div>
              <dt>Area</dt>
              <dd>{formatArea(ringAreaM2(footprint.ring), usesFeet(frame))}</dd>
            </div>
          </dl>
        ) : (
          <p>Enter the corners of the building as planned, or draw it on the map.</p>
        )}
        <div className="row">
          <button
            type="button"
            onClick={() =>
              app.store.update((state) => ({
                ...state,
                drawing: { target: 'footprint', shape: 'polygon', points: [] },
              }))
            }
          >
            Draw footprint on map
          </button>
          <GeometryImport what="footprint" noun="footprint" />
          {footprint ? (
            <button type="button" onClick={() => void app.setFootprint(footprint.label, null)}>
              Remove footprint
            </button>
          ) : null}
        </div>
        <FootprintShapeForm label={label.trim() === '' ? 'Planned building' : label.trim()} />
        <label className="field">
          Footprint label
          <input
            type="text"
            value={label}
            maxLength={200}
            onChange={(event) => setLabel(event.target.value)}
          />
        </label>
        <CornerGrid
          key={footprint ? JSON.stringify(footprint.drawnRing) : 'none'}
          name="footprint"
          unitLabel={frame.unitLabel}
          initial={(footprint?.drawnRing ?? []).map((point) => toNative(frame, point))}
          submitText="Set footprint"
          onSubmit={(ring) =>
            void app.setFootprint(label.trim() === '' ? 'Planned building' : label.trim(), ring)
          }
        />
      </section>
      <PlacementForm />
      <KeptPlacements />
      {footprint ? (
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
