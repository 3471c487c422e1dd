import type { Action } from './action.ts';
import { closeProject } from './close-project.ts';
import { computeClass, computeSurface } from './compute.ts';
import { fitToLot } from './fit-to-lot.ts';
import { goToStep } from './go-to-step.ts';
import { importSamples } from './import-samples.ts';
import { newProject } from './new-project.ts';
import { openProject } from './open-project.ts';
import { openOrdinarySample, openTroubledSample } from './open-sample.ts';
import { redo } from './redo.ts';
import { showShortcuts } from './show-shortcuts.ts';
import { undo } from './undo.ts';

/** All commands, in the order of the shortcuts list. */
export const ACTIONS: readonly Action[] = [
  newProject,
  openProject,
  openOrdinarySample,
  openTroubledSample,
  closeProject,
  ...goToStep,
  importSamples,
  computeSurface,
  computeClass,
  undo,
  redo,
  fitToLot,
  showShortcuts,
];

export interface KeyPress {
  readonly key: string;
  readonly ctrlKey: boolean;
  readonly metaKey: boolean;
  readonly shiftKey: boolean;
  readonly altKey: boolean;
  /** True where the press lands in a field that takes text. */
  readonly typing: boolean;
}

export function findAction(press: KeyPress): Action | null {
  return ACTIONS.find((action) => action.shortcut !== null && matches(action.shortcut, press)) ?? null;
}

function matches(shortcut: string, press: KeyPress): boolean {
  const parts = shortcut.split('+');
  const key = parts.at(-1) as string;
  const mod = parts.includes('Mod');
  if (press.altKey || mod !== (press.ctrlKey || press.metaKey)) return false;
  if (parts.includes('Shift') !== press.shiftKey) return false;
  if (press.key.toLowerCase() !== key.toLowerCase()) return false;
  // While typing, text keeps its plain letters and its own undo.
  return !press.typing || (mod && key !== 'Z') || /^F\d+$/.test(key);
}

export function shortcutText(shortcut: string, isMac: boolean): string {
  return shortcut
    .replace('Mod', isMac ? '⌘' : 'Ctrl')
    .split('+')
    .join(isMac ? ' ' : ' + ');
}
