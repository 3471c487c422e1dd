import { useState } from 'react';
import type { Catalogue } from '../../core/contract/requests.ts';
import type { FlagThresholds, ProjectSettings } from '../../core/contract/settings.ts';
import { fromKBqPerM3, fromMetres, toKBqPerM3, toMetres } from '../../core/units.ts';
import { prettyUnits, radonUnitLabel, trimNumber } from '../format.ts';
import { usesFeet } from '../map/project-frame.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { parseCoordinate } from './corners.ts';
import { changesInShort, ThresholdChanges, useThresholdPreview } from './ThresholdChanges.tsx';

type ThresholdInfo = Catalogue['thresholds'][number];

interface ShownUnit {
  readonly label: string;
  readonly show: (value: number) => number;
  readonly take: (shown: number) => number;
}

/** Limits of radon and length are set in the units that the project is shown in; the others as they are. */
function shownUnit(unit: string, radonUnit: ProjectSettings['radonUnit'], feet: boolean): ShownUnit {
  if (unit === 'kBq/m3') {
    return {
      label: radonUnitLabel(radonUnit),
      show: (value) => fromKBqPerM3(value, radonUnit),
      take: (shown) => toKBqPerM3(shown, radonUnit),
    };
  }
  if (unit === 'm' && feet) {
    return {
      label: 'ft',
      show: (value) => fromMetres(value, 'ft'),
      take: (shown) => toMetres(shown, 'ft'),
    };
  }
  return { label: prettyUnits(unit), show: (value) => value, take: (shown) => shown };
}

function asText(value: number, unit: ShownUnit): string {
  return trimNumber(unit.show(value), 5);
}

interface LimitRowProps {
  readonly info: ThresholdInfo;
  readonly unit: ShownUnit;
  readonly text: string;
  readonly bad: boolean;
  /** What the limits as typed would change, in short; beside the one touched last only. */
  readonly outcome: string | null;
  readonly onChange: (text: string) => void;
}

function LimitRow({ info, unit, text, bad, outcome, onChange }: LimitRowProps) {
  const standard = asText(info.standard, unit);
  const sourceId = `limit-source-${info.key}`;
  return (
    <div className="threshold">
      <label htmlFor={`limit-${info.key}`}>{info.label}</label>
      <input
        id={`limit-${info.key}`}
        type="text"
        inputMode="decimal"
        value={text}
        aria-invalid={bad}
        aria-describedby={sourceId}
        onChange={(event) => onChange(event.target.value)}
      />
      <span className="faint">{unit.label}</span>
      <p className="source" id={sourceId}>
        {info.mark === 'confirmed' ? (
          <span className="tag tag-ruled">confirmed</span>
        ) : (
          <span className="tag tag-suspect">unconfirmed: {info.mark}</span>
        )}{' '}
        {prettyUnits(info.source)}.
        {text === standard ? null : (
          <>
            {' '}
            <button
              type="button"
              className="link"
              aria-label={`Back to standard ${standard}: ${info.label}`}
              onClick={() => onChange(standard)}
            >
              Back to standard {standard}
            </button>
          </>
        )}
      </p>
      {outcome === null ? null : <p className="source hint-strong">{outcome} The list is below.</p>}
    </div>
  );
}

/** The limits that raise findings. Most are common practice: a person may set them, and the record keeps it. */
export function ThresholdForm() {
  const app = useApp();
  const { settings, frame } = useView();
  const limits = useAppState((state) => state.catalogue?.thresholds);
  const feet = usesFeet(frame);
  const [typed, setTyped] = useState<Partial<Record<keyof FlagThresholds, string>>>({});
  const depthUnit = shownUnit('m', settings.radonUnit, feet);
  const depthNow = asText(settings.referenceDepthM, depthUnit);
  const [depthText, setDepthText] = useState(depthNow);
  const [touched, setTouched] = useState<keyof FlagThresholds | null>(null);

  const rows = (limits ?? []).map((info) => {
    const unit = shownUnit(info.unit, settings.radonUnit, feet);
    const kept = settings.thresholds[info.key] ?? info.standard;
    const now = asText(kept, unit);
    const text = typed[info.key] ?? now;
    const shown = parseCoordinate(text);
    const bad = shown === null || shown < 0;
    // What nobody touched keeps every digit it has.
    const value = bad || text === now ? kept : unit.take(shown);
    return { info, unit, text, bad, value, changed: text !== now };
  });
  const depth = parseCoordinate(depthText);
  const depthM =
    depth === null ? null : depthText === depthNow ? settings.referenceDepthM : depthUnit.take(depth);
  const badDepth = depthM === null || depthM <= 0 || depthM > 10;
  const bad = badDepth || rows.some((row) => row.bad);
  const changed = depthText !== depthNow || rows.some((row) => row.changed);
  const thresholds = {
    ...settings.thresholds,
    ...(Object.fromEntries(rows.map(({ info, value }) => [info.key, value])) as unknown as FlagThresholds),
  };
  const preview = useThresholdPreview(
    bad || depthM === null || !changed ? null : { thresholds, referenceDepthM: depthM },
  );
  if (!limits) return null;
  const allStandard = rows.every((row) => row.text === asText(row.info.standard, row.unit));

  return (
    <details className="thresholds">
      <summary>Depth and limits behind the findings</summary>
      <form
        className="stack"
        onSubmit={(event) => {
          event.preventDefault();
          if (bad || depthM === null || preview === null) return;
          void app.setSettings({ ...settings, referenceDepthM: depthM, thresholds });
        }}
      >
        <div className="threshold">
          <label htmlFor="limit-depth">Reference depth of the samples</label>
          <input
            id="limit-depth"
            type="text"
            inputMode="decimal"
            value={depthText}
            aria-invalid={badDepth}
            onChange={(event) => setDepthText(event.target.value)}
          />
          <span className="faint">{depthUnit.label}</span>
        </div>
        {rows.map(({ info, unit, text, bad: isBad }) => (
          <LimitRow
            key={info.key}
            info={info}
            unit={unit}
            text={text}
            bad={isBad}
            outcome={info.key === touched && changed && preview ? changesInShort(preview) : null}
            onChange={(next) => {
              setTyped({ ...typed, [info.key]: next });
              setTouched(info.key);
            }}
          />
        ))}
        {changed && !bad ? <ThresholdChanges preview={preview} /> : null}
        <div className="form-end">
          <button
            type="button"
            disabled={allStandard}
            onClick={() =>
              setTyped(
                Object.fromEntries(rows.map(({ info, unit }) => [info.key, asText(info.standard, unit)])),
              )
            }
          >
            All limits back to standard
          </button>
          <button type="submit" className="primary" disabled={bad || !changed || preview === null}>
            Use these limits
          </button>
        </div>
      </form>
    </details>
  );
}
