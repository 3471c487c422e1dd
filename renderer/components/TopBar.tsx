import { closeProject } from '../actions/close-project.ts';
import { newProject } from '../actions/new-project.ts';
import { openProject } from '../actions/open-project.ts';
import { redo } from '../actions/redo.ts';
import { showShortcuts } from '../actions/show-shortcuts.ts';
import { undo } from '../actions/undo.ts';
import { useAppState } from '../state/context.ts';
import { ActionButton } from './ActionButton.tsx';

export function TopBar() {
  const view = useAppState((state) => state.view);
  return (
    <header className="top-bar">
      <p className="wordmark">
        <svg width="22" height="22" viewBox="0 0 22 22" aria-hidden="true">
          <path className="mark-lot" d="M2.5 4.5L17 2.5L19.5 16L5 19.5Z" />
          <path className="mark-line" d="M4 12C8 8.5 12 14 18.6 9.5" />
          <circle className="mark-probe" cx="11" cy="7" r="1.6" />
        </svg>
        Gasplat
      </p>
      {view ? (
        <h1 className="project-name" title={view.name}>
          {view.name}
          {view.isDemo ? <span className="tag">invented sample</span> : null}
        </h1>
      ) : (
        <h1 className="visually-hidden">Gasplat</h1>
      )}
      <div className="top-tools">
        {view ? (
          <>
            <ActionButton
              action={undo}
              className="quiet"
              hint={view.canUndo ? `Undo: ${view.canUndo}` : null}
            />
            <ActionButton
              action={redo}
              className="quiet"
              hint={view.canRedo ? `Redo: ${view.canRedo}` : null}
            />
            <span className="rule" aria-hidden="true" />
          </>
        ) : null}
        <ActionButton action={newProject} className="quiet" />
        <ActionButton action={openProject} className="quiet" />
        {view ? <ActionButton action={closeProject} className="quiet" /> : null}
        <ActionButton action={showShortcuts} className="quiet" />
      </div>
    </header>
  );
}
