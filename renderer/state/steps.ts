import type { ProjectView } from '../../core/contract/model.ts';
import { capitalise, plural } from '../format.ts';
import type { AppState, StepId } from './app-state.ts';
import { STEPS } from './app-state.ts';
import { classBasis, groundBasis, surfaceBasis } from './basis.ts';

export type StepCondition = 'to-do' | 'done' | 'attention';

export interface StepState {
  readonly condition: StepCondition;
  /** One line: what is there, or what to do. */
  readonly note: string;
}

/** Samples with a suspect or strong finding that nobody has ruled on. */
export function openFindings(state: AppState): number {
  return (
    state.view?.assessments.filter(
      (assessment) => assessment.ruling === null && assessment.flags.some((flag) => flag.weight !== 'note'),
    ).length ?? 0
  );
}

function planNote({ probes }: ProjectView): string {
  const planned = probes.filter((probe) => probe.state === 'planned').length;
  return planned === 0 ? 'Lot line set' : `${plural(planned, 'probe')} planned`;
}

/** Known only once the ground under the footprint was looked at. */
function hasNoClassUnder({ siting: { standing } }: AppState, view: ProjectView): boolean {
  return standing?.basis === groundBasis(view) && !standing.result.support.enough;
}

export function stepStates(state: AppState): Record<StepId, StepState> {
  const view = state.view;
  if (!view) {
    const none: StepState = { condition: 'to-do', note: 'No project open' };
    return Object.fromEntries(STEPS.map((step) => [step, none])) as Record<StepId, StepState>;
  }
  const open = openFindings(state);
  const surfaceFresh = state.surface?.basis === surfaceBasis(view);
  const classFresh = state.classification?.basis === classBasis(view);
  const classed = state.classification?.result;
  return {
    plan: view.lot
      ? { condition: 'done', note: planNote(view) }
      : { condition: 'to-do', note: 'Enter the lot line' },
    field:
      view.samples.length > 0
        ? { condition: 'done', note: plural(view.samples.length, 'sample') }
        : { condition: 'to-do', note: 'Import samples' },
    reduce:
      view.samples.length === 0
        ? { condition: 'to-do', note: 'No samples yet' }
        : open > 0
          ? { condition: 'attention', note: `${plural(open, 'finding')} to look at` }
          : { condition: 'done', note: 'No open finding' },
    map: state.surfaceProblem
      ? { condition: 'attention', note: 'No surface' }
      : !state.surface
        ? { condition: 'to-do', note: view.samples.length === 0 ? 'No samples yet' : 'Work out the surface' }
        : !surfaceFresh
          ? { condition: 'attention', note: 'Out of date' }
          : state.surface.result.warnings.length > 0
            ? { condition: 'attention', note: plural(state.surface.result.warnings.length, 'warning') }
            : { condition: 'done', note: 'Surface worked out' },
    classify: state.classProblem
      ? { condition: 'attention', note: 'No class' }
      : !classed
        ? { condition: 'to-do', note: view.samples.length === 0 ? 'No samples yet' : 'Work out the class' }
        : !classFresh
          ? { condition: 'attention', note: 'Out of date' }
          : classed.classId === null
            ? { condition: 'attention', note: classed.range ? 'Two classes possible' : 'Refused' }
            : { condition: 'done', note: capitalise(classed.className ?? classed.classId) },
    site: view.footprint
      ? hasNoClassUnder(state, view)
        ? { condition: 'attention', note: 'No class under it' }
        : { condition: 'done', note: 'Footprint set' }
      : { condition: 'to-do', note: 'Enter the footprint' },
    deliver:
      state.deliveredAt === null
        ? { condition: 'to-do', note: 'Save the figure' }
        : state.deliveredAt === view.revision
          ? { condition: 'done', note: 'Saved' }
          : { condition: 'attention', note: 'Changed since saving' },
  };
}

/** Where a person who opens a project goes on. */
export function firstOpenStep(state: AppState): StepId {
  const view = state.view;
  if (!view?.lot) return 'plan';
  if (view.samples.length === 0) return 'field';
  return 'reduce';
}
