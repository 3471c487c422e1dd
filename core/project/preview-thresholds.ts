import type { ProjectView } from '../contract/model.ts';
import type { ClassInShort, ThresholdPreview } from '../contract/rules.ts';
import type { FlagThresholds } from '../contract/settings.ts';
import { AppError } from '../errors.ts';
import type { ReadableStore } from '../store/open-project.ts';
import { compareOutcomes } from '../survey/preview-thresholds.ts';
import { computeClass } from './classify-lot.ts';
import { labelsOf } from './reduced-samples.ts';
import { buildView } from './view.ts';

/** Which samples would be treated otherwise under other limits, and what the class would be. Nothing is stored. */
export function previewThresholds(
  store: ReadableStore,
  input: { readonly thresholds: FlagThresholds; readonly referenceDepthM: number },
): ThresholdPreview {
  const now = buildView(store);
  const { thresholds, referenceDepthM } = input;
  const then = buildView(store, {
    ...now.settings,
    thresholds: { ...now.settings.thresholds, ...thresholds },
    referenceDepthM,
  });
  const labels = labelsOf(store);
  const changes = compareOutcomes(now.assessments, then.assessments).map((change) => ({
    ...change,
    label: labels.get(change.sampleId) ?? change.sampleId,
  }));
  try {
    return { changes, class: { before: classInShort(now), after: classInShort(then) }, noClass: null };
  } catch (error) {
    if (!(error instanceof AppError)) throw error;
    return { changes, class: null, noClass: error.message };
  }
}

function classInShort(view: ProjectView): ClassInShort {
  const { className, range, statisticKBqPerM3, validCount } = computeClass(view, { draws: 0 });
  return {
    words: className ?? (range === null ? 'no class' : `not settled: ${range.join(' or ')}`),
    statisticKBqPerM3,
    validCount,
  };
}
