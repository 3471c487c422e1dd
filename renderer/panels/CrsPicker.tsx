import { useEffect, useState } from 'react';
import type { ProjectCrs } from '../../core/contract/model.ts';
import type { CrsChoice } from '../../core/contract/requests.ts';
import { useApp } from '../state/context.ts';

export interface CrsPickerProps {
  readonly value: ProjectCrs | null;
  readonly onChange: (crs: ProjectCrs | null) => void;
}

const LOCAL_UNITS: readonly (readonly [unit: 'm' | 'ft' | 'ft-us', name: string])[] = [
  ['m', 'metres'],
  ['ft', 'feet (international)'],
  ['ft-us', 'US survey feet'],
];

export function CrsPicker({ value, onChange }: CrsPickerProps) {
  const app = useApp();
  const [kind, setKind] = useState<'local' | 'epsg'>(value?.kind ?? 'local');
  const [text, setText] = useState('');
  const [choices, setChoices] = useState<readonly CrsChoice[] | null>(null);
  const [chosen, setChosen] = useState<CrsChoice | null>(null);

  useEffect(() => {
    const wanted = text.trim();
    if (kind !== 'epsg' || wanted.length < 2) {
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
  }, [app, kind, text]);

  const local = value?.kind === 'local' ? value : { kind: 'local' as const, unit: 'm' as const, label: '' };

  return (
    <fieldset className="group">
      <legend>Coordinate system</legend>
      <div className="choices">
        <label className="choice">
          <input
            type="radio"
            name="crs-kind"
            checked={kind === 'local'}
            onChange={() => {
              setKind('local');
              onChange(local);
            }}
          />
          <span>
            <strong>Local grid</strong> tape and compass from a corner you choose
          </span>
        </label>
        <label className="choice">
          <input
            type="radio"
            name="crs-kind"
            checked={kind === 'epsg'}
            onChange={() => {
              setKind('epsg');
              onChange(chosen ? { kind: 'epsg', code: chosen.code } : null);
            }}
          />
          <span>
            <strong>Projected system</strong> survey or GNSS coordinates
          </span>
        </label>
      </div>
      {kind === 'local' ? (
        <div className="row">
          <label className="field">
            Unit of the grid
            <select
              value={local.unit}
              onChange={(event) => onChange({ ...local, unit: event.target.value as 'm' | 'ft' | 'ft-us' })}
            >
              {LOCAL_UNITS.map(([unit, name]) => (
                <option key={unit} value={unit}>
                  {name}
                </option>
              ))}
            </select>
          </label>
          <label className="field grow">
            What the origin is
            <input
              type="text"
              value={local.label}
              placeholder="iron stake at the south-west corner"
              maxLength={200}
              onChange={(event) => onChange({ ...local, label: event.target.value })}
            />
          </label>
        </div>
      ) : (
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
              value={chosen?.code ?? ''}
              onChange={(event) => {
                const found = choices.find((choice) => choice.code === Number(event.target.value)) ?? null;
                setChosen(found);
                onChange(found ? { kind: 'epsg', code: found.code } : null);
              }}
            >
              {choices.map((choice) => (
                <option key={choice.code} value={choice.code}>
                  {choice.name} · EPSG:{choice.code} · {choice.unitLabel}
                </option>
              ))}
            </select>
          )}
          {chosen ? (
            <p className="hint">
              <strong>
                {chosen.name}, EPSG:{chosen.code}
              </strong>
              , in {chosen.unitLabel}. {chosen.area}
              {chosen.note ? ` ${chosen.note}` : ''}
            </p>
          ) : (
            <p className="hint">No system chosen yet.</p>
          )}
        </>
      )}
    </fieldset>
  );
}
