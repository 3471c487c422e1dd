import { newProject } from '../actions/new-project.ts';
import { openProject } from '../actions/open-project.ts';
import { openOrdinarySample, openTroubledSample } from '../actions/open-sample.ts';
import { STEP_TITLES, STEPS, type StepId } from '../state/app-state.ts';
import { useApp, useAppState } from '../state/context.ts';
import { ActionButton } from './ActionButton.tsx';

const STEP_LINES: Record<StepId, string> = {
  plan: 'the lot, what to keep off, the probes to drive',
  field: 'samples from the field sheet',
  reduce: 'findings, evidence and your rulings',
  map: 'variogram, surface and its check',
  classify: 'the class, its reason and its doubts',
  site: 'the footprint, and where it stands best',
  deliver: 'figure, data and record',
};

export function EmptyState() {
  return (
    <main className="empty">
      <div className="empty-sheet">
        <h2>A plat of the gas in the ground</h2>
        <p className="lead">
          One project is one lot and one file. Begin with a new one, go on with one you have, or look at a
          sample lot first.
        </p>
        <div className="empty-choices">
          <section aria-labelledby="empty-new">
            <h3 id="empty-new">Begin</h3>
            <ActionButton action={newProject} className="primary" text="New project…" />
            <ActionButton action={openProject} text="Open project…" />
            <RecentProjects />
          </section>
          <section aria-labelledby="empty-sample">
            <h3 id="empty-sample">Look at a sample lot</h3>
            <p>Invented data, yours to change: you choose where the file goes.</p>
            <ActionButton action={openOrdinarySample} text="Ordinary lot…" />
            <ActionButton action={openTroubledSample} text="Troubled lot…" />
            <p>In the troubled one, samples are diluted, wet or shallow.</p>
          </section>
        </div>
        <h3>Seven steps, in this order; you can go back at any time</h3>
        <ol className="empty-steps">
          {STEPS.map((step) => (
            <li key={step}>
              <strong>{STEP_TITLES[step]}</strong> {STEP_LINES[step]}
            </li>
          ))}
        </ol>
      </div>
    </main>
  );
}

/** Projects opened before, each by its name and file. */
function RecentProjects() {
  const app = useApp();
  const recent = useAppState((state) => state.recent);
  if (recent.length === 0) return null;
  return (
    <>
      <h4 className="recent-title">Opened before</h4>
      <ul className="recent">
        {recent.map(({ path, name }) => (
          <li key={path}>
            <button type="button" className="link" title={path} onClick={() => void app.openProject(path)}>
              {name}
            </button>
            <span className="recent-path">
              <bdi>{path}</bdi>
            </span>
          </li>
        ))}
      </ul>
    </>
  );
}
