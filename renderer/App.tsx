import { type ComponentType, useEffect } from 'react';
import { findAction } from './actions/registry.ts';
import { Cautions } from './components/Cautions.tsx';
import { EmptyState } from './components/EmptyState.tsx';
import { ErrorBoundary } from './components/ErrorBoundary.tsx';
import { Jobs } from './components/Jobs.tsx';
import { ProblemNotice } from './components/Notice.tsx';
import { ShortcutsDialog } from './components/ShortcutsDialog.tsx';
import { StepRail } from './components/StepRail.tsx';
import { TopBar } from './components/TopBar.tsx';
import { MapPane } from './map/MapPane.tsx';
import { ClassPanel } from './panels/ClassPanel.tsx';
import { DeliverPanel } from './panels/DeliverPanel.tsx';
import { FieldPanel } from './panels/FieldPanel.tsx';
import { NewProjectDialog } from './panels/NewProjectDialog.tsx';
import { PlanPanel } from './panels/PlanPanel.tsx';
import { ReducePanel } from './panels/ReducePanel.tsx';
import { SitePanel } from './panels/SitePanel.tsx';
import { SurfacePanel } from './panels/SurfacePanel.tsx';
import { CLASS_JOB, SURFACE_JOB } from './state/app.ts';
import { STEP_TITLES, type StepId } from './state/app-state.ts';
import { classBasis, surfaceBasis } from './state/basis.ts';
import { useApp, useAppState } from './state/context.ts';

const PANELS: Record<StepId, ComponentType> = {
  plan: PlanPanel,
  field: FieldPanel,
  reduce: ReducePanel,
  map: SurfacePanel,
  classify: ClassPanel,
  site: SitePanel,
  deliver: DeliverPanel,
};

function isTyping(target: EventTarget | null): boolean {
  if (target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement) return true;
  return target instanceof HTMLInputElement && !['checkbox', 'radio', 'button'].includes(target.type);
}

function useShortcuts(): void {
  const app = useApp();
  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      const action = findAction({
        key: event.key,
        ctrlKey: event.ctrlKey,
        metaKey: event.metaKey,
        shiftKey: event.shiftKey,
        altKey: event.altKey,
        typing: isTyping(event.target),
      });
      const state = app.store.get();
      if (!action?.isEnabled(state) || (state.dialog !== null && action.id !== 'show-shortcuts')) return;
      event.preventDefault();
      void action.run(app);
    };
    window.addEventListener('keydown', onKey);
    return () => window.removeEventListener('keydown', onKey);
  }, [app]);
}

/** Surface and class follow the project by themselves while their step is open. */
function useFollowingResults(): void {
  const app = useApp();
  const wanted = useAppState((state): 'surface' | 'class' | null => {
    const { view } = state;
    if (!view || view.samples.length === 0) return null;
    const isIdle = (job: string) => !state.jobs.some(({ label }) => label === job);
    if ((state.step === 'map' || (state.step === 'site' && view.footprint)) && isIdle(SURFACE_JOB)) {
      const basis = surfaceBasis(view);
      return state.surface?.basis === basis || state.surfaceHeldAt === basis ? null : 'surface';
    }
    if (state.step === 'classify' && isIdle(CLASS_JOB)) {
      const basis = classBasis(view);
      return state.classification?.basis === basis || state.classHeldAt === basis ? null : 'class';
    }
    return null;
  });
  useEffect(() => {
    if (wanted === 'surface') void app.computeSurface();
    if (wanted === 'class') void app.computeClass();
  }, [app, wanted]);
}

export function Workspace() {
  const app = useApp();
  const starting = useAppState((state) => state.starting);
  const hasView = useAppState((state) => state.view !== null);
  const path = useAppState((state) => state.view?.path ?? '');
  const step = useAppState((state) => state.step);
  const dialog = useAppState((state) => state.dialog);
  const problem = useAppState((state) => state.problem);
  useShortcuts();
  useFollowingResults();
  const Panel = PANELS[step];

  return (
    <div className="window">
      <TopBar />
      {problem && dialog !== 'new-project' ? (
        <ProblemNotice
          problem={problem}
          onDismiss={() => app.store.update((state) => ({ ...state, problem: null }))}
        />
      ) : null}
      {hasView ? (
        <>
          <StepRail />
          <main className={`work work-${step}`}>
            <section className="panel" aria-label={`${STEP_TITLES[step]} step`}>
              <h2 className="visually-hidden">{STEP_TITLES[step]}</h2>
              <ErrorBoundary key={`${path} ${step}`} what={`The panel of ${STEP_TITLES[step]}`}>
                <Panel />
              </ErrorBoundary>
            </section>
            <ErrorBoundary what="The map">
              <MapPane />
            </ErrorBoundary>
          </main>
        </>
      ) : starting ? (
        <main className="empty" aria-busy="true" />
      ) : (
        <EmptyState />
      )}
      <footer className="foot">
        <Cautions />
        <Jobs />
      </footer>
      {dialog === 'shortcuts' ? <ShortcutsDialog /> : null}
      {dialog === 'new-project' ? <NewProjectDialog /> : null}
    </div>
  );
}
