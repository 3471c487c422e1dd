import { createContext, useContext } from 'react';
import type { ProjectView } from '../../core/contract/model.ts';
import type { App } from './app.ts';
import type { AppState } from './app-state.ts';
import { useStore } from './store.ts';

export const AppContext = createContext<App | null>(null);

export function useApp(): App {
  const app = useContext(AppContext);
  if (!app) throw new Error('This component stands outside the app.');
  return app;
}

/** `select` must give back a part of the state, not a new object. */
export function useAppState<T>(select: (state: AppState) => T): T {
  return useStore(useApp().store, select);
}

/** The open project; for components that are only shown with one. */
export function useView(): ProjectView {
  const view = useAppState((state) => state.view);
  if (!view) throw new Error('No project is open.');
  return view;
}
