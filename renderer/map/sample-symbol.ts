import type { SampleAssessment } from '../../core/contract/model.ts';
import type { SymbolKind } from '../../core/contract/symbols.ts';

/** How one sample of several at a probe is drawn, by the rule of the probes' marks: what was decided comes first. */
export function sampleSymbol(assessment: SampleAssessment): SymbolKind {
  const { treatment, measured, water, dilution, ruling } = assessment;
  if (treatment === 'leave-out') return 'left-out';
  if (treatment === 'lower-bound') return 'diluted';
  if (treatment === 'no-value' || measured.kind === 'none') return water === 'none' ? 'no-value' : 'water';
  return ruling === null && dilution === 'suspect' ? 'suspect' : 'valid';
}
