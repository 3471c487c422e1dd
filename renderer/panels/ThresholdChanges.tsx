import { useEffect, useState } from 'react';
import type { ThresholdOutcome, ThresholdPreview } from '../../core/contract/rules.ts';
import type { FlagThresholds } from '../../core/contract/settings.ts';
import { formatRadon, plural, prettyUnits, radonUnitLabel } from '../format.ts';
import { useApp, useView } from '../state/context.ts';
import { TREATMENT_NAMES } from './sample-rows.ts';

export interface LimitsToTry {
  readonly thresholds: FlagThresholds;
  readonly referenceDepthM: number;
}

/** What other limits would change, worked out anew as they are typed; null until it is there. */
export function useThresholdPreview(limits: LimitsToTry | null): ThresholdPreview | null {
  const app = useApp();
  const { revision } = useView();
  const key = limits === null ? null : JSON.stringify([revision, limits]);
  const [found, setFound] = useState<{ key: string; preview: ThresholdPreview } | null>(null);
  // biome-ignore lint/correctness/useExhaustiveDependencies: the key says all of the limits
  useEffect(() => {
    if (limits === null || key === null) return;
    void app
      .attempt('Looking what these limits would change', () =>
        app.client.newest('thresholds', 'thresholds.preview', limits),
      )
      .then((preview) => {
        if (preview) setFound({ key, preview });
      });
  }, [app, key]);
  return found !== null && found.key === key ? found.preview : null;
}

function findingWords({ dilution, water, rules }: ThresholdOutcome): string {
  const parts = [dilution === 'none' ? '' : dilution, water === 'none' ? '' : water.replaceAll('-', ' ')];
  const said = parts.filter((part) => part !== '').join(', ');
  if (said !== '') return said;
  return rules.length === 0 ? 'none' : plural(rules.length, 'note');
}

function Changed({ before, after }: { before: string; after: string }) {
  return before === after ? (
    <td>{before}</td>
  ) : (
    <td>
      {before} → <strong>{after}</strong>
    </td>
  );
}

/** All of a preview in one line, beside the limit that was touched last. */
export function changesInShort({ changes, class: outcome }: ThresholdPreview): string {
  const treated = changes.filter((change) => change.changesTreatment).length;
  const samples =
    changes.length === 0
      ? 'No finding and no treatment would change'
      : `${treated === 0 ? 'No sample' : plural(treated, 'sample')} would be treated otherwise; findings change on ${plural(changes.length, 'sample')}`;
  if (outcome === null) return `${samples}.`;
  const { before, after } = outcome;
  return `${samples}; class ${before.words === after.words ? `stays: ${after.words}` : `goes from ${before.words} to ${after.words}`}.`;
}

/** Shown before anything is stored: the samples that would be treated otherwise, and the class. */
export function ThresholdChanges({ preview }: { preview: ThresholdPreview | null }) {
  const { settings } = useView();
  if (preview === null)
    return (
      <p className="hint" aria-busy="true">
        Looking what these limits would change …
      </p>
    );
  const { changes } = preview;
  const treated = changes.filter((change) => change.changesTreatment).length;
  const value = (kBqPerM3: number | null) =>
    kBqPerM3 === null
      ? ''
      : ` (${formatRadon(kBqPerM3, settings.radonUnit)} ${radonUnitLabel(settings.radonUnit)})`;
  return (
    <section className="inset-form" aria-label="What these limits would change" aria-live="polite">
      <p>
        {changes.length === 0 ? (
          'No finding and no treatment would change.'
        ) : (
          <>
            <strong>
              {treated === 0 ? 'No sample' : plural(treated, 'sample')} would be treated otherwise; findings
              change on {plural(changes.length, 'sample')}.
            </strong>{' '}
            Nothing is stored yet.
          </>
        )}
      </p>
      {changes.length === 0 ? null : (
        <div className="table-scroll">
          <table className="evidence" aria-label="Samples that change">
            <thead>
              <tr>
                <th scope="col">Sample</th>
                <th scope="col">Finding</th>
                <th scope="col">Treatment</th>
              </tr>
            </thead>
            <tbody>
              {changes.map((change) => (
                <tr key={change.sampleId}>
                  <td>{change.label}</td>
                  <Changed before={findingWords(change.before)} after={findingWords(change.after)} />
                  <Changed
                    before={TREATMENT_NAMES[change.before.treatment]}
                    after={TREATMENT_NAMES[change.after.treatment]}
                  />
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
      {preview.class === null ? (
        <p className="hint">{prettyUnits(preview.noClass ?? '')}</p>
      ) : (
        <p>
          Class now: {preview.class.before.words}
          {value(preview.class.before.statisticKBqPerM3)},{' '}
          {plural(preview.class.before.validCount, 'valid value')}. With these limits:{' '}
          <strong>{preview.class.after.words}</strong>
          {value(preview.class.after.statisticKBqPerM3)},{' '}
          {plural(preview.class.after.validCount, 'valid value')}.
        </p>
      )}
    </section>
  );
}
