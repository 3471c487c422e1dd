import { WarningList } from '../components/Notice.tsx';
import { PanelScroll } from '../components/PanelScroll.tsx';
import { formatArea, formatLength, formatNumber } from '../format.ts';
import { distanceM } from '../map/geometry.ts';
import { coordinateUnit, isNowhere, usesFeet } from '../map/project-frame.ts';
import { useApp, useView } from '../state/context.ts';
import { ControlPoints } from './ControlPoints.tsx';
import { FieldSheets } from './FieldSheets.tsx';
import { GeometryImport } from './GeometryImport.tsx';
import { GridForm } from './GridForm.tsx';
import { KeepOutList } from './KeepOutList.tsx';
import { NextProbesForm } from './NextProbesForm.tsx';
import { OutlineEntry } from './OutlineEntry.tsx';
import { ProjectNameForm } from './ProjectNameForm.tsx';
import { SitePlanForm } from './SitePlanForm.tsx';

export function PlanPanel() {
  const app = useApp();
  const view = useView();
  const { frame } = view;
  const feet = usesFeet(frame);
  const nowhere = isNowhere(view);

  return (
    <PanelScroll>
      <WarningList warnings={view.warnings} label="Project warnings" />
      <section className="block" aria-labelledby="plan-lot">
        <h3 id="plan-lot">Lot line</h3>
        {view.lot ? (
          <dl className="facts">
            <div>
              <dt>Area</dt>
              <dd>{view.lotAreaM2 === null ? '–' : formatArea(view.lotAreaM2, feet)}</dd>
            </div>
            <div>
              <dt>Perimeter</dt>
              <dd>
                {formatLength(
                  view.lot.reduce(
                    (sum, point, i, ring) => sum + distanceM(point, ring[(i + 1) % ring.length] ?? point),
                    0,
                  ),
                  feet,
                  1,
                )}
              </dd>
            </div>
            <div>
              <dt>Corners</dt>
              <dd>{view.lot.length}</dd>
            </div>
          </dl>
        ) : (
          <p>
            Enter the corners in order round the lot, paste them from a list, import a file, or draw on the
            map.
          </p>
        )}
        <div className="row">
          <GeometryImport what="lot" noun="lot line" />
          <button
            type="button"
            disabled={nowhere}
            onClick={() =>
              app.store.update((state) => ({
                ...state,
                drawing: { target: 'lot', shape: 'polygon', points: [] },
              }))
            }
          >
            Draw lot on map
          </button>
        </div>
        {nowhere ? (
          <p className="hint">Drawing on the map needs a place first: corners, a file, or samples.</p>
        ) : null}
        <OutlineEntry
          key={view.lot ? JSON.stringify(view.lot) : 'none'}
          name="lot"
          initialM={view.lot ?? []}
          submitText="Set lot line"
          onSubmit={(ring, source) => void app.setLot(ring, source)}
        />
      </section>
      <SitePlanForm />
      <KeepOutList />
      <GridForm />
      {view.probes.length > 0 ? <FieldSheets /> : null}
      {view.samples.length > 0 ? <NextProbesForm /> : null}
      <ProjectNameForm key={`${view.name}\n${view.note ?? ''}`} />
      <section className="block" aria-labelledby="plan-units">
        <h3 id="plan-units">Units and depth</h3>
        <div className="row">
          <label className="field">
            Radon is shown in
            <select
              value={view.settings.radonUnit}
              onChange={(event) =>
                void app.setSettings({
                  ...view.settings,
                  radonUnit: event.target.value as 'kBq/m3' | 'pCi/L',
                })
              }
            >
              <option value="kBq/m3">kBq/m³</option>
              <option value="pCi/L">pCi/L</option>
            </select>
          </label>
          <p className="hint">
            Reference depth {formatLength(view.settings.referenceDepthM, feet)}. Depths and distances are in{' '}
            {feet ? 'feet' : 'metres'}, as the coordinates are.
          </p>
        </div>
      </section>
      <section className="block" aria-labelledby="plan-system">
        <h3 id="plan-system">Coordinate system</h3>
        <dl className="facts">
          <div>
            <dt>System</dt>
            <dd>{frame.crsName}</dd>
          </div>
          <div>
            <dt>Unit</dt>
            <dd>{coordinateUnit(frame)}</dd>
          </div>
          <div>
            <dt>Grid to ground</dt>
            <dd>
              {frame.gridScaleFactor === 1
                ? 'a tape measures grid distance'
                : `100 m on a tape are ${(100 * frame.gridScaleFactor).toFixed(3)} m on the grid`}
            </dd>
          </div>
          <div>
            <dt>Grid north</dt>
            <dd>
              {frame.convergenceDeg === null
                ? 'not tied to true north'
                : `${formatNumber(Math.abs(frame.convergenceDeg))}° ${frame.convergenceDeg < 0 ? 'west' : 'east'} of true north`}
            </dd>
          </div>
        </dl>
        {frame.crs.kind === 'local' ? <ControlPoints /> : null}
        <p className="path" title={view.path}>
          {view.path}
        </p>
      </section>
    </PanelScroll>
  );
}
