import { useState } from 'react';
import type { SitePlanView } from '../../core/contract/site-plans.ts';
import { WarningList } from '../components/Notice.tsx';
import { formatLength } from '../format.ts';
import { usesFeet } from '../map/project-frame.ts';
import { withView } from '../state/app-state.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { SitePlanPlacing } from './SitePlanPlacing.tsx';

const PLACED_WORDS = {
  points: 'placed by control points',
  'world-file': 'placed by its world file',
  geotiff: 'placed by itself (GeoTIFF)',
} as const;

/** Pictures of site plans under the map: added, placed, faded, hidden and removed. */
export function SitePlanForm() {
  const app = useApp();
  const feet = usesFeet(useView().frame);
  const plans = useAppState((state) => state.sitePlans);
  const [notes, setNotes] = useState<readonly string[]>([]);
  const [placedId, setPlacedId] = useState<string | null>(null);
  const placed = plans.find((plan) => plan.id === placedId) ?? null;

  const take = async (
    doing: string,
    work: () => Promise<{ view: Parameters<typeof withView>[1]; plans: readonly SitePlanView[] }>,
  ) => {
    const done = await app.attempt(doing, work);
    if (done) app.store.update((state) => ({ ...withView(state, done.view), sitePlans: done.plans }));
    return done;
  };
  const add = async () => {
    const path = await app.attempt('Choosing a file', () =>
      app.bridge.chooseOpen({
        title: 'Add a site plan image',
        filters: [
          { name: 'Images', extensions: ['png', 'jpg', 'jpeg', 'tif', 'tiff'] },
          { name: 'All files', extensions: ['*'] },
        ],
      }),
    );
    if (!path) return;
    const done = await app.attempt('Adding the site plan', () =>
      app.asJob('Adding the site plan', (job) => app.client.request('site-plan.add', { path }, job)),
    );
    if (!done) return;
    app.store.update((state) => ({ ...withView(state, done.view), sitePlans: done.plans }));
    setNotes(done.notes);
    const plan = done.plans.find((one) => one.id === done.id);
    if (plan?.placedBy === null) setPlacedId(done.id);
  };

  return (
    <section className="block" aria-labelledby="plan-site-plan">
      <h3 id="plan-site-plan">Site plan image</h3>
      {plans.length === 0 ? (
        <p>
          A scan or picture of the site plan (PNG, JPEG, TIFF) can lie under the map. It is for the eye only:
          nothing is measured from it but what you draw.
        </p>
      ) : (
        <ul className="site-plans" aria-label="Site plans">
          {plans.map((plan) => (
            <li key={plan.id} className="site-plan">
              <div>
                <strong>{plan.label}</strong>{' '}
                <span className="faint">
                  {plan.placedBy === null ? 'not placed yet' : PLACED_WORDS[plan.placedBy]}
                  {plan.metresPerPixel === null
                    ? ''
                    : `, 100 pixels are ${formatLength(100 * plan.metresPerPixel, feet)}`}
                  {plan.standardDeviationM === null
                    ? ''
                    : `, standard deviation ${formatLength(plan.standardDeviationM, feet, 3)}`}
                </span>
              </div>
              <div className="row">
                <label className="check-line">
                  <input
                    type="checkbox"
                    checked={plan.isShown}
                    onChange={(event) =>
                      void take('Showing the site plan', () =>
                        app.client.request('site-plan.set', { id: plan.id, isShown: event.target.checked }),
                      )
                    }
                  />
                  Show {plan.label}
                </label>
                <OpacityRange
                  plan={plan}
                  onSet={(opacity) =>
                    void take('Fading the site plan', () =>
                      app.client.newest('opacity', 'site-plan.set', { id: plan.id, opacity }),
                    )
                  }
                />
                <button
                  type="button"
                  className="quiet small push"
                  aria-label={`Place by points: ${plan.label}`}
                  onClick={() => setPlacedId(plan.id)}
                >
                  Place by points
                </button>
                <button
                  type="button"
                  className="quiet small"
                  aria-label={`Remove site plan ${plan.label}`}
                  onClick={() => {
                    setPlacedId(null);
                    void take('Removing the site plan', () =>
                      app.client.request('site-plan.remove', { id: plan.id }),
                    );
                  }}
                >
                  Remove
                </button>
              </div>
              {placedId === plan.id ? null : (
                <WarningList warnings={plan.warnings} label={`Notes on ${plan.label}`} />
              )}
            </li>
          ))}
        </ul>
      )}
      {placed ? (
        <SitePlanPlacing
          key={placed.id}
          plan={placed}
          onPlace={async (placing) => {
            const done = await take('Placing the site plan', () =>
              app.client.request('site-plan.place', { id: placed.id, ...placing }),
            );
            if (!done) return;
            setPlacedId(null);
            setNotes([]);
          }}
          onClose={() => setPlacedId(null)}
        />
      ) : (
        <>
          <WarningList warnings={notes} label="Notes on the site plan" />
          <div className="row">
            <button type="button" onClick={() => void add()}>
              Add site plan image…
            </button>
          </div>
        </>
      )}
    </section>
  );
}

/** Faded at once on the map; kept when the hand lets go. */
function OpacityRange({
  plan,
  onSet,
}: {
  readonly plan: SitePlanView;
  readonly onSet: (opacity: number) => void;
}) {
  const app = useApp();
  const percent = Math.round(plan.opacity * 100);
  const keep = (event: { readonly currentTarget: HTMLInputElement }) => {
    onSet(Number(event.currentTarget.value) / 100);
  };
  return (
    <label className="inline-field">
      Opacity
      <input
        type="range"
        min={0}
        max={100}
        step={5}
        aria-label={`Opacity of ${plan.label}`}
        aria-valuetext={`${percent} %`}
        value={percent}
        onChange={(event) => {
          const opacity = Number(event.target.value) / 100;
          app.store.update((state) => ({
            ...state,
            sitePlans: state.sitePlans.map((one) => (one.id === plan.id ? { ...one, opacity } : one)),
          }));
        }}
        onPointerUp={keep}
        onKeyUp={keep}
      />
    </label>
  );
}
