import { useMemo } from 'react';
import { STEP_TITLES, STEPS } from '../state/app-state.ts';
import { useApp, useAppState } from '../state/context.ts';
import { type StepCondition, stepStates } from '../state/steps.ts';

const CONDITION_NAMES: Record<StepCondition, string> = {
  'to-do': 'to do',
  done: 'done',
  attention: 'needs attention',
};

export function StepRail() {
  const app = useApp();
  const state = useAppState((whole) => whole);
  const states = useMemo(() => stepStates(state), [state]);
  return (
    <nav className="step-rail" aria-label="Steps">
      <ol>
        {STEPS.map((step, index) => {
          const { condition, note } = states[step];
          return (
            <li key={step}>
              <button
                type="button"
                className={`step step-${condition}`}
                aria-current={state.step === step ? 'step' : undefined}
                onClick={() => app.go(step)}
              >
                <span
                  className="step-mark"
                  data-mark={condition === 'done' ? '✓' : condition === 'attention' ? '!' : index + 1}
                />
                <span className="step-words">
                  <span className="step-title">{STEP_TITLES[step]}</span>{' '}
                  <span className="step-note">{note}</span>
                  <span className="visually-hidden">, {CONDITION_NAMES[condition]}</span>
                </span>
              </button>
            </li>
          );
        })}
      </ol>
    </nav>
  );
}
