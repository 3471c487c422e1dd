import type { Action } from '../actions/action.ts';
import { shortcutText } from '../actions/registry.ts';
import { useApp, useAppState } from '../state/context.ts';

export interface ActionButtonProps {
  readonly action: Action;
  readonly className?: string;
  readonly text?: string;
  readonly hint?: string | null;
}

/** A command as a button; its accessible name is its text. */
export function ActionButton({ action, className = '', text, hint }: ActionButtonProps) {
  const app = useApp();
  const enabled = useAppState(action.isEnabled);
  const keys = action.shortcut
    ? ` (${shortcutText(action.shortcut, navigator.platform.startsWith('Mac'))})`
    : '';
  return (
    <button
      type="button"
      className={className}
      disabled={!enabled}
      title={`${hint ?? action.name}${keys}`}
      onClick={() => void action.run(app)}
    >
      {text ?? action.name}
    </button>
  );
}
