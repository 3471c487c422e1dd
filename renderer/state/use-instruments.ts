import type { Instrument } from '../../core/contract/model.ts';
import { useAnswer } from './use-answer.ts';

/** The register of the open project; null until it is there. */
export function useInstruments(): readonly Instrument[] | null {
  return useAnswer('instrument.list', 'Reading the register of instruments')?.instruments ?? null;
}
