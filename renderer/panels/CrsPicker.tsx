import { useState } from 'react';
import type { ProjectCrs } from '../../core/contract/model.ts';
import type { CrsChoice } from '../../core/contract/requests.ts';
import { CrsSearch } from './CrsSearch.tsx';

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
  const [kind, setKind] = useState<'local' | 'epsg'>(value?.kind ?? 'local');
  const [chosen, setChosen] = useState<CrsChoice | null>(null);

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
        <CrsSearch
          chosen={chosen}
          onChoose={(found) => {
            setChosen(found);
            onChange(found ? { kind: 'epsg', code: found.code } : null);
          }}
        />
      )}
    </fieldset>
  );
}
