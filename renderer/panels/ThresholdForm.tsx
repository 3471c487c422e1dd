import { useState } from 'react';
import type { FlagThresholds } from '../../core/contract/model.ts';
import { trimNumber } from '../format.ts';
import { useApp, useView } from '../state/context.ts';
import { parseCoordinate } from './corners.ts';

const THRESHOLD_NAMES: readonly (readonly [key: keyof FlagThresholds, name: string, unit: string])[] = [
  ['minimumValueKBqPerM3', 'A sample failed under', 'kBq/m³'],
  ['outsideOxygenPct', 'Oxygen is close to outside air from', '%'],
  ['outsideCarbonDioxidePct', 'Carbon dioxide is close to outside air up to', '%'],
  ['neighbourZ', 'Far below its neighbours from', 'standard deviations'],
  ['shallowDepthM', 'Shallow: above the reference depth by more than', 'm'],
  ['lowSuctionPa', 'Suction too low for tight soil under', 'Pa'],
  ['duplicateRpdPct', 'Duplicates differ by more than', '%'],
];

function textsOf(thresholds: FlagThresholds): Record<keyof FlagThresholds, string> {
  return Object.fromEntries(THRESHOLD_NAMES.map(([key]) => [key, trimNumber(thresholds[key], 6)])) as Record<
    keyof FlagThresholds,
    string
  >;
}

/** The limits that raise findings. Most are common practice: a person may set them, and the record keeps it. */
export function ThresholdForm() {
  const app = useApp();
  const { settings } = useView();
  const [texts, setTexts] = useState(() => textsOf(settings.thresholds));
  const values = Object.fromEntries(
    THRESHOLD_NAMES.map(([key]) => [key, parseCoordinate(texts[key])]),
  ) as Record<keyof FlagThresholds, number | null>;
  const isBad = (key: keyof FlagThresholds) => values[key] === null || (values[key] ?? 0) < 0;
  const [depthText, setDepthText] = useState(() => trimNumber(settings.referenceDepthM, 6));
  const depthM = parseCoordinate(depthText);
  const badDepth = depthM === null || depthM <= 0 || depthM > 10;
  const bad = badDepth || THRESHOLD_NAMES.some(([key]) => isBad(key));
  const changed =
    depthM !== settings.referenceDepthM ||
    THRESHOLD_NAMES.some(([key]) => values[key] !== settings.thresholds[key]);

  return (
    <details className="thresholds">
      <summary>Depth and limits behind the findings</summary>
      <form
        className="stack"
        onSubmit={(event) => {
          event.preventDefault();
          if (bad || depthM === null) return;
          void app.setSettings({
            ...settings,
            referenceDepthM: depthM,
            thresholds: values as FlagThresholds,
          });
        }}
      >
        <label className="threshold">
          <span>Reference depth of the samples</span>
          <input
            type="text"
            inputMode="decimal"
            value={depthText}
            aria-invalid={badDepth}
            onChange={(event) => setDepthText(event.target.value)}
          />
          <span className="faint">m</span>
        </label>
        {THRESHOLD_NAMES.map(([key, name, unit]) => (
          <label key={key} className="threshold">
            <span>{name}</span>
            <input
              type="text"
              inputMode="decimal"
              value={texts[key]}
              aria-invalid={isBad(key)}
              onChange={(event) => setTexts({ ...texts, [key]: event.target.value })}
            />
            <span className="faint">{unit}</span>
          </label>
        ))}
        <div className="form-end">
          <button type="submit" className="primary" disabled={bad || !changed}>
            Use these limits
          </button>
        </div>
      </form>
    </details>
  );
}
