import { useState } from 'react';
import { formatArea, plural } from '../format.ts';
import { ringAreaM2 } from '../map/geometry.ts';
import { isNowhere, usesFeet } from '../map/project-frame.ts';
import { useApp, useView } from '../state/context.ts';
import { FootprintShapeForm } from './FootprintShapeForm.tsx';
import { GeometryImport } from './GeometryImport.tsx';
import { OutlineEntry } from './OutlineEntry.tsx';

/** The outline of the building as drawn: by its measures, on the map, from a file or corner by corner. */
export function FootprintForm() {
  const app = useApp();
  const view = useView();
  const { footprint, frame } = view;
  const [label, setLabel] = useState(footprint?.label ?? 'Planned building');
  const name = label.trim() === '' ? 'Planned building' : label.trim();
  const keptCount = footprint?.placements.length ?? 0;

  return (
    <section className="block" aria-labelledby="site-footprint">
      <h3 id="site-footprint">Footprint of the planned building</h3>
      {footprint ? (
        <dl className="facts">
          <div>
            <dt>{footprint.label}</dt>
            <dd>{formatArea(ringAreaM2(footprint.drawnRing), usesFeet(frame))}</dd>
          </div>
        </dl>
      ) : (
        <p>Enter the corners of the building as planned, or draw it on the map.</p>
      )}
      <details open={footprint === null}>
        <summary>{footprint ? 'Another outline, or none' : 'Outline'}</summary>
        <div className="stack">
          {keptCount > 0 ? (
            <p className="hint hint-strong">
              Kept placements are places of this outline: another one lets{' '}
              {plural(keptCount, 'kept placement')} go.
            </p>
          ) : null}
          <div className="row">
            <button
              type="button"
              disabled={isNowhere(view)}
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
          <FootprintShapeForm label={name} />
          <label className="field">
            Footprint label
            <input
              type="text"
              value={label}
              maxLength={200}
              onChange={(event) => setLabel(event.target.value)}
            />
          </label>
          <OutlineEntry
            key={footprint ? JSON.stringify(footprint.drawnRing) : 'none'}
            name="footprint"
            initialM={footprint?.drawnRing ?? []}
            submitText="Set footprint"
            onSubmit={(ring) => void app.setFootprint(name, ring)}
          />
        </div>
      </details>
    </section>
  );
}
