import type { SampleAssessment } from '../../core/contract/model.ts';
import type { SymbolKind } from '../../core/contract/symbols.ts';

/** How one sample is drawn. What was decided comes before what was found. */
export function sampleSymbol(assessment: SampleAssessment): SymbolKind {
  if (assessment.treatment === 'leave-out') return 'left-out';
  if (assessment.treatment === 'lower-bound') return 'diluted';
  if (assessment.measured.kind === 'none') return assessment.water === 'none' ? 'no-value' : 'water';
  if (assessment.treatment === 'no-value') return assessment.water === 'none' ? 'no-value' : 'water';
  if (assessment.ruling?.verdict === 'use') return 'valid';
  return assessment.flags.some((flag) => flag.weight !== 'note') ? 'suspect' : 'valid';
}
