import { ACTIONS, shortcutText } from '../actions/registry.ts';
import { useApp } from '../state/context.ts';
import { Dialog } from './Dialog.tsx';

const MAP_KEYS: readonly (readonly [keys: string, what: string])[] = [
  ['Arrow keys', 'Move the map (when it has the focus)'],
  ['+  −', 'Zoom the map'],
  ['Enter', 'Finish drawing'],
  ['Backspace', 'Remove the last corner while drawing'],
  ['S', 'While drawing: snap to corners, probes, sides and grid, or not'],
  ['R', 'While drawing: right angles, or not'],
  ['Alt', 'While drawing: point freely as long as it is held'],
  ['Esc', 'Cancel drawing; close a dialog'],
];

export function ShortcutsDialog() {
  const app = useApp();
  const isMac = navigator.platform.startsWith('Mac');
  return (
    <Dialog
      title="Keyboard shortcuts"
      onClose={() => app.store.update((state) => ({ ...state, dialog: null }))}
    >
      <dl className="shortcuts">
        {ACTIONS.filter((action) => action.shortcut !== null).map((action) => (
          <div key={action.id}>
            <dt>{action.name}</dt>
            <dd>
              <kbd>{shortcutText(action.shortcut as string, isMac)}</kbd>
            </dd>
          </div>
        ))}
        {MAP_KEYS.map(([keys, what]) => (
          <div key={keys}>
            <dt>{what}</dt>
            <dd>
              <kbd>{keys}</kbd>
            </dd>
          </div>
        ))}
      </dl>
    </Dialog>
  );
}
