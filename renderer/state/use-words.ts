import { sayInUnits } from '../../core/contract/project-words.ts';
import { useView } from './context.ts';

/** Sentences of the engine as the open project says them: its own units first, the others in brackets. */
export function useWords(): (text: string) => string {
  const { frame, settings } = useView();
  return (text) => sayInUnits(text, { frame, radonUnit: settings.radonUnit });
}
