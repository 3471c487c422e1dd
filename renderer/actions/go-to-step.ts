import { STEP_TITLES, STEPS } from '../state/app-state.ts';
import { type Action, hasProject } from './action.ts';

export const goToStep: readonly Action[] = STEPS.map((step, index) => ({
  id: `go-${step}`,
  name: `Go to ${STEP_TITLES[step]}`,
  shortcut: `Mod+${index + 1}`,
  isEnabled: hasProject,
  run: (app) => app.go(step),
}));
