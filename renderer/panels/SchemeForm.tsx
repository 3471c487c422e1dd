import { useState } from 'react';
import { fromKBqPerM3, toKBqPerM3 } from '../../core/units.ts';
import { radonUnitLabel, trimNumber } from '../format.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { parseCoordinate } from './corners.ts';

/** Numbers parted by spaces or semicolons, rising. @returns null where the text is not that */
export function parseLimits(text: string): number[] | null {
  const parts = text.split(/[\s;]+/).filter((part) => part !== '');
  const limits = parts.map(parseCoordinate);
  const rising = limits.every((limit, i) => limit !== null && limit > (i === 0 ? 0 : (limits[i - 1] ?? 0)));
  return rising && limits.length > 0 ? (limits as number[]) : null;
}

/** Which published method decides, or one's own limits. */
export function SchemeForm() {
  const app = useApp();
  const { settings } = useView();
  const unit = settings.radonUnit;
  const [text, setText] = useState(() =>
    settings.enteredLimitsKBqPerM3.map((limit) => trimNumber(fromKBqPerM3(limit, unit), 6)).join('; '),
  );
  const [schemeId, setSchemeId] = useState(settings.schemeId);
  const schemes = useAppState((state) => state.catalogue?.schemes);
  const chosen = schemes?.find((scheme) => scheme.id === schemeId);
  const needsLimits = chosen?.needsLimits ?? false;
  const limits = parseLimits(text);
  const apply = (id: string, entered: readonly number[] | null) =>
    void app.setSettings({
      ...settings,
      schemeId: id,
      enteredLimitsKBqPerM3:
        entered?.map((limit) => toKBqPerM3(limit, unit)) ?? settings.enteredLimitsKBqPerM3,
    });

  return (
    <form
      className="row"
      onSubmit={(event) => {
        event.preventDefault();
        if (limits) apply(schemeId, limits);
      }}
    >
      <label className="field grow">
        Scheme
        <select
          value={schemeId}
          onChange={(event) => {
            const id = event.target.value;
            setSchemeId(id);
            if (!schemes?.find((scheme) => scheme.id === id)?.needsLimits) apply(id, null);
          }}
        >
          {chosen ? null : <option value={schemeId}>{schemeId} (not in this edition)</option>}
          {schemes?.map((scheme) => (
            <option key={scheme.id} value={scheme.id}>
              {scheme.name}
            </option>
          ))}
        </select>
      </label>
      {needsLimits ? (
        <>
          <label className="field">
            Limits, {radonUnitLabel(unit)}
            <input
              type="text"
              value={text}
              placeholder="10; 50"
              aria-invalid={text !== '' && limits === null}
              onChange={(event) => setText(event.target.value)}
            />
          </label>
          <button type="submit" className="primary" disabled={limits === null}>
            Use limits
          </button>
        </>
      ) : null}
      {chosen && chosen.id === settings.schemeId ? (
        <p className="source wide">
          {chosen.edition}
          {chosen.homeCountry ? `; made for ${chosen.homeCountry}` : ''}
        </p>
      ) : null}
    </form>
  );
}
