import type { Sample } from '../contract/model.ts';

/** What a field sheet can say beyond the contract's sample. A rule whose number is not there says nothing. */
export interface FieldNotes {
  /** Tracer in the sample and under the shroud, same unit (per cent by volume). */
  readonly tracerPct?: number | null;
  readonly tracerShroudPct?: number | null;
  /** Gas drawn through the system before and with this sample, purge included. */
  readonly pumpedMl?: number | null;
  /** Rod, line, dryer and chamber that start filled with other air. */
  readonly systemMl?: number | null;
  readonly airPorosity?: number | null;
  readonly flowMlPerMin?: number | null;
  /** The operator's word that the ground is tight and there is no water. */
  readonly saidTight?: boolean;
  readonly saidDryerSpent?: boolean;
  /** The line held its vacuum with the valve shut. */
  readonly leakTestPassed?: boolean | null;
}

export type FieldSample = Sample & FieldNotes;
