import { useEffect, useState } from 'react';
import type { CrsChoice } from '../../core/contract/requests.ts';
import { useApp } from '../state/context.ts';

const UNIT_NAMES: Readonly<Record<string, string>> = {
  m: 'metres',
  ft: 'feet',
  'ft-us': 'US survey feet',
  degree: 'degrees',
};

const unitName = ({ unitLabel }: CrsChoice) => UNIT_NAMES[unitLabel] ?? unitLabel;

/** Longitude and latitude are found by name too, so that a person reads why they do not serve. */
export const isProjected = (choice: CrsChoice | null): choice is CrsChoice =>
  choice !== null && choice.unitLabel !== 'degree';

export interface CrsSearchProps {
  /** Of what is in force already, while nothing else is chosen. */
  readonly current?: string;
  readonly chosen: CrsChoice | null;
  readonly onChoose: (choice: CrsChoice | null) => void;
}

/** Projected systems by name, area or code. */
export function CrsSearch({ chosen, current, onChoose }: CrsSearchProps) {
  const app = useApp();
  const [text, setText] = useState('');
  const [choices, setChoices] = useState<readonly CrsChoice[] | null>(null);

  useEffect(() => {
    const wanted = text.trim();
    if (wanted.length < 2) {
      setChoices(null);
      return;
    }
    const timer = setTimeout(() => {
      void app
        .attempt('Searching coordinate systems', () =>
          app.client.newest('crs', 'crs.search', { text: wanted }),
        )
        .then((found) => {
          if (found) setChoices(found.choices);
        });
    }, 200);
    return () => clearTimeout(timer);
  }, [app, text]);

  return (
    <>
      <label className="field">
        Search by name, area or EPSG code
        <input
          type="search"
          value={text}
          placeholder="UTM 33N, state plane, 5514 …"
          onChange={(event) => setText(event.target.value)}
        />
      </label>
      {choices === null ? null : choices.length === 0 ? (
        <p className="hint">Nothing found for “{text}”. Try a code, or the name of a country.</p>
      ) : (
        <select
          className="crs-list"
          size={6}
          aria-label="Systems found"
          value={choices.some(({ code }) => code === chosen?.code) ? chosen?.code : ''}
          onChange={(event) => {
            onChoose(choices.find((choice) => choice.code === Number(event.target.value)) ?? null);
          }}
        >
          {/* Chosen while none of the list is: else the first would count as chosen, and a click on it would do nothing. */}
          <option value="" hidden />
          {choices.map((choice) => (
            <option key={choice.code} value={choice.code}>
              {choice.name} · EPSG:{choice.code} · {unitName(choice)}
            </option>
          ))}
        </select>
      )}
      {chosen ? (
        <p className="hint">
          <strong>
            {chosen.name}, EPSG:{chosen.code}
          </strong>
          , in {unitName(chosen)}. {chosen.area}
          {chosen.note ? ` ${chosen.note}` : ''}
        </p>
      ) : (
        <p className="hint">{current ?? 'No system chosen yet.'}</p>
      )}
    </>
  );
}
